"""The bookings of one thing: a lot, an offcut with all it came from, a lot number, or a sheet of a plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.errors import StockError

if TYPE_CHECKING:
    from nest.domain.stock import Booked
    from nest.store.ledger import Ledger


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Bookings, and the lots and offcuts whose movements tell the story (None for all)."""

    bookings: tuple[Booked, ...]
    refs: frozenset[str] | None


def history_of(ledger: Ledger, ref: str | None) -> History:
    """Return every booking, or those of one thing.

    Raises
    ------
    StockError
        If nothing in the ledger has that name.
    """
    with ledger.snapshot():
        bookings = ledger.bookings()
        if ref is None:
            return History(bookings=bookings, refs=None)
        by_sheet = tuple(one for one in bookings if any(_of_sheet(move.sheet, ref) for move in one.moves))
        if by_sheet:
            return History(bookings=by_sheet, refs=None)
        lots = {row[0] for row in ledger.rows("SELECT id FROM lot WHERE id = :ref OR lot = :ref", {"ref": ref})}
        parents = {
            ident: (lot, offcut)
            for ident, lot, offcut in ledger.rows("SELECT id, parent_lot, parent_offcut FROM offcut")
        }
        if not lots and ref not in parents:
            raise StockError(f"{ref}: no lot, offcut, lot number or sheet of a plan has this name; see nest stock list")
        own = {*lots, ref} if lots else {ref}
        origin = set()
        at: str | None = None if lots else ref
        while at is not None:
            lot, at = parents[at]
            if at is not None:
                own.add(at)
            if lot is not None:
                origin.add(lot)
        made = {row[0] for ident in origin for row in ledger.rows("SELECT booking FROM lot WHERE id = ?", (ident,))}
    chosen = tuple(
        one for one in bookings
        if one.id in made or any(move.ref in own for move in one.moves) or any(of in own for of, _ in one.said)
    )  # fmt: skip
    children = {ident for ident, (lot, offcut) in parents.items() if lot in own or offcut in own}
    return History(bookings=chosen, refs=frozenset(own | origin | children))


def _of_sheet(sheet: str | None, ref: str) -> bool:
    return sheet is not None and ":" in ref and (sheet == ref or sheet.startswith(f"{ref}-"))
