from __future__ import annotations

from itertools import pairwise

from nest.buying.demo_history import CLOSED, JOBS_A_WEEK, WEEKS, week_files
from tests.buying.weeks import small


def test_the_same_weeks_every_time_and_others_for_another_seed() -> None:
    assert week_files() == week_files()
    assert week_files(seed=8) != week_files()
    assert len(week_files()) == WEEKS - len(CLOSED)


def test_every_week_is_read_without_a_fault_and_the_closed_one_has_no_work() -> None:
    history, room = small(weeks=WEEKS, jobs=JOBS_A_WEEK)
    jobs = [week.jobs for week in history.weeks]
    assert [n for n, count in enumerate(jobs) if not count] == list(CLOSED)
    assert 0.7 * JOBS_A_WEEK < sum(jobs) / (WEEKS - len(CLOSED)) < 1.3 * JOBS_A_WEEK
    assert {row.material for week in history.weeks for row in week.rows} == set(room.materials)
    # job numbers rise from week to week, none comes twice
    numbers = [sorted({int(row.job) for row in week.rows}) for week in history.weeks if week.rows]
    assert all(one[-1] < two[0] for one, two in pairwise(numbers))
