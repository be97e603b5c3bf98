from __future__ import annotations

from datetime import date, datetime, time
from itertools import islice

from nest.calendar.horizon import batches_from
from nest.domain.calendar import Calendar, DayChange, Shift

EARLY = Shift(name="early", days=(0, 1, 2, 3, 4), start=time(6), end=time(14), plates=8)
NIGHT = Shift(name="night", days=(0, 3), start=time(22), end=time(6))
MONDAY = date(2027, 3, 1)


def first(calendar: Calendar, count: int, day: date = MONDAY) -> list[str]:
    return [batch.id for batch in islice(batches_from(calendar, day), count)]


def test_shifts_come_on_their_days_in_order_of_time_week_after_week() -> None:
    assert first(Calendar(shifts=(NIGHT, EARLY)), 8) == [
        "2027-03-01 early", "2027-03-01 night", "2027-03-02 early", "2027-03-03 early", "2027-03-04 early",
        "2027-03-04 night", "2027-03-05 early", "2027-03-08 early",
    ]  # fmt: skip


def test_a_shift_that_ends_before_it_begins_ends_on_the_next_day() -> None:
    night = next(iter(batches_from(Calendar(shifts=(NIGHT,)), MONDAY)))
    assert (night.start, night.end) == (datetime(2027, 3, 1, 22), datetime(2027, 3, 2, 6))


def test_a_closed_day_has_no_batch_and_a_closed_shift_leaves_the_others() -> None:
    closed = Calendar(shifts=(EARLY, NIGHT), changes=(DayChange(day=MONDAY, closed=True),))
    assert first(closed, 1) == ["2027-03-02 early"]
    one = Calendar(shifts=(EARLY, NIGHT), changes=(DayChange(day=MONDAY, shift="early", closed=True),))
    assert first(one, 2) == ["2027-03-01 night", "2027-03-02 early"]


def test_a_changed_shift_keeps_what_the_change_leaves_open() -> None:
    change = DayChange(day=MONDAY, shift="early", end=time(12), plates=4)
    batch = next(iter(batches_from(Calendar(shifts=(EARLY,), changes=(change,)), MONDAY)))
    assert (batch.start.time(), batch.end.time(), batch.plates) == (time(6), time(12), 4)


def test_an_extra_batch_comes_once_and_a_calendar_of_such_ends() -> None:
    saturday = DayChange(day=date(2027, 3, 6), shift="catch-up", start=time(8), end=time(12))
    assert first(Calendar(shifts=(EARLY,), changes=(saturday,)), 7)[5] == "2027-03-06 catch-up"
    assert first(Calendar(shifts=(), changes=(saturday,)), 9) == ["2027-03-06 catch-up"]
    assert first(Calendar(shifts=(), changes=(saturday,)), 9, date(2027, 3, 7)) == []
