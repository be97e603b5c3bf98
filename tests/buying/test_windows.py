"""Weeks to working days and sums over stretches of them."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from nest.buying.windows import Windows, by_workday, delivery_times, from_day
from nest.domain.workdays import calendar_to_workdays, workday_after, workdays_between

MONDAY = date(2027, 3, 1)


def test_whole_sheets_stay_whole_and_add_up() -> None:
    weeks = np.random.default_rng(1).integers(0, 40, (30, 6))
    days = by_workday(weeks)
    assert days.dtype == weeks.dtype
    assert (days.reshape(30, 6, 5).sum(axis=2) == weeks).all()
    assert (np.abs(days.reshape(30, 6, 5) - weeks[:, :, None] / 5) < 1).all()
    assert by_workday(np.array([[5.0]])).tolist() == [[1.0] * 5]


def test_days_before_the_first_week_have_no_demand_and_past_days_are_cut_off() -> None:
    weeks = np.array([[5, 10]])
    assert from_day(weeks, MONDAY, MONDAY).tolist() == [[1] * 5 + [2] * 5]
    assert from_day(weeks, MONDAY, date(2027, 2, 25)).tolist() == [[0, 0] + [1] * 5 + [2] * 5]
    assert from_day(weeks, MONDAY, date(2027, 3, 4)).tolist() == [[1, 1] + [2] * 5]
    # a Saturday is the Monday behind it
    assert from_day(weeks, MONDAY, date(2027, 3, 6)).tolist() == [[2] * 5]


def test_the_week_of_a_plan_is_left_out() -> None:
    weeks = np.array([[5, 10]])
    assert from_day(weeks, MONDAY, date(2027, 3, 3), skip_this_week=True).tolist() == [[0] * 3 + [2] * 5]
    assert from_day(weeks, MONDAY, MONDAY, skip_this_week=True).tolist() == [[0] * 5 + [2] * 5]
    # before the first week only days without demand are left out
    assert from_day(weeks, MONDAY, date(2027, 2, 25), skip_this_week=True).tolist() == [[0, 0] + [1] * 5 + [2] * 5]


def test_demand_over_a_stretch_is_summed_path_by_path() -> None:
    windows = Windows(days=np.array([[1, 2, 3, 4], [10, 20, 30, 40]]))
    assert windows.over(1, np.array([2, 3])).values.tolist() == [5, 90]
    # beyond the end the last stretch that fits counts
    assert windows.over(3, np.array([2, 2])).values.tolist() == [7, 70]
    assert windows.over(0, np.array([9, 9])).values.tolist() == [10, 100]
    assert windows.expected(2, 4) == pytest.approx((7 + 70) / 2 + 2 * windows.rate)
    assert windows.rate == pytest.approx(110 / 8)


def test_delivery_times_spread_and_are_never_negative() -> None:
    chance = np.random.default_rng(2)
    assert delivery_times(5, 0, 3, chance).tolist() == [5, 5, 5]
    times = delivery_times(5, 2, 20_000, chance)
    # rounding to whole days adds 1/12 to the variance; standard error of the mean sd / sqrt(n)
    assert times.mean() == pytest.approx(5, abs=4 * 2.02 / 20_000**0.5)
    assert times.std() == pytest.approx((4 + 1 / 12) ** 0.5, rel=0.05)
    assert delivery_times(0.5, 3, 1000, chance).min() == 0


def test_working_days_are_counted_over_weekends() -> None:
    assert workdays_between(MONDAY, date(2027, 3, 8)) == 5
    assert workdays_between(date(2027, 3, 8), MONDAY) == -5
    assert workday_after(date(2027, 3, 5), 6) == date(2027, 3, 15)
    for n in range(-12, 13):
        assert workdays_between(MONDAY, workday_after(MONDAY, n)) == n
    assert calendar_to_workdays(365) == 260
