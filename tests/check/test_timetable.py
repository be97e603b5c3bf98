"""The check on timetables finds each fault that is put into one."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time
from typing import TYPE_CHECKING

import pytest

from nest.calendar.timetable import When, make_timetable
from nest.check.timetable import check_timetable
from nest.domain.line import Hours, Line
from nest.domain.room import Station
from tests.calendar.line_plans import hand_plan, line_room, rows_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from nest.domain.timetable import Timetable, Visit

PLAN = hand_plan([("QF170", 300.0, 400.0), ("QF170", 420.0, 600.0), ("QF284", 600.0, 900.0)], cut=True)
EXPOSURE = Station(name="exposure", max_a_mm=900.0, max_b_mm=1200.0, places=3, start_together=True)
ROOM = line_room(replace(Line(), operator_hours=(Hours(start=time(6), end=time(20)),)), (EXPOSURE,))
ROWS = rows_of(PLAN)
TABLE = make_timetable(PLAN, ROOM, ROWS, When(start=datetime(2027, 3, 1, 6)), 0.05)


def with_visit(table: Timetable, plate: int, step: str, change: Callable[[Visit], Visit]) -> Timetable:
    """Return a timetable with one stay changed."""
    own = table.plates[plate]
    visits = tuple(change(visit) if visit.step == step else visit for visit in own.visits)
    plates = (*table.plates[:plate], replace(own, visits=visits), *table.plates[plate + 1 :])
    return replace(table, plates=plates)


def rules(table: Timetable) -> set[str]:
    return {violation.rule for violation in check_timetable(table, PLAN, ROWS, ROOM)}


def moved(by: float) -> Callable[[Visit], Visit]:
    return lambda visit: replace(visit, start=visit.start + by, end=visit.end + by)


def test_a_sound_timetable_has_no_fault() -> None:
    assert check_timetable(TABLE, PLAN, ROWS, ROOM) == ()


@pytest.mark.parametrize(
    ("rule", "table"),
    [
        ("plates", replace(TABLE, plates=TABLE.plates[1:])),
        ("order", with_visit(TABLE, 0, "main_exposure", moved(-1000.0))),
        ("order", with_visit(TABLE, 0, "washout", lambda visit: replace(visit, station="dryer"))),
        ("length", with_visit(TABLE, 0, "drying", lambda visit: replace(visit, end=visit.end - 1.0))),
        ("length", with_visit(TABLE, 0, "imaging", lambda visit: replace(visit, end=visit.end - 0.5))),
        ("machines", with_visit(TABLE, 0, "washout", lambda visit: replace(visit, machine=2))),
        ("hours", with_visit(TABLE, 0, "inspection", lambda visit: replace(visit, tended=((900.0, 901.0),)))),
        ("makespan", replace(TABLE, makespan=TABLE.makespan - 1.0)),
        ("makespan", replace(TABLE, bound=TABLE.makespan + 1.0)),
        ("drum", replace(TABLE, loads=(replace(TABLE.loads[0], plates=tuple(
            replace(one, axial_mm=one.axial_mm + 1000.0) for one in TABLE.loads[0].plates)), *TABLE.loads[1:]))),
        ("minutes", replace(TABLE, loads=(replace(TABLE.loads[0], imaging_minutes=1.0), *TABLE.loads[1:]))),
    ],
)  # fmt: skip
def test_each_fault_is_found(rule: str, table: Timetable) -> None:
    assert rule in rules(table)


def test_two_plates_in_a_machine_for_one_are_found() -> None:
    first = next(visit for visit in TABLE.plates[0].visits if visit.step == "washout")
    both = with_visit(TABLE, 1, "washout", lambda visit: replace(
        visit, start=first.start, end=first.start + visit.end - visit.start, tended=()))  # fmt: skip
    assert "capacity" in rules(both)


def test_more_tended_at_once_than_operators_is_found() -> None:
    span = next(visit for visit in TABLE.plates[0].visits if visit.step == "cutting").tended
    assert "capacity" in rules(with_visit(TABLE, 1, "drying", lambda visit: replace(visit, tended=span)))


def test_plates_too_near_each_other_or_too_unlike_are_found() -> None:
    loads = [load for load in TABLE.loads if len(load.plates) == 2]
    assert loads
    a, b = loads[0].plates
    near = replace(loads[0], plates=(a, replace(b, axial_mm=a.axial_mm, turn_mm=a.around_mm + 14.9)))
    assert "gap" in rules(replace(TABLE, loads=(near, *(one for one in TABLE.loads if one is not loads[0]))))
    one = replace(loads[0], plates=tuple(plate for load in TABLE.loads for plate in load.plates))
    assert "thickness" in rules(replace(TABLE, loads=(one,)))


def test_goes_of_a_bed_that_overlap_are_found() -> None:
    first = next(visit for visit in TABLE.plates[0].visits if visit.step == "post_exposure")
    table = with_visit(TABLE, 2, "post_exposure", lambda visit: replace(
        visit, start=first.start + 1.0, end=first.end + 1.0, company=()))  # fmt: skip
    assert "together" in rules(table)
