"""Pieces made again: booking them with their reason, and their rate and money by week."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING

from nest.domain.stock import Act, RemakeReason
from nest.domain.stock_reports import RemakeWeek, Week
from nest.errors import StockError
from nest.store.booking import Entry, amount, name
from nest.store.trouble import NOTHING

if TYPE_CHECKING:
    from nest.domain.stock import Remake
    from nest.store.booking import Done
    from nest.store.ledger import Ledger


def book_remake(ledger: Ledger, remake: Remake, day: date, *, key: str | None = None, keep: bool = True) -> Done:
    """Book that pieces are made again. What that draws from the store is booked by the release of its plan.

    Parameters
    ----------
    ledger
        The store.
    remake
        Which pieces, why, at what cost.
    day
        The day.
    key
        What makes this remake known again, such as the plan's name and the piece: a second booking is refused.
    keep
        False to show what would be booked.

    Raises
    ------
    StockError
        If it is booked already, or a figure is wrong.
    """
    if remake.pieces < 1:
        raise StockError(f"a remake makes at least 1 piece; {NOTHING}")
    with ledger.atomic(keep=keep):
        what = f"{remake.job} {remake.separation} {remake.part}".strip()
        entry = Entry(
            ledger,
            Act.REMAKE,
            day,
            reason=f"{what}: {remake.reason.value}",
            key=None if key is None else f"remake:{key}",
        )
        ledger.insert(
            "remake",
            booking=entry.id,
            job=name(remake.job, "a job"),
            separation=name(remake.separation, "a separation"),
            part=remake.part,
            reason=remake.reason.value,
            pieces=remake.pieces,
            cents=amount(remake.cents),
            sheet=remake.sheet,
        )
        entry.told.append(f"{remake.pieces} of job {what} made again, reason {remake.reason.value}")
        return entry.done()


def remake_weeks(ledger: Ledger) -> tuple[RemakeWeek, ...]:
    """Return every ISO week with a release or a remake, in order; what was taken back does not count."""
    made: dict[Week, int] = defaultdict(int)
    remade: dict[Week, dict[RemakeReason, int]] = defaultdict(lambda: defaultdict(int))
    cents: dict[Week, dict[RemakeReason, int]] = defaultdict(lambda: defaultdict(int))
    with ledger.snapshot():
        for day, pieces in ledger.rows(
            "SELECT day, pieces FROM released JOIN standing ON standing.id = released.booking"
        ):
            made[week_of(day)] += pieces
        for day, reason, pieces, cost in ledger.rows(
            "SELECT standing.day, remake.reason, remake.pieces, remake.cents FROM remake "
            "JOIN standing ON standing.id = remake.booking ORDER BY standing.id"
        ):
            remade[week_of(day)][RemakeReason(reason)] += pieces
            cents[week_of(day)][RemakeReason(reason)] += cost
    return tuple(
        RemakeWeek(
            week=week, released=made.get(week, 0), remade=dict(remade.get(week, {})), cents=dict(cents.get(week, {}))
        )
        for week in sorted({*made, *remade})
    )


def week_of(day: str) -> Week:
    """Return the ISO year and week of a day."""
    year, week, _ = date.fromisoformat(day).isocalendar()
    return year, week
