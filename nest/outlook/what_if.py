"""What if: the same rows on other rhythms of the week, or with a row approved some days later."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from nest.domain.calendar import WEEK_DAYS, Answer
from nest.domain.job import Need
from nest.pipeline import Outcome, Settings, make_plan

if TYPE_CHECKING:
    import threading
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.calendar import Calendar
    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.packing.control import Listener


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One way things could be: its name, the rows and the room."""

    name: str
    rows: tuple[Row, ...]
    room: Room


def rhythm(calendar: Calendar, days: Sequence[int]) -> Calendar:
    """Return a calendar with the weekly shifts of some days only (Monday is 0); changed days stay as they are.

    Raises
    ------
    ValueError
        If no shift is left.
    """
    shifts = tuple(
        replace(shift, days=tuple(day for day in shift.days if day in days))
        for shift in calendar.shifts
        if set(shift.days) & set(days)
    )
    if not shifts:
        named = ", ".join(WEEK_DAYS[day] for day in days)
        raise ValueError(f"the calendar has no shift on {named}")
    return replace(calendar, shifts=shifts)


def usual_rhythms(calendar: Calendar) -> list[tuple[str, tuple[int, ...]]]:
    """Return name and days of: every day the calendar works, two of them, the first of them."""
    days = tuple(sorted({day for shift in calendar.shifts for day in shift.days}))
    found = [(f"every day ({_named(days)})", days)]
    if len(days) > 2:
        two = (days[0], days[(len(days) + 1) // 2])
        found.append((f"twice a week ({_named(two)})", two))
    if len(days) > 1:
        found.append((f"once a week ({_named(days[:1])})", days[:1]))
    return found


def _named(days: Sequence[int]) -> str:
    return ", ".join(WEEK_DAYS[day] for day in days)


def rhythm_cases(rows: Sequence[Row], room: Room, more: Sequence[tuple[int, ...]]) -> list[Case]:
    """Return a case for each usual rhythm and for each further choice of days."""
    if room.calendar is None:
        return []
    named = usual_rhythms(room.calendar)
    known = {days for _, days in named}
    named += [(_named(days), days) for days in more if days not in known]
    return [
        Case(name=name, rows=tuple(rows), room=replace(room, calendar=rhythm(room.calendar, days)))
        for name, days in named
    ]


def slipped(rows: Sequence[Row], job: str, separation: str | None, days: float, first: date) -> tuple[Row, ...]:
    """Return the rows with the artwork of a job, or of one separation of it, approved so many days later.

    Where a row states no approval, it counts from the first day.

    Raises
    ------
    ValueError
        If no row is meant.
    """
    meant = {row.key for row in rows if row.job == job and separation in (None, row.separation)}
    if not meant:
        raise ValueError(f"no row is job {job}" + (f", separation {separation}" if separation else ""))
    begin, later = datetime.combine(first, time()), timedelta(days=days)
    return tuple(replace(row, ready=(row.ready or begin) + later) if row.key in meant else row for row in rows)


def answer(
    case: Case, settings: Settings, listener: Listener | None = None, interrupt: threading.Event | None = None
) -> tuple[Answer, Outcome]:
    """Return what a case comes to, planned like any week, and the plan."""
    outcome = make_plan(case.rows, case.room, settings, listener, interrupt)
    return answer_of(case.name, outcome.plan), outcome


def answer_of(name: str, plan: Plan) -> Answer:
    """Return the figures of a plan on a calendar."""
    calendar, totals = plan.calendar, plan.totals
    used = {plate.batch for sheet in plan.sheets for plate in sheet.plates if plate.batch}
    return Answer(
        name=name,
        cost=totals.cost,
        lateness=0.0 if calendar is None else calendar.lateness,
        least=0.0 if calendar is None else calendar.least_lateness,
        late_pieces=0 if calendar is None else sum(row.copies for row in calendar.late),
        unplaced=sum(one.copies for one in plan.unplaced if one.need is Need.MUST),
        sheets=totals.sheets,
        plates=totals.plates,
        batches=len(used),
        gross=totals.yields.gross,
        opened=0.0 if calendar is None else calendar.opened,
    )


def best(answers: Sequence[Answer]) -> Answer:
    """Return the answer to choose: most placed, then least cost with lateness, then fewest batches."""
    return min(answers, key=lambda one: (one.unplaced, round(one.whole, 2), one.batches))
