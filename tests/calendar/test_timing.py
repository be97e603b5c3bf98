from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest

from nest.calendar.timing import days_late, due_moment, first_day, row_costs, timing_of
from nest.domain.job import Together
from nest.packing.problem import NEVER
from tests.calendar.shop import MONDAY, calendar, dated_room, day
from tests.packing.shop import row


def costs_of(due: datetime | None, ready: datetime | None = None, **more: Any) -> tuple[float, ...]:
    at = dated_room(calendar=calendar(late_per_day=24.0), **more)
    one = row("Cyan", 100, 100, ready=ready, due=due)
    return timing_of([one], at, MONDAY).late[one.key]


def test_a_due_date_without_a_time_lasts_all_day() -> None:
    assert due_moment(day(2)) == day(3)
    assert due_moment(day(2, 15)) == day(2, 15)


def test_lateness_counts_from_the_end_of_the_batch_and_the_time_of_the_material() -> None:
    # ready to mount at 16:00: 2 h after the batch; 24 a day is 1 an hour
    assert costs_of(day(1, 16))[:3] == (0.0, 24.0, 48.0)
    assert costs_of(day(1, 15))[:2] == (1.0, 25.0)
    assert costs_of(day(1))[:2] == (0.0, 16.0)


def test_nothing_is_made_in_a_batch_that_begins_before_the_artwork_is_approved() -> None:
    assert costs_of(None, ready=day(1, 6))[:2] == (0.0, 0.0)
    assert costs_of(None, ready=day(1, 7))[:2] == (NEVER, 0.0)


def test_a_row_without_dates_is_never_late() -> None:
    assert set(costs_of(None)) == {0.0}


@pytest.mark.parametrize(("thickness", "hours"), [(1.14, 4.0), (2.84, 4.0), (3.94, 20.0)])
def test_a_material_without_a_stated_time_takes_the_usual_one(thickness: float, hours: float) -> None:
    # common practice: thin solvent-washed plates about 4 h, thick ones 8 h and a night
    from dataclasses import replace

    at = dated_room(calendar=calendar())
    own = {name: replace(m, thickness_mm=thickness, elapsed_hours=None) for name, m in at.materials.items()}
    one = row("Cyan", 100, 100, due=day(1, 14))
    batch = timing_of([one], at, MONDAY).batches[0]
    assert days_late(batch, one, replace(at, materials=own)) == pytest.approx(hours / 24)


def test_batches_that_are_over_take_nothing() -> None:
    at = dated_room(calendar=calendar())
    one = row("Cyan", 100, 100)
    late = timing_of([one], at, MONDAY, since=date(2027, 3, 3)).late[one.key]
    assert late[:3] == (NEVER, NEVER, 0.0)


def test_rows_of_a_job_made_in_one_batch_cost_their_mean_and_wait_for_the_last() -> None:
    at = dated_room(calendar=calendar(late_per_day=24.0))
    rows = [
        row("Cyan", 100, 100, due=day(1, 16), together=Together.BATCH, copies=3),
        row("Black", 100, 100, ready=day(2), due=day(5), together=Together.BATCH),
    ]
    costs = row_costs(rows, at, MONDAY)
    assert costs.late[rows[0].key] == costs.late[rows[1].key]
    # three late copies at 24 and 48 of four pieces
    assert costs.late[rows[0].key][:3] == (NEVER, 18.0, 36.0)
    assert costs.limited


def test_what_is_learnt_holds_a_job_to_its_batch() -> None:
    at = dated_room(calendar=calendar())
    rows = [row("Cyan", 100, 100, together=Together.BATCH), row("Black", 100, 100, job="3102")]
    costs = row_costs(rows, at, MONDAY)
    learnt = costs.learnt((3.0,), {"3101": costs.names[1]})
    assert learnt.late[rows[0].key][:3] == (NEVER, 0.0, NEVER)
    assert learnt.late[rows[1].key] == costs.late[rows[1].key]
    assert learnt.prices[:2] == (3.0, 0.0)
    assert len(learnt.prices) == len(costs.prices)


def test_a_calendar_begins_with_the_first_date_of_the_rows() -> None:
    assert first_day([row("Cyan", 100, 100, due=day(4)), row("Black", 100, 100, ready=day(2))]) == date(2027, 3, 2)
    assert first_day([row("Cyan", 100, 100, due=day(1)), row("Black", 100, 100, ready=day(2))]) == date(2027, 3, 1)
    assert first_day([row("Cyan", 100, 100, due=day(4))]) == date(2027, 3, 4)
    assert first_day([row("Cyan", 100, 100)]) is None
