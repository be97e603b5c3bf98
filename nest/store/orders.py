"""Orders of sheets: noting one, what comes in of it, and what will not come any more.

An order moves nothing: it is a fact of its booking, like a place. What is still open of it is what was ordered less
what came in or was cancelled by bookings that stand, so that taking a receipt back puts its sheets on order again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.stock import Act
from nest.errors import StockError
from nest.store.booking import Entry, amount, name, size
from nest.store.ledger import arrival_words, order_words
from nest.store.trouble import NOTHING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.stock import Delivery, Purchase
    from nest.store.booking import Done
    from nest.store.ledger import Ledger


def order(ledger: Ledger, purchases: Sequence[Purchase], day: date, *, reason: str = "", key: str | None = None,
          keep: bool = True) -> Done:  # fmt: skip
    """Note sheets that were ordered, one order for each size, in one booking.

    Raises
    ------
    StockError
        If an order is for no sheet or due before the day, or ``key`` is booked already.
    """
    with ledger.atomic(keep=keep):
        entry = Entry(ledger, Act.ORDER, day, reason=reason, key=key)
        for one in purchases:
            if one.sheets < 1:
                raise StockError(f"an order is for at least 1 sheet; {NOTHING}")
            if one.due < day:
                raise StockError(f"an order of {day} cannot be due on {one.due}; {NOTHING}")
            ident = next_order(ledger)
            entry.fresh.append(ident)
            ledger.insert(
                "purchase", id=ident, booking=entry.id, material=name(one.material, "a material"),
                across=size(one.across_mm), around=size(one.around_mm), sheets=one.sheets, due=one.due.isoformat(),
                price=None if one.price_cents is None else amount(one.price_cents),
            )  # fmt: skip
            entry.told.append(
                order_words(ident, one.material, one.across_mm, one.around_mm, one.sheets, str(one.due), ledger.unit)
            )
        return entry.done()


def next_order(ledger: Ledger) -> str:
    """Return the id after the highest that an order ever had."""
    highest = ledger.rows("SELECT max(CAST(substr(id, 3) AS INTEGER)) FROM purchase")[0][0]
    return f"P-{(highest or 0) + 1:04d}"


def cancel(ledger: Ledger, ident: str, day: date, *, reason: str = "", keep: bool = True) -> Done:
    """Note that what is still open of an order will not come.

    Raises
    ------
    StockError
        If there is no such order or nothing of it is open.
    """
    with ledger.atomic(keep=keep):
        left = _open(ledger, ident)
        entry = Entry(ledger, Act.CANCEL, day, reason=reason)
        ledger.insert("arrival", booking=entry.id, purchase=ident, sheets=left)
        entry.told.append(arrival_words(ident, left, None))
        return entry.done()


def _open(ledger: Ledger, ident: str) -> int:
    found = ledger.rows("SELECT open FROM purchase_now WHERE id = ?", (ident,))
    if not found or found[0][0] < 1:
        what = "nothing of it is open any more" if found else "the ledger has no such order"
        raise StockError(f"{ident}: {what}; see nest stock list; {NOTHING}")
    return int(found[0][0])


def come_in(entry: Entry, delivery: Delivery, lot: str, ident: str | None) -> None:
    """Take a delivery that was just booked as ``lot`` off what is on order.

    ``ident`` names the order; None: the open orders of the size, earliest due first; empty: none of them.

    Raises
    ------
    StockError
        If the order named is unknown, closed, or of another size.
    """
    across, around = size(delivery.across_mm), size(delivery.around_mm)
    query = "SELECT id, open FROM purchase_now WHERE open > 0 AND material = ? AND across = ? AND around = ?"
    fitting = entry.ledger.rows(f"{query} ORDER BY due, id", (delivery.material.strip(), across, around))
    if ident:
        _open(entry.ledger, ident)
        fitting = [one for one in fitting if one[0] == ident]
        if not fitting:
            raise StockError(f"{ident}: was ordered in another size or material than came in; {NOTHING}")
    left = 0 if ident == "" else delivery.sheets
    for order_id, open_sheets in fitting:
        taken = min(left, open_sheets)
        if taken:
            entry.ledger.insert("arrival", booking=entry.id, purchase=order_id, lot=lot, sheets=taken)
            rest = f", {open_sheets - taken} still to come" if open_sheets > taken else ""
            entry.told.append(arrival_words(order_id, taken, lot) + rest)
        left -= taken
