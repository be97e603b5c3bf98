"""What people do with the store, one booking each: receive, scrap, write off, put elsewhere, back-expose, take back.

Every function books in one transaction. With ``keep`` False everything is done and taken back again: the movements
returned are exactly those that would be booked.
"""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from nest.domain.stock import Act, MoveKind
from nest.errors import StockError
from nest.store.booking import Entry, kind_of
from nest.store.orders import come_in
from nest.store.trouble import NOTHING
from nest.units import plain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.stock import Delivery, Found
    from nest.store.booking import Done
    from nest.store.ledger import Ledger

SETTINGS = ("full_days", "life_days", "expiry_days", "rack_limit")


def receive(ledger: Ledger, delivery: Delivery, day: date, *, order: str | None = None, keep: bool = True) -> Done:
    """Book sheets that came in, and take them off what is on order of their size.

    ``order`` names the order they belong to; None: the open orders of the size, earliest due first; empty: none.

    Raises
    ------
    StockError
        If the same line of the same delivery note, or without a note the very same receipt, is booked already.
    """
    if delivery.sheets < 1:
        raise StockError(f"a delivery holds at least 1 sheet; {NOTHING}")
    with ledger.atomic(keep=keep):
        entry = Entry(ledger, Act.RECEIVE, day, reason=delivery.delivery, key=receipt_key(delivery))
        come_in(entry, delivery, entry.receive(delivery), order)
        return entry.done()


def receipt_key(delivery: Delivery) -> str:
    """Return what makes a receipt known again: its line on the delivery note, else everything about it."""
    line = (delivery.material, plain(delivery.across_mm), plain(delivery.around_mm), delivery.lot or "")
    if delivery.delivery:
        return "receive:" + digest(delivery.delivery, *line)
    rest = (delivery.expiry, delivery.received, delivery.sheets, delivery.price_cents)
    return "receive:" + digest(*line, *map(str, rest))


def digest(*parts: str) -> str:
    """Return a short name of texts, the same for the same texts."""
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:32]


def take_in(ledger: Ledger, deliveries: Sequence[Delivery], offcuts: Sequence[Found], day: date, *, act: Act,
            reason: str, key: str | None, keep: bool = True) -> Done:  # fmt: skip
    """Book a whole list of lots and offcuts at once: a store that is taken over, or an import.

    Raises
    ------
    StockError
        If the same list is booked already, or an id of it is taken.
    """
    with ledger.atomic(keep=keep):
        entry = Entry(ledger, act, day, reason=reason, key=key)
        for delivery in deliveries:
            entry.receive(delivery)
        for found in offcuts:
            entry.book_offcut(found)
        return entry.done()


def scrap(ledger: Ledger, ref: str, count: int, reason: str, day: date, *, keep: bool = True) -> Done:
    """Take sheets of a lot, or an offcut, out of the store for good.

    Raises
    ------
    StockError
        If so many are not there.
    """
    with ledger.atomic(keep=keep):
        entry = Entry(ledger, Act.SCRAP, day, reason=reason)
        entry.move(MoveKind.SCRAP, ref, -count)
        return entry.done()


def expire(ledger: Ledger, day: date, *, keep: bool = True) -> Done | None:
    """Write off every lot and offcut whose use-by date is before a day; None where there is none."""
    with ledger.atomic(keep=keep):
        stock = ledger.stock()
        past = [
            (lot.id, lot.on_hand) for lot in stock.lots if lot.on_hand and lot.expiry is not None and lot.expiry < day
        ]
        past += [(o.id, 1) for o in stock.offcuts if o.on_rack and o.expiry is not None and o.expiry < day]
        if not past:
            return None
        entry = Entry(ledger, Act.EXPIRE, day, reason=f"use-by date before {day}")
        for ref, count in past:
            entry.move(MoveKind.EXPIRY, ref, -count)
        return entry.done()


def place(ledger: Ledger, ref: str, where: str, day: date, *, keep: bool = True) -> Done:
    """State where a lot or an offcut lies from now on."""
    with ledger.atomic(keep=keep):
        entry = Entry(ledger, Act.PLACE, day)
        entry.place(ref, where)
        return entry.done()


def expose(ledger: Ledger, ref: str, relief: float, day: date, *, keep: bool = True) -> Done:
    """State that an offcut was back-exposed to a relief, in the ledger's unit.

    Raises
    ------
    StockError
        If it is no offcut on the rack, or was back-exposed before.
    """
    with ledger.atomic(keep=keep):
        if kind_of(ledger, ref) != "offcut":
            raise StockError(f"{ref}: is a lot; only an offcut is back-exposed by itself; {NOTHING}")
        on_rack, before = ledger.rows("SELECT on_rack, relief FROM offcut_now WHERE id = ?", (ref,))[0]
        if not on_rack:
            raise StockError(f"{ref}: is not on the rack; {NOTHING}")
        if before is not None:
            raise StockError(f"{ref}: was back-exposed before; take that back first if it is wrong (nest stock undo)")
        entry = Entry(ledger, Act.EXPOSE, day)
        entry.expose(ref, relief, day)
        return entry.done()


def put_setting(ledger: Ledger, name: str, value: int, day: date, *, keep: bool = True) -> Done:
    """Set a figure of the value curve, or the rack limit, from now on.

    Raises
    ------
    StockError
        If the curve would make no sense.
    """
    with ledger.atomic(keep=keep):
        entry = Entry(ledger, Act.SET, day, reason=f"{name} = {value}")
        ledger.insert("setting", booking=entry.id, name=name, value=value)
        curve = ledger.stock().curve
        if curve.life_days < curve.full_days:
            raise StockError(f"life_days must be at least full_days; {NOTHING}")
        entry.told.append(f"{name} is {value}")
        return entry.done()


def undo(ledger: Ledger, number: int, day: date, *, keep: bool = True) -> Done:
    """Take a booking back as new movements that turn each of its own round.

    Raises
    ------
    StockError
        If there is no such booking, it is taken back already, or something of it has been used since.
    """
    with ledger.atomic(keep=keep):
        return take_back(ledger, number, day)


def take_back(ledger: Ledger, number: int, day: date) -> Done:
    """Take a booking back, inside a transaction of the caller."""
    found = ledger.rows("SELECT act, id IN (SELECT id FROM standing) FROM booking WHERE id = ?", (number,))
    if not found:
        raise StockError(f"booking {number}: the ledger has none of this number; see nest stock history")
    act, standing = found[0]
    if act == Act.UNDO.value or not standing:
        what = "is itself a taking back" if act == Act.UNDO.value else "is taken back already"
        raise StockError(f"booking {number}: {what}; {NOTHING}")
    entry = Entry(ledger, Act.UNDO, day, reason=f"takes booking {number} back", undoes=number)
    moves = ledger.rows(
        "SELECT coalesce(lot, offcut), change, sheet FROM movement WHERE booking = ? ORDER BY id DESC", (number,)
    )
    try:
        for ref, change, sheet in moves:
            entry.move(MoveKind.RETURN, ref, -change, sheet=sheet)
    except StockError as fault:
        raise StockError(f"booking {number} cannot be taken back: {fault}") from fault
    entry.told += [f"{what} of booking {number} no longer hold" for what in _facts(ledger, number)]
    return entry.done()


def _facts(ledger: Ledger, number: int) -> list[str]:
    tables = {"placing": "places", "exposure": "back-exposures", "setting": "settings", "remake": "remakes",
              "purchase": "orders", "arrival": "arrivals"}  # fmt: skip
    return [
        words for table, words in tables.items() if ledger.rows(f"SELECT 1 FROM {table} WHERE booking = ?", (number,))
    ]
