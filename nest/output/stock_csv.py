"""The store as CSV: what is there, in the columns that come in again, and every movement with its booking."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from nest.domain.cells import guarded
from nest.domain.room import Unit
from nest.output.stock_text import money_words
from nest.units import MM_PER_INCH, plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.domain.stock import Booked, Stock

STOCK_HEAD = (
    "kind", "id", "material", "across", "around", "on_hand", "counted", "price", "lot", "expiry", "received", "per_box",
    "place", "delivery", "relief", "exposed", "parent", "sheet",
)  # fmt: skip
MOVES_HEAD = ("booking", "day", "act", "reason", "undoes", "movement", "id", "change", "cents", "sheet")


def stock_csv(stock: Stock) -> str:
    """Return all lots with sheets on hand and all offcuts on the rack; ``counted`` is left to be filled in.

    Lengths are in the ledger's unit, ``price`` is per sheet, for an offcut its book value when new.
    """
    lines: list[Sequence[object]] = [
        ("sheet", lot.id, lot.material, *_size(lot.across_mm, lot.around_mm, stock.unit), lot.on_hand, "",
         money_words(lot.price_cents), lot.lot, lot.expiry, lot.received, lot.per_box, lot.place, lot.delivery,
         "", "", "", "")
        for lot in stock.lots if lot.on_hand
    ]  # fmt: skip
    here = {lot.id for lot in stock.lots if lot.on_hand} | {o.id for o in stock.offcuts if o.on_rack}
    lines += [
        ("offcut", o.id, o.material, *_size(o.across_mm, o.around_mm, stock.unit), 1, "", money_words(o.value_cents),
         o.lot, o.expiry, o.made, "", o.place, "", "" if o.relief is None else plain(o.relief), o.exposed,
         o.parent if o.parent in here else "", o.sheet)
        for o in stock.offcuts if o.on_rack
    ]  # fmt: skip
    return _csv(STOCK_HEAD, lines)


def movements_csv(bookings: Iterable[Booked], prices: dict[str, int]) -> str:
    """Return every movement, oldest first; ``cents`` is its change at the book value in ``prices``, by id."""
    lines = [
        (one.id, one.day, one.act.value, one.reason, one.undoes, move.kind.value, move.ref, move.change,
         move.change * prices[move.ref], move.sheet)
        for one in bookings
        for move in one.moves
    ]  # fmt: skip
    return _csv(MOVES_HEAD, lines)


def _size(across_mm: float, around_mm: float, unit: Unit) -> tuple[str, str]:
    return length_cell(across_mm, unit), length_cell(around_mm, unit)


def length_cell(mm: float, unit: Unit) -> str:
    """Return a length so that reading it gives the same 0.0001 mm again.

    Examples
    --------
    >>> length_cell(900.0, Unit.MM), length_cell(622.3, Unit.INCH)
    ('900', '24.5')
    """
    value, places = (mm, 4) if unit is Unit.MM else (mm / MM_PER_INCH, 6)
    return f"{value:.{places}f}".rstrip("0").rstrip(".")


def _csv(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(head)
    for line in lines:
        writer.writerow(["" if cell is None else guarded(cell) if isinstance(cell, str) else cell for cell in line])
    return out.getvalue()
