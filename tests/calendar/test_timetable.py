"""Timetables of hand-made plans: worked examples of the trade, every limit of the line, figures, repetition."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, time
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.calendar.timetable import When, make_timetable
from nest.check.timetable import check_timetable
from nest.domain.line import Attendance, BackTime, Hours, Line, Step, StepTimes
from nest.domain.plan import Edge, Rest
from nest.domain.room import Offcut, Room, Station
from nest.errors import InputError
from tests.calendar.line_plans import IMAGER, THICK, THIN, Size, hand_plan, invented_sizes, line_room, rows_of

if TYPE_CHECKING:
    from nest.domain.plan import Plan
    from nest.domain.timetable import Timetable, Visit

MONDAY = datetime(2027, 3, 1, 6)
ALONE = Attendance.NONE


def line_of(*steps: tuple[str, str, float], operator: Attendance = ALONE, **more: object) -> Line:
    return Line(
        steps=tuple(Step(name=name, station=at, minutes=minutes, operator=operator) for name, at, minutes in steps),
        **more,  # type: ignore[arg-type]
    )


def checked(plan: Plan, room: Room, when: When | None = None, effort: float = 0.05) -> Timetable:
    """Return a timetable that the independent check finds no fault with."""
    table = make_timetable(plan, room, rows_of(plan), when or When(), effort)
    assert check_timetable(table, plan, rows_of(plan), room) == ()
    return table


def stays(table: Timetable, step: str) -> dict[str, Visit]:
    return {plate.plate: visit for plate in table.plates for visit in plate.visits if visit.step == step}


# ---- worked examples ----


@pytest.mark.parametrize(("drying", "minutes"), [(10.0, 43.5), (15.0, 48.5)])
def test_a_water_washed_plate_takes_the_common_time_behind_its_imaging(drying: float, minutes: float) -> None:
    # common practice: 1.5 back, 10 main, 12 wash-out, 10 to 15 drying, 5 post, 5 detack; one plate, stations free
    line = line_of(
        ("back_exposure", "exposure", 1.5), ("imaging", "imager", 0.0), ("main_exposure", "exposure", 10.0),
        ("washout", "washer", 12.0), ("drying", "dryer", drying), ("post_exposure", "exposure", 5.0),
        ("detack", "detack", 5.0),
    )  # fmt: skip
    table = checked(hand_plan([("QF170", 900.0, 1200.0)]), line_room(line))
    (load,) = table.loads
    assert load.minutes == 5.0 + 9.375
    assert table.makespan == pytest.approx(minutes + load.minutes)
    assert table.bound == table.makespan


def test_the_usual_line_takes_the_chain_of_a_solvent_washed_plate() -> None:
    # derived from usual times: 9.375 image + 1 back + 12 main + 8 wash + 120 dry + 8 post + 8 detack = 166.375 min
    line = Line(steps=tuple(step for step in Line().steps if step.name not in ("cutting", "inspection")))
    table = checked(hand_plan([("QF170", 900.0, 1200.0)]), line_room(line, (), replace(IMAGER, load_minutes=0.0)))
    assert table.makespan == pytest.approx(166.375)
    assert table.gap == 0.0


def test_a_conveyor_washer_takes_the_length_by_its_speed() -> None:
    # derived: 1200 mm at 150 mm/min = 8.0 min
    line = Line(steps=(Step(name="washout", station="washer", speed_mm=150.0, operator=ALONE),))
    assert checked(hand_plan([("QF170", 900.0, 1200.0)]), line_room(line)).makespan == 8.0


# ---- stations ----


def test_a_drawer_for_three_exposures_takes_them_one_after_another() -> None:
    minutes = {"back_exposure": 1.0, "main_exposure": 10.0, "post_exposure": 5.0}
    line = line_of(*((step, "drawer", long) for step, long in minutes.items()))
    table = checked(hand_plan([("QF170", 300.0, 400.0)] * 3), line_room(line))
    assert (table.makespan, table.bound) == (48.0, 48.0)
    assert (table.bottleneck, table.uses[0].share) == ("drawer", 1.0)


def test_plates_of_a_bed_start_together_as_far_as_its_area_goes() -> None:
    line = line_of(("main_exposure", "exposure", 10.0))
    bed = Station(name="exposure", max_a_mm=900.0, max_b_mm=1200.0, places=9, start_together=True)
    plan = hand_plan([("QF170", 450.0, 1200.0)] * 2 + [("QF170", 450.0, 1201.0)])
    table = checked(plan, line_room(line, (replace(bed, max_b_mm=1201.0),)))
    assert table.makespan == 20.0
    company = stays(table, "main_exposure")
    assert sorted(len(visit.company) for visit in company.values()) == [0, 1, 1]
    # two places only, whatever the area
    small = hand_plan([("QF170", 300.0, 300.0)] * 3)
    assert checked(small, line_room(line, (replace(bed, places=2),))).makespan == 20.0
    assert checked(small, line_room(line, (replace(bed, places=3),))).makespan == 10.0


def test_equal_machines_and_places_work_side_by_side() -> None:
    line = line_of(("drying", "dryer", 30.0))
    plan = hand_plan([("QF170", 300.0, 400.0)] * 6)
    assert checked(plan, line_room(line)).makespan == 30.0  # a dryer has ten drawers unless the room says otherwise
    two = checked(plan, line_room(line, (Station(name="dryer", count=2),)))
    assert two.makespan == 90.0
    assert {visit.machine for visit in stays(two, "drying").values()} == {1, 2}
    assert checked(plan, line_room(line, (Station(name="dryer", places=6),))).makespan == 30.0
    beds = Station(name="dryer", count=2, places=6, max_a_mm=600.0, max_b_mm=400.0)
    assert checked(plan, line_room(line, (beds,))).makespan == 60.0


def test_times_come_by_material_and_relief() -> None:
    line = line_of(("back_exposure", "exposure", 1.0), ("washout", "washer", 8.0))
    thin = replace(THIN, back_exposures=(BackTime(relief=0.5, seconds=42.0), BackTime(relief=0.6, seconds=30.0)))
    thick = replace(THICK, times={"washout": StepTimes(minutes=1.0, minutes_per_m2=10.0)})
    room = replace(line_room(line), materials={"QF170": thin, "QF284": thick})
    plan = hand_plan([("QF170", 500.0, 1000.0), ("QF284", 500.0, 1000.0)])
    table = checked(plan, room)
    back, wash = stays(table, "back_exposure"), stays(table, "washout")
    assert [round(60 * (back[name].end - back[name].start)) for name in ("S01-A", "S02-A")] == [42, 60]
    assert [round(wash[name].end - wash[name].start, 4) for name in ("S01-A", "S02-A")] == [8.0, 6.0]
    rows = tuple(replace(row, relief=0.6) for row in rows_of(plan))
    other = make_timetable(plan, room, rows, When(), 0.05)
    assert stays(other, "back_exposure")["S01-A"].end - stays(other, "back_exposure")["S01-A"].start == 0.5


def test_an_offcut_that_was_exposed_before_is_not_exposed_again() -> None:
    room = line_room(line_of(("back_exposure", "exposure", 1.0), ("washout", "washer", 8.0)))
    plan = hand_plan([("QF170", 500.0, 1000.0)])
    ref = plan.sheets[0].source.ref
    from nest.domain.plan import Source, SourceKind

    exposed = Offcut(id=ref, material="QF170", across_mm=500.0, around_mm=1000.0, value=1.0, relief=0.5)
    sheet = replace(plan.sheets[0], source=Source(kind=SourceKind.OFFCUT, ref=ref))
    table = checked(replace(plan, sheets=(sheet,)), replace(room, offcuts=(exposed,)))
    assert stays(table, "back_exposure") == {}
    assert any(note == "already back-exposed, so not again: S01-A" for note in table.notes)


def test_what_stands_before_cutting_is_done_on_the_whole_sheet() -> None:
    line = line_of(("back_exposure", "exposure", 4.0), ("cutting", "table", 3.0), ("washout", "washer", 8.0))
    plan = hand_plan([("QF170", 500.0, 1000.0)], cut=True)
    sheet = plan.sheets[0]
    halves = tuple(
        replace(sheet.plates[0], id=f"S01-{name}", rect=replace(sheet.plates[0].rect, y=y, h=500.0), lead=Edge.Y0)
        for name, y in (("A", 0.0), ("B", 500.0))
    )
    two = replace(plan, sheets=(replace(sheet, plates=halves, around_mm=1000.0),))
    table = checked(two, line_room(line))
    back, cut = stays(table, "back_exposure"), stays(table, "cutting")
    assert (back["S01-A"], back["S01-A"].company) == (replace(back["S01-B"], company=("S01-B",)), ("S01-B",))
    assert (back["S01-A"].end, cut["S01-A"].start, cut["S01-A"].end) == (4.0, 4.0, 7.0)
    assert table.makespan == 23.0
    rest = Rest(id="S01-R1", rect=halves[0].rect, kept=True, credit=1.0)
    kept = replace(two, sheets=(replace(two.sheets[0], rests=(rest,)),))
    apart = checked(kept, line_room(line))
    assert stays(apart, "back_exposure")["S01-A"].company == ()
    assert apart.notes == (
        "sheet S01 is back-exposed after cutting, plate by plate: a rest of it goes back to the store, and must stay "
        "unexposed",
    )


# ---- operators ----


def test_one_operator_tends_one_thing_at_a_time() -> None:
    line = line_of(("inspection", "bench", 5.0), operator=Attendance.THROUGHOUT)
    benches = (Station(name="bench", count=3),)
    plan = hand_plan([("QF170", 300.0, 400.0)] * 3)
    assert checked(plan, line_room(line, benches)).makespan == 15.0
    assert checked(plan, line_room(replace(line, operators=3), benches)).makespan == 5.0


def test_operators_hours_stop_what_needs_them_and_nothing_else() -> None:
    line = Line(
        steps=(Step(name="washout", station="washer", minutes=30.0, operator_minutes=30.0),
               Step(name="drying", station="dryer", minutes=600.0, operator=ALONE),
               Step(name="inspection", station="bench", minutes=5.0, operator=Attendance.THROUGHOUT)),
        operator_hours=(Hours(start=time(6), end=time(14)),),
    )  # fmt: skip
    plan = hand_plan([("QF170", 300.0, 400.0)])
    table = checked(plan, line_room(line), When(start=MONDAY))
    # dry at 16:30, when nobody is there: inspected next morning
    assert (stays(table, "drying")["S01-A"].end, stays(table, "inspection")["S01-A"].start) == (630.0, 1440.0)
    assert table.makespan == 1445.0
    late = checked(plan, line_room(line), When(start=datetime(2027, 3, 1, 13, 45)))
    assert stays(late, "washout")["S01-A"].start == 16 * 60 + 15.0  # not begun before 06:00


def test_hours_that_are_too_short_for_a_step_are_an_input_error() -> None:
    line = line_of(("inspection", "bench", 50.0), operator=Attendance.THROUGHOUT,
                   operator_hours=(Hours(start=time(6), end=time(6, 30)),))  # fmt: skip
    plan = hand_plan([("QF170", 300.0, 400.0)])
    with pytest.raises(InputError) as caught:
        make_timetable(plan, line_room(line), rows_of(plan), When(), 0.05, "out/inputs.json")
    assert str(caught.value).startswith(
        "out/inputs.json: line.operator_hours: step inspection of plate S01-A takes 50 min and finds no operator on "
        "any day when it needs one; lengthen the hours"
    )


# ---- batches, figures, repetition ----


def test_only_the_plates_of_a_batch_are_timed_and_late_ones_are_named() -> None:
    plan = hand_plan([("QF170", 300.0, 400.0)] * 4, batches=("mon", "mon", "tue", "mon"))
    room = line_room(line_of(("washout", "washer", 30.0)))
    end = datetime(2027, 3, 1, 7)
    table = checked(plan, room, When(batch="mon", start=MONDAY, end=end))
    assert [plate.plate for plate in table.plates] == ["S01-A", "S02-A", "S04-A"]
    assert len(table.late()) == 1
    assert table.late()[0].ready == 90.0
    assert make_timetable(plan, room, rows_of(plan), When(batch="mon", start=MONDAY), 0.05).late() == ()
    with pytest.raises(ValueError, match="batch wed has no plates"):
        make_timetable(plan, room, rows_of(plan), When(batch="wed"), 0.05)


def test_what_the_room_leaves_out_is_said() -> None:
    room = Room(imager=replace(IMAGER, rpm=None, beams=None), materials={"QF170": THIN})
    table = checked(hand_plan([("QF170", 900.0, 1200.0)]), room)
    assert table.loads[0].imaging_minutes == 9.375
    assert table.notes == (
        "the room states no [line]: usual steps and times are assumed, and one operator",
        "the room does not state imager.rpm and imager.beams: 300 rpm and 32 beams are assumed",
    )


def test_the_same_plan_gives_the_same_timetable_whatever_the_day() -> None:
    plan = hand_plan(invented_sizes(8, 1), cut=True)
    first, again = (checked(plan, line_room(Line()), When(start=MONDAY)) for _ in range(2))
    assert first == again
    other = checked(plan, line_room(Line()), When(start=datetime(2027, 6, 9, 13, 30)))
    assert replace(other, start=MONDAY) == first


@st.composite
def rooms(draw: st.DrawFn) -> Room:
    """Rooms with lines of every kind."""
    steps = [
        Step(name=name, station=draw(st.sampled_from(stations)), minutes=draw(st.sampled_from([1.0, 7.5, 20.0])),
             operator=draw(st.sampled_from(list(Attendance))), operator_minutes=draw(st.sampled_from([0.5, 2.0])))
        for name, stations in (("cutting", ["table"]), ("back_exposure", ["drawer", "other"]),
                               ("main_exposure", ["drawer"]), ("washout", ["washer"]), ("post_exposure", ["drawer"]))
    ]  # fmt: skip
    steps.insert(draw(st.integers(1, 3)), Step(name="imaging", station="imager"))
    if draw(st.booleans()):
        steps[0], steps[1] = steps[1], steps[0]
    if steps[0].name != "back_exposure":
        steps.sort(key=lambda step: step.name != "cutting")
    drawer = Station(name="drawer", max_a_mm=900.0, max_b_mm=1300.0, places=draw(st.integers(1, 4)),
                     count=draw(st.integers(1, 2)), start_together=draw(st.booleans()))  # fmt: skip
    hours = draw(st.sampled_from([(), (Hours(start=time(6), end=time(14)),), (Hours(start=time(22), end=time(7)),)]))
    line = Line(steps=tuple(steps), operators=draw(st.integers(1, 2)), operator_hours=hours)
    return line_room(line, (drawer, Station(name="washer", count=draw(st.integers(1, 2)))))


SIZES = st.tuples(st.sampled_from(["QF170", "QF284"]), st.sampled_from([300.0, 600.0, 900.0]),
                  st.sampled_from([400.0, 700.0, 1200.0]))  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(rooms(), st.lists(SIZES, min_size=1, max_size=6), st.booleans())
def test_no_timetable_breaks_the_line_the_drum_or_the_operators(room: Room, sizes: list[Size], cut: bool) -> None:
    checked(hand_plan(sizes, cut=cut), room, When(start=MONDAY), effort=0.02)
