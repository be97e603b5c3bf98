"""Plans whose batches, dates or lateness are wrong in one place each."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from nest.check.opinion import check_plan
from nest.domain.calendar import LateReason, LateRow
from nest.domain.job import Together
from tests.calendar.shop import calendar, dated_room, day
from tests.packing.shop import imager, planned, row

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room

ROWS = (
    row("Cyan", 300, 300, due=day(1)),
    row("Black", 300, 300, ready=day(2), due=day(4)),
    row("White", 300, 300, job="3102", ready=day(2, 8), due=day(2)),
)
ROOM = dated_room(calendar=calendar(plates=1, late_per_day=24.0, per_batch=7.0), imager=imager(rpm=500.0, beams=10))


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned(ROWS, ROOM)


def broken(plan: Plan, rows: tuple[Row, ...] = ROWS, at: Room = ROOM) -> set[str]:
    return {one.rule for one in check_plan(plan, rows, at)}


def with_calendar(plan: Plan, **changes: Any) -> Plan:
    assert plan.calendar is not None
    return replace(plan, calendar=replace(plan.calendar, **changes))


def moved(plan: Plan, separation: str, batch: str) -> Plan:
    """Return the plan with the plate of a separation put into another batch."""
    sheets = tuple(
        replace(sheet, plates=tuple(
            replace(plate, batch=batch) if plate.pieces[0].separation == separation else plate
            for plate in sheet.plates
        ))
        for sheet in plan.sheets
    )  # fmt: skip
    return replace(plan, sheets=sheets)


def test_the_plan_itself_holds(plan: Plan) -> None:
    assert plan.calendar is not None
    assert [(one.separation, one.batch) for one in plan.calendar.late] == [("White", "2027-03-03 early")]
    assert broken(plan) == set()


def test_a_batch_that_the_plan_does_not_name_is_found(plan: Plan) -> None:
    assert "batch" in broken(moved(plan, "Cyan", "2027-03-09 early"))
    assert "batch" in broken(replace(plan, calendar=None))
    assert "calendar" in broken(plan, at=replace(ROOM, calendar=None))


@pytest.mark.parametrize(
    "changes",
    [
        {"id": "2027-03-01 night"},
        {"id": "early"},
        {"start": datetime(2027, 3, 1, 7)},
        {"end": datetime(2027, 3, 1, 13)},
        {"plates": 2},
        {"minutes": 400.0},
    ],
)
def test_a_batch_the_room_does_not_have_is_found(plan: Plan, changes: dict[str, Any]) -> None:
    assert plan.calendar is not None
    first, *others = plan.calendar.batches
    other = with_calendar(plan, batches=(replace(first, **changes), *others))
    assert "batch" in broken(moved(other, "Cyan", changes["id"]) if "id" in changes else other)


def test_a_batch_twice_and_a_closed_one_are_found(plan: Plan) -> None:
    from nest.domain.calendar import DayChange

    assert plan.calendar is not None
    assert "batch" in broken(with_calendar(plan, batches=(plan.calendar.batches[0], *plan.calendar.batches)))
    assert ROOM.calendar is not None
    closed = replace(ROOM.calendar, changes=(DayChange(day=day(1).date(), closed=True),))
    assert "batch" in broken(plan, at=replace(ROOM, calendar=closed))


def test_more_plates_than_a_batch_holds_are_found(plan: Plan) -> None:
    assert "batch-plates" in broken(moved(plan, "Black", "2027-03-03 early"))


def test_more_minutes_than_a_batch_has_are_found(plan: Plan) -> None:
    assert ROOM.calendar is not None
    assert plan.calendar is not None
    short = replace(ROOM.calendar, shifts=tuple(replace(s, minutes=9.0) for s in ROOM.calendar.shifts))
    other = with_calendar(plan, batches=tuple(replace(b, minutes=9.0) for b in plan.calendar.batches))
    # 500 mm at 2540 ppi, 10 beams, 500 rpm take 10 min
    assert broken(other, at=replace(ROOM, calendar=short)) == {"batch-minutes"}
    enough = replace(ROOM.calendar, shifts=tuple(replace(s, minutes=10.0) for s in ROOM.calendar.shifts))
    other = with_calendar(plan, batches=tuple(replace(b, minutes=10.0) for b in plan.calendar.batches))
    assert broken(other, at=replace(ROOM, calendar=enough)) == set()


def test_a_piece_made_before_its_artwork_is_ready_is_found(plan: Plan) -> None:
    assert "batch-ready" in broken(moved(plan, "Black", "2027-03-01 early"))


def test_rows_of_one_batch_in_two_are_found(plan: Plan) -> None:
    rows = tuple(replace(one, together=Together.BATCH) if one.job == "3101" else one for one in ROWS)
    assert "together-batch" in broken(plan, rows)


def test_lateness_is_told_in_full_and_nothing_else(plan: Plan) -> None:
    assert plan.calendar is not None
    (late,) = plan.calendar.late
    assert {"late", "lateness"} & broken(with_calendar(plan, late=())) == {"late"}
    wrong: tuple[dict[str, Any], ...] = (
        {"days": late.days + 0.01}, {"cost": late.cost + 0.02}, {"copies": 2}, {"batch": "2027-03-02 early"}
    )  # fmt: skip
    for changes in wrong:
        assert "late" in broken(with_calendar(plan, late=(replace(late, **changes),)))
    more = LateRow(
        job="3101", separation="Cyan", part="", copies=1, batch="2027-03-01 early", mountable=day(2), due=day(1),
        days=1.0, cost=24.0, reason=LateReason.FULL,
    )  # fmt: skip
    assert "late" in broken(with_calendar(plan, late=(more, late)))
    assert broken(with_calendar(plan, lateness=plan.calendar.lateness + 1)) == {"lateness"}
    assert broken(with_calendar(plan, least_lateness=plan.calendar.lateness + 1)) == {"lateness-bound"}
    assert broken(with_calendar(plan, opened=14.0)) == {"batch-cost"}


def test_a_later_due_date_makes_it_early_enough(plan: Plan) -> None:
    rows = tuple(replace(one, due=one.due + timedelta(days=5)) if one.due else one for one in ROWS)
    assert broken(plan, rows) == {"late", "lateness", "lateness-bound"}
