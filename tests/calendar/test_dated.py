from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from nest.calendar.dated import dated, homeless_warnings
from nest.domain.calendar import LateReason
from nest.domain.job import Together
from tests.calendar.shop import MONDAY, calendar, dated_room, day
from tests.packing.shop import outcome, planned, plates, row, sheet

if TYPE_CHECKING:
    from nest.domain.calendar import PlannedCalendar
    from nest.domain.plan import Plan


def on_calendar(plan: Plan) -> PlannedCalendar:
    assert plan.calendar is not None
    return plan.calendar


def test_a_plan_without_a_calendar_has_no_batches() -> None:
    plan = planned([row("Cyan", 100, 100, due=day(1))], replace(dated_room(calendar=calendar()), calendar=None))
    assert plan.calendar is None
    assert {plate.batch for plate in plates(plan)} == {""}


def test_rows_without_dates_wait_for_a_first_day() -> None:
    rows, at = [row("Cyan", 100, 100)], dated_room(calendar=calendar())
    plan = planned(rows, at)
    assert plan.calendar is None
    assert "name its first day with --from" in plan.warnings[0]
    plan = planned(rows, at, first_day=MONDAY)
    assert [plate.batch for plate in plates(plan)] == ["2027-03-01 early"]


def test_pieces_of_different_days_share_a_plate_only_where_both_dates_are_kept() -> None:
    at = dated_room(calendar=calendar())
    early, late = row("Cyan", 200, 200, due=day(1)), row("Black", 200, 200, ready=day(2))
    assert len(plates(planned([early, late], at))) == 2
    both = planned([replace(early, due=day(2)), late], at)
    assert [plate.batch for plate in plates(both)] == ["2027-03-02 early"]
    assert on_calendar(both).late == ()


def test_waiting_for_a_better_fill_is_weighed_against_the_date() -> None:
    # a day late costs 3.00, a second plate of the same sheet 5.00
    rows = [row("Cyan", 200, 200, due=day(1, 16)), row("Black", 200, 200, ready=day(2))]
    cheap = planned(rows, dated_room(calendar=calendar(late_per_day=3.0)))
    assert [plate.batch for plate in plates(cheap)] == ["2027-03-02 early"]
    told = on_calendar(cheap)
    assert [(one.separation, one.days, one.cost, one.reason) for one in told.late] == [
        ("Cyan", 1.0, 3.0, LateReason.CHEAPER)
    ]
    assert (told.lateness, told.least_lateness) == (3.0, 0.0)
    dear = planned(rows, dated_room(calendar=calendar(late_per_day=90.0)))
    assert sorted(plate.batch for plate in plates(dear)) == ["2027-03-01 early", "2027-03-02 early"]
    assert on_calendar(dear).late == ()


def test_work_approved_too_late_is_named_and_proven() -> None:
    plan = planned([row("Cyan", 200, 200, ready=day(2, 8), due=day(2))], dated_room(calendar=calendar()))
    (late,) = on_calendar(plan).late
    assert (late.batch, late.mountable, late.due) == ("2027-03-03 early", day(3, 16), day(3))
    assert late.reason is LateReason.READY
    assert on_calendar(plan).least_lateness == pytest.approx(on_calendar(plan).lateness)


def test_a_full_batch_is_named_and_the_least_lateness_proven() -> None:
    # a plate holds four pieces; one plate a day: of nine due on Monday four can be in time, four a day late, one two
    rows = [row("Cyan", 250, 250, due=day(1, 16), copies=9)]
    plan = planned(rows, dated_room(calendar=calendar(plates=1, late_per_day=24.0)))
    told = on_calendar(plan)
    assert [(one.batch, one.copies, one.days) for one in told.late] == [
        ("2027-03-02 early", 4, 1.0), ("2027-03-03 early", 1, 2.0)
    ]  # fmt: skip
    assert {one.reason for one in told.late} == {LateReason.FULL}
    assert told.lateness == told.least_lateness == 4 * 24 + 48


def test_no_batch_makes_more_plates_than_it_holds() -> None:
    rows = [row(f"C{n}", 300, 300, copies=1) for n in range(7)]
    plan = planned(rows, dated_room(calendar=calendar(plates=2)), first_day=MONDAY)
    made = [plate.batch for plate in plates(plan)]
    assert sorted(made.count(batch.id) for batch in on_calendar(plan).batches) == [1, 2, 2, 2]
    assert on_calendar(plan).late == ()


def test_minutes_of_the_imager_limit_a_batch() -> None:
    # 500 mm at 2540 ppi, 10 beams, 500 rpm: 10 min a plate
    from tests.packing.shop import imager

    at = dated_room(
        sheet(500, 500, price=20.0), calendar=calendar(minutes=25.0), imager=imager(rpm=500.0, beams=10)
    )
    rows = [row(f"C{n}", 490, 490, due=day(5)) for n in range(5)]
    plan = planned(rows, at, first_day=MONDAY)
    assert [plate.batch for plate in plates(plan)].count("2027-03-01 early") == 2


