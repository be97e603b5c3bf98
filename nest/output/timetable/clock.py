"""Minutes of a batch on the clock: by day and hour where the day is stated, else by the days that have passed."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.domain.timetable import Timetable

FIRST_CLOCK = time(6)
NO_DAY = datetime(2001, 1, 1)


def moment(table: Timetable, minutes: float) -> datetime | None:
    """Return when so many minutes have passed, to the second; None where no day is stated."""
    return None if table.start is None else _moment(table.start, minutes)


def _moment(start: datetime, minutes: float) -> datetime:
    return start + timedelta(seconds=round(minutes * 60))


def clock(table: Timetable, minutes: float) -> str:
    """Return the time of day, to the nearest minute, with the days that have passed since the batch began.

    A batch without a stated day begins at 06:00.
    """
    start = table.start or datetime.combine(NO_DAY, FIRST_CLOCK)
    at = _moment(start, round(minutes))
    days = (at.date() - start.date()).days
    return f"+{days} {at:%H:%M}" if days else f"{at:%H:%M}"


def day_words(table: Timetable, minutes: float) -> str:
    """Return the day and time of day, such as ``Mon 2027-03-01 06:00``, or ``day 1 06:00`` where no day is stated."""
    start = table.start or datetime.combine(NO_DAY, FIRST_CLOCK)
    at = _moment(start, round(minutes))
    if table.start is None:
        return f"day {(at.date() - start.date()).days + 1} {at:%H:%M}"
    return f"{DAYS[at.weekday()]} {at:%Y-%m-%d %H:%M}"


DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def span_words(minutes: float) -> str:
    """Return a length of time in hours and minutes.

    Examples
    --------
    >>> span_words(9.4), span_words(462.0), span_words(120.0)
    ('9 min', '7 h 42 min', '2 h')
    """
    hours, left = divmod(round(minutes), 60)
    words = [f"{hours} h"] * (hours > 0) + [f"{left} min"] * (left > 0 or not hours)
    return " ".join(words)
