from __future__ import annotations

from dataclasses import replace

import pytest

from nest.outlook.what_if import Case, answer, best, rhythm, rhythm_cases, slipped, usual_rhythms
from nest.pipeline import Settings
from tests.calendar.shop import MONDAY, calendar, dated_room, day
from tests.packing.shop import row

QUICK = Settings(work_limit=20, first_day=MONDAY)


def test_the_usual_rhythms_are_every_day_two_days_and_one() -> None:
    assert usual_rhythms(calendar()) == [
        ("every day (mon, tue, wed, thu, fri)", (0, 1, 2, 3, 4)),
        ("twice a week (mon, thu)", (0, 3)),
        ("once a week (mon)", (0,)),
    ]
    assert [days for _, days in usual_rhythms(calendar(days=(1, 3)))] == [(1, 3), (1,)]
    assert [days for _, days in usual_rhythms(calendar(days=(4,)))] == [(4,)]


def test_a_rhythm_keeps_shifts_on_its_days_only() -> None:
    assert rhythm(calendar(), (2, 5)).shifts[0].days == (2,)
    with pytest.raises(ValueError, match="no shift on sat, sun"):
        rhythm(calendar(), (5, 6))


def test_further_days_make_further_cases_and_none_twice() -> None:
    at = dated_room(calendar=calendar())
    cases = rhythm_cases([row("Cyan", 100, 100)], at, [(1, 4), (0, 3)])
    assert [case.name for case in cases][3:] == ["tue, fri"]


def test_fewer_batches_win_where_running_one_costs_more_than_lateness() -> None:
    rows = [row(f"C{n}", 240, 240, job=str(n), ready=day(1 + n), due=day(1 + n)) for n in range(4)]
    at = dated_room(calendar=calendar(late_per_day=1.0, per_batch=100.0))
    answers = [answer(case, QUICK)[0] for case in rhythm_cases(rows, at, [])]
    assert best(answers).batches == 1
    dear = replace(at, calendar=calendar(late_per_day=500.0, per_batch=1.0))
    answers = [answer(case, QUICK)[0] for case in rhythm_cases(rows, dear, [])]
    assert best(answers).name.startswith("every day")
    assert best(answers).lateness == 0.0
    assert answers[2].late_pieces == 3


def test_a_slip_moves_approval_of_the_job_or_of_one_separation() -> None:
    rows = [
        row("Cyan", 100, 100, ready=day(1)),
        row("Black", 100, 100, ready=day(2)),
        row("White", 100, 100, job="3102", due=day(3)),
    ]
    assert [one.ready for one in slipped(rows, "3101", None, 1, MONDAY)] == [day(2), day(3), None]
    assert [one.ready for one in slipped(rows, "3101", "Black", 2, MONDAY)] == [day(1), day(4), None]
    assert slipped(rows, "3102", None, 1, MONDAY)[2].ready == day(2)
    with pytest.raises(ValueError, match="no row is job 9"):
        slipped(rows, "9", None, 1, MONDAY)
    with pytest.raises(ValueError, match="separation Gold"):
        slipped(rows, "3101", "Gold", 1, MONDAY)


def test_a_row_that_slips_past_its_date_is_late() -> None:
    at = dated_room(calendar=calendar(late_per_day=24.0))
    rows = (row("Cyan", 240, 240, ready=day(1), due=day(1)),)
    before, _ = answer(Case(name="as it is", rows=rows, room=at), QUICK)
    after, _ = answer(Case(name="slipped", rows=slipped(rows, "3101", None, 1, MONDAY), room=at), QUICK)
    assert (before.lateness, after.lateness, after.least) == (0.0, 16.0, 16.0)
    assert after.cost == before.cost
