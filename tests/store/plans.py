"""Hand-made releases: sheets of a plan that draw and keep, without planning anything."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nest.domain.plan import SourceKind
from nest.domain.stock import Found, StockNote
from nest.store.release import SheetRelease
from nest.store.room import drawn_of
from tests.store.shop import DAY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.stock import Stock


def sheet_release(number: int, source: str, rests: int = 0, **more: Any) -> SheetRelease:
    """Return a sheet that draws one of a source and keeps some rests."""
    kept = tuple(
        Found(material="QF170", across_mm=300.0 + n, around_mm=500.0, value_cents=900 + n, made=DAY,
              sheet=f"S{number:02d}-R{n + 1}")
        for n in range(rests)
    )  # fmt: skip
    return SheetRelease(sheet=f"S{number:02d}", source=source, pieces=3, rests=kept, **more)


def note_on(
    stock: Stock, sheets: Sequence[SheetRelease], name: str = "a plan", text: str = "text", **more: Any
) -> StockNote:
    """Return the note of a plan that was made on a stock and has these sheets."""
    lots, offcuts = {lot.id: lot for lot in stock.lots}, {o.id: o for o in stock.offcuts}
    drawn = tuple(
        drawn_of(SourceKind.SHEET if ref in lots else SourceKind.OFFCUT, lots.get(ref) or offcuts[ref], 1)
        for ref in sorted({one.source for one in sheets})
    )
    return StockNote(ledger=stock.ledger, revision=stock.revision, day=DAY, plan=name, text=text, drawn=drawn, **more)
