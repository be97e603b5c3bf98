"""Working days, Monday to Friday: the buyer's time. Public holidays are not known."""

from __future__ import annotations

from datetime import date, timedelta

PER_WEEK = 5
PER_YEAR = 52 * PER_WEEK
DAYS = 7


def workdays_before(day: date) -> int:
    """Return how many working days lie before a day, counted from the calendar's first Monday."""
    weeks, weekday = divmod(day.toordinal() - 1, DAYS)
    return weeks * PER_WEEK + min(weekday, PER_WEEK)


def workdays_between(first: date, last: date) -> int:
    """Return the working days from one day (counted) to another (not counted); negative backwards.

    Examples
    --------
    >>> workdays_between(date(2027, 3, 5), date(2027, 3, 8)), workdays_between(date(2027, 3, 6), date(2027, 3, 8))
    (1, 0)
    """
    return workdays_before(last) - workdays_before(first)


def workday_after(day: date, count: int) -> date:
    """Return the working day that is ``count`` working days after a day; a weekend counts as the Monday behind it.

    Examples
    --------
    >>> workday_after(date(2027, 3, 5), 1), workday_after(date(2027, 3, 6), 0), workday_after(date(2027, 3, 1), 10)
    (datetime.date(2027, 3, 8), datetime.date(2027, 3, 8), datetime.date(2027, 3, 15))
    """
    weeks, weekday = divmod(workdays_before(day) + count, PER_WEEK)
    return date.fromordinal(1) + timedelta(days=DAYS * weeks + weekday)


def calendar_to_workdays(days: int) -> int:
    """Return the working days in a number of calendar days, rounded down."""
    return days * PER_WEEK // DAYS