def test_rows_made_in_one_batch_are() -> None:
    rows = [
        row("Cyan", 300, 300, due=day(5), together=Together.BATCH),
        row("Black", 300, 300, ready=day(3), due=day(5), together=Together.BATCH),
        row("White", 300, 300, job="3102", due=day(1)),
    ]
    plan = planned(rows, dated_room(calendar=calendar()))
    by_job = {(piece.job, plate.batch) for plate in plates(plan) for piece in plate.pieces}
    assert by_job == {("3101", "2027-03-03 early"), ("3102", "2027-03-01 early")}


def test_a_bundle_waits_for_its_last_row() -> None:
    rows = [
        row("Cyan", 100, 100, together=Together.PLATE),
        row("Black", 100, 100, ready=day(4), together=Together.PLATE),
    ]
    assert [plate.batch for plate in plates(planned(rows, dated_room(calendar=calendar())))] == ["2027-03-04 early"]


def test_an_offcut_of_an_earlier_batch_serves_a_later_one_as_a_plate_of_its_sheet() -> None:
    # half a sheet is wanted on Monday, the other half is approved on Wednesday: one sheet, cut once
    at = dated_room(sheet(500, 1000, price=60.0), calendar=calendar())
    rows = [row("Cyan", 500, 500, due=day(1)), row("Black", 500, 500, ready=day(3))]
    plan = planned(rows, at)
    assert plan.totals.sheets == 1
    assert sorted(plate.batch for plate in plates(plan)) == ["2027-03-01 early", "2027-03-03 early"]


def test_without_dates_the_plan_is_the_plain_plan() -> None:
    rows = [row(f"C{n}", 90 + 17 * n, 80 + 23 * n, copies=2) for n in range(6)]
    at = dated_room(calendar=calendar())
    plain = outcome(rows, replace(at, calendar=None)).plan
    on = outcome(rows, at, first_day=MONDAY).plan
    without = replace(
        on, calendar=None,
        sheets=tuple(replace(s, plates=tuple(replace(p, batch="") for p in s.plates)) for s in on.sheets),
    )  # fmt: skip
    assert without == plain


def test_shifting_all_dates_shifts_the_plan() -> None:
    from datetime import timedelta

    at = dated_room(calendar=calendar(plates=2))
    rows = [row(f"C{n}", 260, 260, ready=day(1 + n % 3), due=day(3 + n % 3)) for n in range(8)]
    week = timedelta(days=7)
    later = [replace(one, ready=one.ready + week, due=one.due + week) for one in rows if one.ready and one.due]
    now, then = outcome(rows, at).plan, outcome(later, at).plan
    moved = {batch.id: batch.id.replace(str(batch.start.date()), str(batch.start.date() + week))
             for batch in on_calendar(now).batches}  # fmt: skip
    assert [(moved[a.batch], a.rect) for a in plates(now)] == [(b.batch, b.rect) for b in plates(then)]
    assert now.totals == then.totals


def test_a_calendar_that_ends_leaves_plates_without_a_batch_and_says_so() -> None:
    from datetime import date, time

    from nest.domain.calendar import Calendar, DayChange

    once = Calendar(shifts=(), changes=(DayChange(day=MONDAY, shift="once", start=time(6), end=time(9), plates=1),))
    rows = [row(f"C{n}", 300, 300) for n in range(2)]
    plan = planned(rows, dated_room(calendar=once), first_day=date(2027, 3, 1))
    assert sorted(plate.batch for plate in plates(plan)) == ["", "2027-03-01 once"]
    assert plan.warnings[0].startswith("no batch of the calendar has room for S0")


def test_a_row_no_batch_can_make_is_not_placed() -> None:
    from datetime import time

    from nest.domain.calendar import Calendar, DayChange

    once = Calendar(shifts=(), changes=(DayChange(day=MONDAY, shift="once", start=time(6), end=time(9)),))
    rows = [row("Cyan", 300, 300, ready=day(2)), row("Black", 300, 300)]
    plan = planned(rows, dated_room(calendar=once), first_day=MONDAY)
    assert [(one.separation, one.reason) for one in plan.unplaced] == [
        ("Cyan", "the calendar has no batch after its artwork is ready")
    ]


def test_plates_of_fixed_sheets_keep_their_batch_whatever_is_lost() -> None:
    at = dated_room(calendar=calendar())
    rows = [row("Cyan", 300, 300, due=day(1))]
    plan = planned(rows, at)
    (one,) = plan.sheets
    late = replace(one, plates=tuple(replace(plate, batch="2027-03-03 early") for plate in one.plates))
    assert [p.batch for s in dated((late,), rows, at, MONDAY, fixed={one.id}).sheets for p in s.plates] == [
        "2027-03-03 early"
    ]
    free = dated((late,), rows, at, MONDAY)
    assert [p.batch for s in free.sheets for p in s.plates] == ["2027-03-01 early"]
    assert homeless_warnings(free) == ()


def test_a_fixed_plate_keeps_a_batch_far_behind_the_last_date() -> None:
    at = dated_room(calendar=calendar())
    rows = [row("Cyan", 300, 300, due=day(1))]
    (one,) = planned(rows, at).sheets
    far = replace(one, plates=tuple(replace(plate, batch="2027-05-12 early") for plate in one.plates))
    kept = dated((far,), rows, at, MONDAY, fixed={one.id})
    assert [p.batch for s in kept.sheets for p in s.plates] == ["2027-05-12 early"]
    assert kept.homeless == ()
