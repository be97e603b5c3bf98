from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.intake.samples import IMAGER, INCH_ROOM, MATERIAL, SMALL_ROOM, room_faults, room_of

if TYPE_CHECKING:
    from pathlib import Path

BEVEL_RULE = 'guillotine cutting leaves no bevel; got 30; set bevel_deg to 0, or cutting to "free"'


def test_a_bevel_needs_free_cutting(tmp_path: Path) -> None:
    assert room_faults(tmp_path, "bevel_deg = 30\n" + SMALL_ROOM) == [f"room.toml:1: bevel_deg: {BEVEL_RULE}"]
    assert room_faults(tmp_path, SMALL_ROOM + "bevel_deg = 30\n") == [
        f"room.toml:7: materials.HB170.bevel_deg: {BEVEL_RULE}"
    ]
    assert room_of(tmp_path, 'cutting = "free"\nbevel_deg = 30\n' + SMALL_ROOM).bevel_of("HB170") == 30.0


def test_a_bevel_that_every_material_sets_to_zero_is_in_order(tmp_path: Path) -> None:
    assert room_of(tmp_path, "bevel_deg = 30\n" + SMALL_ROOM + "bevel_deg = 0\n").bevel_of("HB170") == 0.0


def test_a_back_exposed_relief_is_less_than_the_thickness_in_the_rooms_unit(tmp_path: Path) -> None:
    offcut = '[[offcuts]]\nmaterial = "HB170"\nacross = 4\naround = 8\nvalue = 1\nrelief = {}\n'
    assert room_of(tmp_path, SMALL_ROOM + offcut.format(1.69)).offcuts[0].relief == 1.69
    assert room_of(tmp_path, INCH_ROOM + offcut.format(0.066)).offcuts[0].relief == 0.066
    for room, relief in ((SMALL_ROOM, 1.7), (INCH_ROOM, 0.067)):
        (fault,) = room_faults(tmp_path, room + offcut.format(relief))
        assert fault.endswith(
            f"offcuts[1].relief: must be less than the thickness of HB170; got {relief}; "
            "relief is thickness less floor, in the room's unit"
        )


# across 1524 holds tape + image + tape: 2 * 762 leaves nothing; around 1067 holds clamp + image + tape


@pytest.mark.parametrize(
    ("holds", "axis", "most"),
    [
        ("drum_tape = 762", "across", "1524"),
        ("trim = 762", "across", "1524"),
        ("clamp = 1057\ndrum_tape = 10", "around", "1067"),
    ],
)
def test_keep_outs_that_leave_no_image_area_are_a_fault(tmp_path: Path, holds: str, axis: str, most: str) -> None:
    (fault,) = room_faults(tmp_path, IMAGER + holds + "\n" + MATERIAL)
    assert fault == (
        f"room.toml:{2 if axis == 'across' else 3}: imager.max_{axis}: "
        f"the keep-outs leave no image area on the largest plate; got {most}; "
        "check clamp, bar, drum_tape and trim against it"
    )


@pytest.mark.parametrize("holds", ["drum_tape = 500", "clamp = 1056.9\ndrum_tape = 10", "trim = 533"])
def test_keep_outs_that_leave_a_little_are_in_order(tmp_path: Path, holds: str) -> None:
    assert room_of(tmp_path, IMAGER + holds + "\n" + MATERIAL).imager.max_around_mm == 1067.0


def test_holds_that_the_border_may_lie_under_are_not_judged(tmp_path: Path) -> None:
    assert room_of(tmp_path, IMAGER + "clamp = 1100\nborder_under_hold = true\n" + MATERIAL).imager.clamp_mm == 1100.0


def test_a_pin_bar_counts_as_hold_and_a_materials_own_trim_counts_for_it(tmp_path: Path) -> None:
    assert "no image area" in room_faults(tmp_path, SMALL_ROOM + "[stations.s]\nbar = 1067\n")[0]
    assert "no image area" in room_faults(tmp_path, SMALL_ROOM + "trim = 600\n")[0]
    other = "[materials.thin]\nthickness = 1.14\nbase = 0.125\n"
    assert room_of(tmp_path, SMALL_ROOM + "trim = 600\n" + other).trim_of("HB170") == 600.0


def test_holds_are_judged_even_where_no_material_is_in_order(tmp_path: Path) -> None:
    faults = room_faults(tmp_path, IMAGER + "trim = 762\n[materials.M]\nthickness = 1\nbase = 1\n")
    assert [fault.split(": ")[1] for fault in faults] == ["imager.max_across", "materials.M.base"]


def test_a_station_takes_the_imagers_least_plate_in_some_turn(tmp_path: Path) -> None:
    room = IMAGER + "min_across = 300\nmin_around = 200\n" + MATERIAL + "[stations.s]\nmax_a = {}\nmax_b = {}\n"
    assert room_of(tmp_path, room.format(200, 300)).stations[0].max_a_mm == 200.0
    assert room_of(tmp_path, room.format(300, 200)).stations[0].max_a_mm == 300.0
    assert room_faults(tmp_path, room.format(299.9, 1000).replace("1000", "250")) == [
        "room.toml:9: stations.s: takes no plate that the imager can make, or none with any image area; "
        "check max_a and max_b against min_across, min_around and the keep-outs"
    ]
