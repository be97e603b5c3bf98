"""The check's own piece arithmetic, against the worked cases of trade geometry.

The shortening cases are derived from geometry (base film of fixed length, neutral at its upper face); NV Publications'
Q&A on plate stretch gives the direction. Gear pitches: "CP Versus DP: Understanding the Differences", FlexoExchange.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from nest.check.pieces import Wanted, factor_of, states_relief, stretch_of, wanted_of
from nest.domain.job import Row, Turn
from nest.domain.room import Material, Room
from tests.check.plans import plate_room, row

INCH = 25.4


def room_of(thickness: float, base: float | None, **more: Any) -> Room:
    return plate_room(materials={"HB170": Material(name="HB170", thickness_mm=thickness, base_mm=base, **more)})


def wanted(of: Row, room: Room) -> Wanted:
    found = wanted_of(of, room)
    assert isinstance(found, Wanted)
    return found


@pytest.mark.parametrize(
    ("case", "repeat", "thickness", "base", "k", "factor"),
    [
        # derived; NV Publications' Q&A on plate stretch for the direction
        ("A: 96 teeth of 1/8 in", 12 * INCH, 0.067 * INCH, 0.005 * INCH, 0.389557 * INCH, 0.9675369),
        ("A7: base 0.007 in", 12 * INCH, 0.067 * INCH, 0.007 * INCH, 0.376991 * INCH, 0.9685841),
        ("B: 64 teeth of 10 DP", 64 * math.pi / 10 * INCH, 0.107 * INCH, 0.007 * INCH, 0.628319 * INCH, 0.96875),
        ("C: 40 teeth of module 5", 628.318531, 1.14, 0.127, 6.364867, 0.98987),
        ("D: corrugated", 1600.0, 6.35, 0.178, 38.779820, 0.9757626),
        ("E: metric", 500.0, 1.70, 0.125, 9.896017, 0.9802080),
    ],
)
def test_shortening_agrees_with_the_worked_cases(
    case: str, repeat: float, thickness: float, base: float, k: float, factor: float
) -> None:
    room = room_of(thickness, base)
    one = row("1", "K", 200.0, 300.0, repeat_mm=repeat, at_plate_size=False)
    assert stretch_of(one, room) == pytest.approx(k, abs=2e-5), case
    assert factor_of(one, room) == pytest.approx(factor, abs=5e-8), case


def test_a_measured_k_takes_the_place_of_thickness_and_base() -> None:
    # Case A0: K = 2*pi*T without base-film credit is the simple variant of NV Publications' Q&A.
    room = room_of(0.067 * INCH, None, k_mm=0.420973 * INCH)
    one = row("1", "K", 200.0, 304.8, repeat_mm=304.8, at_plate_size=False)
    assert factor_of(one, room) == pytest.approx(0.9649189, abs=5e-8)
    assert wanted(one, room).image_h == pytest.approx(294.1073, abs=1e-4)


def test_the_packing_rule_gives_210_by_304_9052() -> None:
    # 304.8 * 0.9675369 = 294.9052, plus two borders of 5 mm; across 200 + 10 (derived).
    one = row("1", "K", 200.0, 304.8, repeat_mm=304.8, at_plate_size=False)
    found = wanted(one, room_of(0.067 * INCH, 0.005 * INCH))
    assert (found.w, found.h) == (210.0, 304.9052)
    assert (found.image_w, found.image_h) == (200.0, 294.9052)


def test_case_c_shortens_600_to_593_922() -> None:
    one = row("1", "K", 200.0, 600.0, repeat_mm=628.318531, at_plate_size=False)
    assert wanted(one, room_of(1.14, 0.127)).image_h == pytest.approx(593.922, abs=1e-4)


def test_a_full_wrap_is_repeat_less_k_less_seam() -> None:
    # R 24 in, opening 0.125 in, T 0.067, B 0.005: 23.485443 in (derived).
    from dataclasses import replace

    room = replace(room_of(0.067 * INCH, 0.005 * INCH), seam_mm=0.125 * INCH)
    one = row("1", "K", 200.0, 304.8, repeat_mm=24 * INCH, at_plate_size=False)
    limit = wanted(one, room).wrap_limit
    assert limit is not None
    assert limit / INCH == pytest.approx(23.485443, abs=1e-6)


def test_sizes_at_plate_size_are_not_shortened_but_keep_their_wrap_limit() -> None:
    found = wanted(row("1", "K", 200.0, 290.0, repeat_mm=500.0), plate_room())
    assert found.h == 300.0
    # 500 - 9.896017 - 2
    assert found.wrap_limit == pytest.approx(488.103983, abs=1e-6)


def test_a_bevel_widens_every_side_by_t_tan_a() -> None:
    # T 1.70 at 45 degrees adds 1.70 a side (derived): 200 + 10 + 3.4, the image starts at 5 + 1.7.
    found = wanted(row("1", "K", 200.0, 290.0), room_of(1.70, 0.125, bevel_deg=45.0))
    assert (found.w, found.h) == (213.4, 303.4)
    assert (found.image_x, found.image_y) == (6.7, 6.7)
    assert found.least_border == 5.0


def test_borders_come_from_the_row_then_the_material_then_the_room() -> None:
    room = room_of(1.70, 0.125, border_mm=7.0)
    assert wanted(row("1", "K", 200.0, 290.0), room).w == 214.0
    assert wanted(row("1", "K", 200.0, 290.0, border_mm=3.0), room).w == 206.0
    own = wanted(row("1", "K", 200.0, 290.0, border_mm=3.0, border_left_mm=8.0), room)
    assert (own.w, own.h, own.image_x, own.least_border) == (211.0, 296.0, 8.0, 3.0)


@pytest.mark.parametrize(
    ("turn", "box"),
    [
        # Image 294 x 140 in a piece 304 x 150 with borders left 6, right 4, lead 9, tail 1.
        (0, (6.0, 9.0, 294.0, 140.0)),
        (90, (1.0, 6.0, 140.0, 294.0)),
        (180, (4.0, 1.0, 294.0, 140.0)),
        (270, (9.0, 4.0, 140.0, 294.0)),
    ],
)
def test_the_image_turns_anticlockwise_with_its_borders(turn: int, box: tuple[float, ...]) -> None:
    one = row(
        "1", "K", 294.0, 140.0, border_lead_mm=9.0, border_tail_mm=1.0, border_left_mm=6.0, border_right_mm=4.0
    )
    assert wanted(one, plate_room()).image(turn) == box


def test_a_repeat_not_longer_than_k_is_no_piece() -> None:
    found = wanted_of(row("1", "K", 200.0, 290.0, repeat_mm=9.0, at_plate_size=False), plate_room())
    assert isinstance(found, str)
    assert "not longer than K" in found


def test_grouping_values_compare_as_numbers() -> None:
    room = plate_room()
    a, b = row("1", "K", 1.0, 1.0, relief="0.50"), row("1", "L", 1.0, 1.0, relief=0.5)
    assert wanted(a, room).group == wanted(b, room).group
    assert wanted(row("1", "M", 1.0, 1.0), room).group != wanted(a, room).group
    assert states_relief(a, 0.5)
    assert not states_relief(row("1", "M", 1.0, 1.0), 0.5)


def test_a_row_without_a_turn_takes_the_rooms() -> None:
    assert wanted(row("1", "K", 1.0, 1.0), plate_room(turn=Turn.CROSS)).turn is Turn.CROSS
    assert wanted(row("1", "K", 1.0, 1.0, turn=Turn.FREE), plate_room(turn=Turn.CROSS)).turn is Turn.FREE
