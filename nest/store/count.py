"""A stock-take: how what was counted differs from the balances, and booking the differences."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.domain.stock import Act, Delivery, MoveKind
from nest.errors import StockError
from nest.store.booking import Entry
from nest.store.trouble import NOTHING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.stock import Counted, Stock
    from nest.store.booking import Done
    from nest.store.ledger import Ledger


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One line of the report: what the ledger says and what was counted; ``ref`` is None for what is new.

    ``cents`` is what the difference is worth at book value.
    """

    ref: str | None
    words: str
    book: int
    counted: int
    cents: int
    place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CountReport:
    """What a stock-take found at one revision; ``lines`` are all differences, ``agree`` how many lines have none."""

    revision: int
    lines: tuple[Difference, ...]
    agree: int
    fresh: tuple[Counted, ...]
    moved: tuple[tuple[str, str], ...]


def compare(stock: Stock, counts: Sequence[Counted], *, whole: bool) -> CountReport:
    """Return how counts differ from the ledger.

    Parameters
    ----------
    stock
        The ledger's content.
    counts
        What was counted.
    whole
        Whether everything in the store was counted: what is not listed is not there.

    Raises
    ------
    StockError
        If an id is unknown, or an offcut was counted more than once.
    """
    book = {lot.id: (lot.on_hand, lot.price_cents, lot.material, lot.place) for lot in stock.lots}
    book |= {o.id: (int(o.on_rack), o.value_cents, o.material, o.place) for o in stock.offcuts}
    offcuts = {o.id for o in stock.offcuts}
    given: dict[str, Counted] = {}
    for one in counts:
        if one.ref is None:
            continue
        if one.ref not in book:
            raise StockError(
                f"{one.ref}: no lot or offcut of the ledger has this id; leave the id empty for what is "
                f"new; {NOTHING}"
            )
        if one.ref in offcuts and one.count > 1:
            raise StockError(f"{one.ref}: an offcut is there once or not at all, got {one.count}; {NOTHING}")
        given[one.ref] = one
    refs = [ref for ref in book if ref in given or (whole and book[ref][0])]
    lines = []
    for ref in refs:
        have, price, material, place = book[ref]
        count = given[ref].count if ref in given else 0
        if count != have:
            lines.append(
                Difference(ref=ref, words=material, book=have, counted=count, cents=(count - have) * price, place=place)
            )
    fresh = tuple(one for one in counts if one.ref is None and one.fresh is not None)
    lines += [_new(one) for one in fresh]
    moved = tuple((ref, one.place) for ref, one in given.items() if one.place and one.place != book[ref][3])
    return CountReport(
        revision=stock.revision, lines=tuple(lines), agree=len(refs) + len(fresh) - len(lines), fresh=fresh, moved=moved
    )


def _new(one: Counted) -> Difference:
    fresh = one.fresh
    if fresh is None:
        raise StockError("our own fault: a new line without what it is")
    price = fresh.price_cents if isinstance(fresh, Delivery) else fresh.value_cents
    return Difference(
        ref=None, words=fresh.material, book=0, counted=one.count, cents=one.count * price, place=fresh.place
    )


def book_count(ledger: Ledger, report: CountReport, reason: str, day: date, *, keep: bool = True) -> Done | None:
    """Book the differences of a report; afterwards the balances are what was counted. None where nothing differs.

    Raises
    ------
    StockError
        If the ledger has changed since the report: it may no longer be true.
    """
    if not report.lines and not report.moved:
        return None
    with ledger.atomic(keep=keep):
        now = ledger.revision()
        if now != report.revision:
            raise StockError(
                f"{ledger.path}: {now - report.revision} bookings were made since the report; count again what they "
                f"touched and give the list once more; {NOTHING}"
            )
        entry = Entry(ledger, Act.COUNT, day, reason=reason)
        for line in report.lines:
            if line.ref is not None:
                entry.move(MoveKind.COUNT, line.ref, line.counted - line.book)
        for one in report.fresh:
            if isinstance(one.fresh, Delivery):
                entry.receive(replace(one.fresh, sheets=one.count), kind=MoveKind.COUNT)
            elif one.fresh is not None:
                entry.book_offcut(one.fresh, kind=MoveKind.COUNT)
        for ref, where in report.moved:
            entry.place(ref, where)
        return entry.done()
