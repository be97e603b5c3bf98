"""The calendar of the room file: shifts of the week, days that differ, what lateness costs."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING

from nest.domain.calendar import WEEK_DAYS, Calendar, DayChange, Shift
from nest.intake.faults import offer, quoted
from nest.intake.keys import MOST_MONEY

if TYPE_CHECKING:
    from datetime import date

    from nest.intake.keys import Keys

WORK_DAYS = (0, 1, 2, 3, 4)
MOST_MINUTES = 24 * 60.0
MOST_PLATES = 10_000
LATE_PER_DAY = 50.0
CLOCK_REMEDY = 'write it like "06:00"'


def read_calendar(keys: Keys) -> Calendar | None:
    """Return the calendar, None after noting that it names no batch at all."""
    late = keys.number_or("late_per_day", LATE_PER_DAY, most=MOST_MONEY)
    per_batch = keys.number_or("per_batch", 0.0, most=MOST_MONEY)
    shifts = _shifts(keys.tables("shifts"))
    changes = _changes(keys.tables("changes"), {shift.name: shift for shift in shifts})
    keys.finish()
    if not shifts and not changes and not keys.faults:
        keys.note(None, rule="must name at least one batch", remedy="add [[calendar.shifts]] with name, days, from, to")
        return None
    return Calendar(shifts=tuple(shifts), changes=tuple(changes), late_per_day=late, per_batch=per_batch)


def _shifts(tables: tuple[Keys, ...]) -> list[Shift]:
    shifts: list[Shift] = []
    for own in tables:
        name = own.text("name", required=True)
        days = _days(own)
        start, end = clock(own, "from", required=True), clock(own, "to", required=True)
        plates = own.count("plates", least=1, most=MOST_PLATES)
        minutes = own.number("minutes", above=True, most=MOST_MINUTES)
        own.finish()
        if name is not None and any(shift.name == name for shift in shifts):
            own.note("name", rule="each shift has a name of its own", got=quoted(name), remedy="give it another name")
        elif name is not None and start is not None and end is not None:
            shifts.append(Shift(name=name, days=days, start=start, end=end, plates=plates, minutes=minutes))
    return shifts


def _days(own: Keys) -> tuple[int, ...]:
    """Return the days of the week a shift comes on, Monday to Friday where none are named."""
    value = own.take("days")
    if value is None:
        return WORK_DAYS
    if not isinstance(value, list) or not value or not all(isinstance(day, str) for day in value):
        own.note("days", rule="must be a list of days", got=quoted(value), remedy='write it like ["mon", "thu"]')
        return WORK_DAYS
    found = set()
    for day in value:
        word = day.strip().casefold()[:3]
        if word not in WEEK_DAYS:
            rule = f"must name days among {', '.join(WEEK_DAYS)}"
            own.note("days", rule=rule, got=quoted(day), remedy=offer(day, WEEK_DAYS))
        elif WEEK_DAYS.index(word) in found:
            own.note("days", rule="must name each day once", got=quoted(day), remedy="remove one")
        else:
            found.add(WEEK_DAYS.index(word))
    return tuple(sorted(found))


def clock(own: Keys, key: str, *, required: bool = False) -> time | None:
    """Return a time of day, written as text or as TOML writes it."""
    value = own.take(key, required=required)
    if value is None:
        return None
    if isinstance(value, str):
        try:
            value = time.fromisoformat(value.strip())
        except ValueError:
            own.note(key, rule="must be a time of day", got=quoted(value), remedy=CLOCK_REMEDY)
            return None
    if not isinstance(value, time) or value.tzinfo is not None:
        own.note(key, rule="must be a time of day, the room's own", got=quoted(value), remedy=CLOCK_REMEDY)
        return None
    return value


def _changes(tables: tuple[Keys, ...], shifts: dict[str, Shift]) -> list[DayChange]:
    changes: list[DayChange] = []
    seen: set[tuple[date, str | None]] = set()
    for own in tables:
        day, shift, closed = own.day("day"), own.text("shift"), own.flag("closed", False)
        if "day" not in own:
            own.note(None, rule="the required key 'day' is missing", remedy="add it, like day = 2027-04-05")
        start, end = clock(own, "from"), clock(own, "to")
        plates = own.count("plates", least=1, most=MOST_PLATES)
        minutes = own.number("minutes", above=True, most=MOST_MINUTES)
        own.finish()
        change = DayChange(
            day=day, shift=shift, closed=closed, start=start, end=end, plates=plates, minutes=minutes
        ) if day is not None else None  # fmt: skip
        if change is not None and _is_sound(own, change, shifts, seen):
            changes.append(change)
    return changes


def _is_sound(own: Keys, change: DayChange, shifts: dict[str, Shift], seen: set[tuple[date, str | None]]) -> bool:
    """Whether a change says one thing about one day; notes what is wrong."""
    own_hours = change.start is not None or change.end is not None
    says = own_hours or change.plates is not None or change.minutes is not None
    if (change.day, change.shift) in seen:
        own.note(None, rule="each shift of a day changes once", got=change.day.isoformat(), remedy="join the entries")
        return False
    seen.add((change.day, change.shift))
    if change.closed and says:
        own.note("closed", rule="a closed day or shift has no hours and limits", got="true", remedy="remove one")
    elif not change.closed and change.shift is None:
        own.note(None, rule="says nothing: a day is closed, or one of its shifts differs",
                 remedy="write closed = true, or name the shift")
    elif not change.closed and not says:
        own.note(None, rule="says nothing about the shift", remedy="write closed = true, or its own hours")
    elif not change.closed and change.shift not in shifts and (change.start is None or change.end is None):
        own.note("shift", rule="no such shift in the week", got=quoted(change.shift),
                 remedy="give an extra batch its from and to" if not shifts else offer(str(change.shift), shifts))
    elif change.closed and change.shift is not None and change.shift not in shifts:
        own.note("shift", rule="no such shift in the week", got=quoted(change.shift),
                 remedy=offer(change.shift, shifts))
    else:
        return True
    return False
