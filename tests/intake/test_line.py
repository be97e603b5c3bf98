from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING

import pytest

from nest.domain.line import (
    USUAL_LINE,
    USUAL_ROOM_LINE,
    Attendance,
    BackTime,
    Hours,
    Step,
    StepTimes,
)
from tests.intake.samples import IMAGER, INCH_ROOM, MATERIAL, SMALL_ROOM, room_faults, room_of

if TYPE_CHECKING:
    from pathlib import Path


def faults(folder: Path, text: str) -> list[str]:
    return [fault.split(": ", 1)[1] for fault in room_faults(folder, text)]


def test_a_room_without_a_line_has_the_usual_one_and_says_so(tmp_path: Path) -> None:
    line = room_of(tmp_path, SMALL_ROOM).line
    assert line == USUAL_ROOM_LINE
    assert not line.stated
    stated = room_of(tmp_path, SMALL_ROOM + "[line]\noperators = 2\n").line
    assert stated.steps == USUAL_LINE
    assert (stated.operators, stated.stated) == (2, True)


def test_steps_stand_in_file_order_with_usual_times_where_none_are_given(tmp_path: Path) -> None:
    text = SMALL_ROOM + (
        '[line]\noperator_hours = [{from = "06:00", to = "14:30"}]\n'
        '[[line.steps]]\nname = "imaging"\n[[line.steps]]\nname = "back_exposure"\n'
        '[[line.steps]]\nname = "washout"\nspeed = 150\noperator = "BOTH"\noperator_minutes = 2\n'
        '[[line.steps]]\nname = "rest"\nstation = "rack"\nminutes = 480\noperator = "none"\n'
    )
    line = room_of(tmp_path, text).line
    assert line.operator_hours == (Hours(start=time(6), end=time(14, 30)),)
    assert line.steps == (
        Step(name="imaging", station="imager"),
        Step(name="back_exposure", station="exposure", minutes=1.0),
        Step(name="washout", station="washer", speed_mm=150.0, operator=Attendance.BOTH, operator_minutes=2.0),
        Step(name="rest", station="rack", minutes=480.0, operator=Attendance.NONE),
    )
    assert line.step("rest") is line.steps[3]
    assert line.step("drying") is None


def test_speeds_and_areas_follow_the_rooms_unit(tmp_path: Path) -> None:
    text = INCH_ROOM + '[[line.steps]]\nname = "washout"\nspeed = 6\nminutes_per_sqft = 1\n'
    step = room_of(tmp_path, text).line.steps[0]
    assert step.speed_mm == pytest.approx(152.4)
    assert step.minutes_per_m2 == pytest.approx(10.763910)  # 1 m2 = 10.763910 sq ft
    assert step.minutes == 0.0


def test_stations_and_imager_take_what_the_line_needs(tmp_path: Path) -> None:
    text = IMAGER + (
        "rpm = 300\nresolution = 4000\nload_gap = 20\nload_minutes = 6\nshare_turn = false\nslow_rpm = 150\n"
        "slow_cover = 0.3\nslow_thickness = 3.9\n"
    ) + MATERIAL + "[stations.dryer]\ncount = 2\nplaces = 10\nstart_together = true\n"
    room = room_of(tmp_path, text)
    one = room.imager
    assert (one.resolution, one.load_gap_mm, one.load_minutes, one.share_turn) == (4000.0, 20.0, 6.0, False)
    assert (one.slow_rpm, one.slow_cover, one.slow_thickness_mm) == (150.0, 0.3, 3.9)
    assert (room.stations[0].count, room.stations[0].places, room.stations[0].start_together) == (2, 10, True)


