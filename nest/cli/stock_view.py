"""A plan that draws from the ledger: the room as the ledger fills it, and the note that the release needs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from shlex import quote
from typing import TYPE_CHECKING

from nest.cli.streams import tell
from nest.output.stock_note import NAME, dump_note, text_name
from nest.store.ledger import Ledger
from nest.store.opening import network_warning
from nest.store.room import note_of, stocked_room, usable

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.domain.stock import Lot, RackOffcut, Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class StockView:
    """What a plan sees of the store."""

    stock: Stock
    room: Room
    day: date

    @property
    def places(self) -> dict[str, str]:
        """Where each lot and offcut lies, by its id."""
        lots = {lot.id: lot.place for lot in self.stock.lots}
        return lots | {offcut.id: offcut.place for offcut in self.stock.offcuts}


def open_ledger(path: Path) -> Ledger:
    """Open a ledger; one on a network file system is warned about."""
    warning = network_warning(path)
    if warning is not None:
        tell(f"warning: {warning}")
    return Ledger(path)


def view_of(path: Path, room: Room, day: date | None, *, quiet: bool = False) -> StockView:
    """Return the room with the sheets and offcuts of a ledger in it; unless ``quiet``, what is left out is told.

    Raises
    ------
    StockError
        If the ledger cannot be read or does not suit the room.
    """
    day = day or date.today()
    with open_ledger(path) as ledger:
        stock = ledger.stock()
    view = StockView(stock=stock, room=stocked_room(room, stock, day), day=day)
    if not quiet:
        for text in left_out(stock, room, day, path):
            tell(text)
    return view


def left_out(stock: Stock, room: Room, day: date, path: Path) -> list[str]:
    """Return what of the store a plan cannot draw, in words: what has expired, and materials the room does not have."""
    lots: list[Lot | RackOffcut] = [lot for lot in stock.lots if lot.on_hand]
    there = [*lots, *(o for o in stock.offcuts if o.on_rack)]
    past = [one.id for one in there if not usable(one.expiry, day)]
    other = sorted({one.material for one in there} - {*room.materials})
    told = []
    if past:
        told.append(
            f"not drawn, past their use-by date: {', '.join(past)}; write them off with: nest stock expire "
            f"{quote(str(path))}"
        )
    if other:
        told.append(f"not drawn, no such material in the room file: {', '.join(other)}")
    return told


def note_files(view: StockView, plan: Plan, text: str, *, use_reserve: bool) -> dict[str, str]:
    """Return the file that says what a plan relies on; ``text`` is that of its plan file."""
    note = note_of(plan, text_name(text), view.stock, view.room, view.day, use_reserve=use_reserve)
    return {NAME: dump_note(note)}
