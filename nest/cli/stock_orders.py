"""What `nest stock order` and `nest stock cancel` do."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from nest.cli.stock_changes import counted_sheets, done_text, option
from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, tell
from nest.domain.stock import Purchase
from nest.intake import stock_values as values
from nest.store import orders

if TYPE_CHECKING:
    from pathlib import Path


def order_sheets(path: Path, *, material: str, across: str, around: str, due: str, boxes: str | None,
                 per_box: str | None, sheets: str | None, price: str | None, reason: str, on: date | None,
                 dry_run: bool) -> int:  # fmt: skip
    """Note an order; return the exit code."""
    with open_ledger(path) as ledger:
        reading = values.reading_of(ledger.unit)
        total, _ = counted_sheets(boxes, per_box, sheets, reading)
        made = Purchase(
            material=option("--material", material, values.words),
            across_mm=option("--across", across, lambda t: values.length(t, reading)),
            around_mm=option("--around", around, lambda t: values.length(t, reading)),
            sheets=total, due=option("--due", due, values.day),
            price_cents=None if price is None else option("--price", price, lambda t: values.cents(t, reading)),
        )  # fmt: skip
        done = orders.order(
            ledger, [made], on or date.today(), reason=option("--reason", reason, values.words), keep=not dry_run
        )
        known = {lot.material for lot in ledger.stock().lots}
    show(done_text([done], dry_run=dry_run))
    if made.material not in known:
        tell(f"note: {made.material} is a material the ledger has no sheets of")
    return 0


def cancel_order(path: Path, ident: str, *, reason: str, on: date | None, dry_run: bool) -> int:
    """Note that the rest of an order will not come; return the exit code."""
    with open_ledger(path) as ledger:
        done = orders.cancel(
            ledger, ident, on or date.today(), reason=option("--reason", reason, values.words), keep=not dry_run
        )
    show(done_text([done], dry_run=dry_run))
    return 0
