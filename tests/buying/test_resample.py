from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from nest.buying.past import WEEK, History, PastWeek
from nest.buying.resample import Resampler, block_length, drawn_weeks, jobs_of, random_of, remade, without_lots
from nest.domain.job import Need, Row, Together

FIRST = date(2026, 1, 5)


def row(job: str, separation: str = "Black", **fields: object) -> Row:
    base = Row(job=job, separation=separation, material="HB", image_across_mm=100.0, image_around_mm=100.0)
    return replace(base, **fields)  # type: ignore[arg-type]


def history(counts: list[int]) -> History:
    weeks = [
        PastWeek(monday=FIRST + n * WEEK, rows=tuple(row(f"{n}.{job}", c) for job in range(count) for c in "AB"))
        for n, count in enumerate(counts)
    ]
    return History(weeks=tuple(weeks))


def test_blocks_are_runs_of_neighbours_on_a_circle() -> None:
    drawn = drawn_weeks(7, 12, 3, np.random.default_rng(0))
    assert len(drawn) == 12
    for start in range(0, 12, 3):
        assert [(week - drawn[start]) % 7 for week in drawn[start : start + 3]] == [0, 1, 2]


def test_every_week_is_drawn_equally_often() -> None:
    # Politis & Romano (1992): the circle makes the first and last weeks as likely as the others
    random = np.random.default_rng(2)
    seen = np.bincount([w for _ in range(4000) for w in drawn_weeks(8, 3, 3, random)], minlength=8)
    assert abs(seen / seen.sum() - 1 / 8).max() < 0.01


def test_a_week_with_as_many_jobs_as_the_drawn_one_and_each_job_whole() -> None:
    past = history([4] * 10)
    for rows in Resampler(past, None, FIRST + 10 * WEEK).path(20, random_of(1, 0)):
        jobs = {one.job for one in rows}
        assert len(jobs) == 4
        assert len(rows) == 8
        assert len({one.key for one in rows}) == 8


def test_weeks_without_work_are_drawn_as_often_as_they_were() -> None:
    past = history([5, 0, 5, 5, 0, 5, 5, 5, 0, 5])
    resampler = Resampler(past, 1, FIRST + 10 * WEEK)
    empty = np.mean([not rows for path in range(200) for rows in resampler.path(13, random_of(1, path))])
    # 2600 weeks, 3 of 10: standard error 0.009
    assert empty == pytest.approx(0.3, abs=0.03)


def test_the_spread_between_weeks_is_that_of_the_history_and_not_counted_twice() -> None:
    # jobs of 1 or 9 pieces at random (variance 16), 6 a week: a week's pieces vary by 6 × 16 = 96. Drawn from their own
    # week alone they would by 6 × 16 × 5/6 + 36 × 16/6 = 176; from 5 weeks by 6 × 16 × 29/30 + 36 × 16/30 = 112
    random = np.random.default_rng(7)
    weeks = tuple(
        PastWeek(monday=FIRST + n * WEEK,
                 rows=tuple(row(f"{n}.{j}", copies=int(random.choice([1, 9]))) for j in range(6)))
        for n in range(200)
    )  # fmt: skip
    resampler = Resampler(History(weeks=weeks), 1, FIRST + 200 * WEEK)
    pieces = [sum(r.copies for r in rows) for path in range(150) for rows in resampler.path(13, random_of(3, path))]
    assert np.var(pieces) == pytest.approx(112.0, rel=0.1)


def test_a_trend_moves_the_number_of_jobs_by_its_factor() -> None:
    random = np.random.default_rng(4)
    counts = [int(x) for x in random.poisson(20 * 1.03 ** np.arange(30))]
    resampler = Resampler(history(counts), None, FIRST + 30 * WEEK)
    assert resampler.pace.growth > 1.02
    jobs = [len({r.job for r in rows}) for path in range(60) for rows in resampler.path(4, random_of(1, path))]
    assert np.mean(jobs) > 1.2 * np.mean(counts)


def test_a_path_is_the_same_whatever_was_drawn_before_it() -> None:
    resampler = Resampler(history([3, 5, 2, 6]), None, FIRST + 4 * WEEK)
    resampler.path(5, random_of(9, 0))
    assert resampler.path(5, random_of(9, 4)) == Resampler(history([3, 5, 2, 6]), None, FIRST + 4 * WEEK).path(
        5, random_of(9, 4)
    )
    assert resampler.path(5, random_of(9, 4)) != resampler.path(5, random_of(9, 5))
    assert resampler.path(5, random_of(9, 4)) != resampler.path(5, random_of(8, 4))


def test_fill_rows_and_dates_are_left_out() -> None:
    moment = date(2026, 1, 6)
    week = PastWeek(monday=FIRST, rows=(row("2", ready=moment, due=moment), row("1"), row("1", "F", need=Need.FILL)))
    assert jobs_of(week) == [(row("1"),), (row("2"),)]


def test_remakes_are_as_many_as_their_rate_and_each_copy_on_its_own() -> None:
    rows = [row(str(n), copies=5, together=Together.COPIES) for n in range(40)]
    random = np.random.default_rng(0)
    again = [sum(one.copies for one in remade(rows, 0.03, random)) for _ in range(300)]
    # 3 % of 200 pieces is 6 a time (trade: expected extra = rate × pieces); standard error of the mean 0.14
    assert np.mean(again) == pytest.approx(6.0, abs=0.5)
    assert {one.together for one in remade(rows, 1.0, random)} == {None}
    assert sum(one.copies for one in remade(rows, 1.0, random)) == 200
    assert remade(rows, 0.0, random) == ()


def test_only_the_wish_for_one_lot_is_dropped() -> None:
    rows = (row("1", together=Together.LOT), row("2", together=Together.PLATE))
    assert [one.together for one in without_lots(rows)] == [None, Together.PLATE]


def test_blocks_of_one_week_for_a_history_of_one() -> None:
    assert Resampler(history([2]), None, FIRST + WEEK).block == 1
    assert Resampler(history([2, 3]), 9, FIRST + timedelta(weeks=2)).block == 2
    assert block_length(1000) == 10
