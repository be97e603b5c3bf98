"""The batches a calendar names, in order of time."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from nest.domain.calendar import Batch

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.calendar import Calendar, DayChange, Shift

LAST_DAY = date(9990, 1, 1)
"""No calendar goes on for longer; it only keeps dates inside what Python counts."""


def batches_from(calendar: Calendar, first: date) -> Iterator[Batch]:
    """Yield the batches of a day and those after it, by start then id; endless where shifts come every week."""
    weekly = {day for shift in calendar.shifts for day in shift.days}
    extra = {change.day for change in calendar.changes if not change.closed}
    last = LAST_DAY if weekly else max(extra, default=first)
    day = first
    while day <= last:
        yield from sorted(_of_day(calendar, day), key=lambda batch: (batch.start, batch.id))
        day += timedelta(days=1)


def _of_day(calendar: Calendar, day: date) -> Iterator[Batch]:
    changes = {change.shift: change for change in calendar.changes if change.day == day}
    if None in changes:
        return
    shifts = {shift.name: shift for shift in calendar.shifts}
    names = [shift.name for shift in calendar.shifts if day.weekday() in shift.days]
    names += [name for name in changes if name is not None and name not in names]
    for name in names:
        change = changes.get(name)
        if change is not None and change.closed:
            continue
        batch = _batch(day, name, shifts.get(name), change)
        if batch is not None:
            yield batch


def _batch(day: date, name: str, shift: Shift | None, change: DayChange | None) -> Batch | None:
    """Return a shift of a day with what the day changes about it; None where neither tells its hours."""
    told = [one for one in (change, shift) if one is not None]
    start = next((one.start for one in told if one.start is not None), None)
    end = next((one.end for one in told if one.end is not None), None)
    if start is None or end is None:
        return None
    plates = next((one.plates for one in told if one.plates is not None), None)
    minutes = next((one.minutes for one in told if one.minutes is not None), None)
    begins, ends = datetime.combine(day, start), datetime.combine(day, end)
    if ends <= begins:
        ends += timedelta(days=1)
    return Batch(id=f"{day.isoformat()} {name}", start=begins, end=ends, plates=plates, minutes=minutes)