def test_materials_have_their_own_times_reliefs_and_back_exposures(tmp_path: Path) -> None:
    text = SMALL_ROOM + (
        "relief = 0.5\nback_exposures = [{relief = 0.5, seconds = 25}, {relief = 0.6, seconds = 18.5}]\n"
        "[materials.HB170.times]\nwashout = {speed = 120}\ndrying = {minutes = 180}\n"
    )
    material = room_of(tmp_path, text).materials["HB170"]
    assert material.relief == 0.5
    assert material.back_exposures == (BackTime(relief=0.5, seconds=25.0), BackTime(relief=0.6, seconds=18.5))
    assert material.times == {"washout": StepTimes(speed_mm=120.0), "drying": StepTimes(minutes=180.0)}


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[[line.steps]]\nstation = "x"\n', "line.steps[1]: the required key 'name' is missing; add it"),
        ('[[line.steps]]\nname = "rest"\n', "line.steps[1].name: a step of your own needs a time; got 'rest'; give "
                                            "minutes, minutes_per_m2 or speed; steps with usual times: "),
        ('[[line.steps]]\nname = "detack"\n[[line.steps]]\nname = "detack"\n',
         "line.steps[2].name: each step comes once; got 'detack'; give it another name"),
        ('[[line.steps]]\nname = "imaging"\nminutes = 4\n', "line.steps[1].minutes: imaging times come from [imager]: "
                                                          "rpm, beams, resolution, load_minutes; got 4; remove it"),
        ('[[line.steps]]\nname = "imaging"\nstation = "drum"\n',
         "line.steps[1].station: imaging is done at station 'imager'; got 'drum'; remove it"),
        ('[[line.steps]]\nname = "washout"\n[[line.steps]]\nname = "cutting"\n',
         "line.steps[1].name: only back_exposure can come before cutting; got 'washout'; move it behind cutting"),
        ("[line]\nsteps = []\n", "line.steps: must hold at least one step; leave it out for the usual steps"),
        ("[line]\noperators = 0\n", "line.operators: must be 1 or more; got 0; correct the figure"),
        ('[line]\noperator_hours = [{from = "06:00", to = "06:00"}]\n',
         "line.operator_hours[1].to: must differ from 'from'; got '06:00'; write it like \"06:00\""),
        ('[[line.steps]]\nname = "washout"\noperator = "always"\n',
         "line.steps[1].operator: must be one of none, start, end, both, throughout; got 'always'; "),
        ('[[line.steps]]\nname = "washout"\nminutes_per_m2 = 1\nminutes_per_sqft = 1\n',
         "line.steps[1].minutes_per_sqft: must not be given beside minutes_per_m2; got 1; keep one of the two"),
        ("[materials.HB170.times]\nwash = {minutes = 2}\n",
         "materials.HB170.times.wash: no such step in [line]; got 'wash'; did you mean 'washout'?"),
        ("[materials.HB170.times]\nimaging = {minutes = 2}\n",
         "materials.HB170.times.imaging: imaging times come from [imager]; remove it"),
        ("relief = 1.7\n", "materials.HB170.relief: must be less than the thickness of HB170; got 1.7; relief is "),
        ("back_exposures = [{relief = 0.5, seconds = 1}, {relief = 0.5, seconds = 2}]\n",
         "materials.HB170.back_exposures[2].relief: each relief comes once; got 0.5; remove one"),
        ("[stations.dryer]\nplaces = 0\n", "stations.dryer.places: must be 1 or more; got 0; correct the figure"),
    ],
)  # fmt: skip
def test_each_fault_of_a_line_is_told_with_what_to_do(tmp_path: Path, text: str, fault: str) -> None:
    found = faults(tmp_path, SMALL_ROOM + text)
    assert len(found) == 1
    assert found[0].startswith(fault)


def test_the_slow_drum_is_not_faster_and_its_limits_need_it(tmp_path: Path) -> None:
    assert faults(tmp_path, IMAGER + "rpm = 300\nslow_rpm = 301\n" + MATERIAL) == [
        "imager.slow_rpm: must be at most rpm (300); got 301; correct one of the two"
    ]
    assert faults(tmp_path, IMAGER + "slow_cover = 0.2\n" + MATERIAL) == [
        "imager.slow_cover: says when the drum runs at slow_rpm, which is missing; got 0.2; add slow_rpm"
    ]
