"""Figures of the plate-room trade, each with its source.

"trade.md" is the project's collection of trade figures; its worked cases are derived from geometry with the base film
as the layer that keeps its length (plate-maker tables agree, from memory).
"""

from __future__ import annotations

import math

import pytest

from nest.domain.job import Turn
from nest.domain.plan import Edge
from nest.domain.room import Material, Station
from nest.domain.totals import areas_of, yields_of
from nest.plates.pieces import factor_of, k_of, piece_of
from nest.plates.shortening import full_wrap_length, k_factor, repeat_of_teeth, shortening_factor
from nest.units import MM_PER_INCH, to_units
from tests.domain.hand_made import hand_sheet
from tests.packing.shop import MATERIAL, imager, planned, plates, room, row, sheet

IN = MM_PER_INCH
CP_EIGHTH = 0.125 * IN
"""Repeat per tooth of 1/8 in circular pitch ("CP Versus DP: Understanding the Differences", FlexoExchange)."""
DP_10 = math.pi / 10 * IN
"""Repeat per tooth of 10 diametral pitch (same source; number derived)."""


@pytest.mark.parametrize(
    ("case", "repeat", "thickness", "base", "k", "percent", "factor"),
    [
        # trade.md, section 1, worked checks (derived); lengths in mm
        ("A", 12 * IN, 0.067 * IN, 0.005 * IN, 0.389557 * IN, 3.246312, 0.9675369),
        ("A7", 12 * IN, 0.067 * IN, 0.007 * IN, 0.376991 * IN, 3.141593, 0.9685841),
        ("B", 20.106193 * IN, 0.107 * IN, 0.007 * IN, 0.628319 * IN, 3.125, 0.96875),
        ("C", 628.318531, 1.14, 0.127, 6.364867, 1.013, 0.98987),
        ("D", 1600.0, 6.35, 0.178, 38.779820, 2.423739, 0.9757626),
        ("D2", 1600.0, 3.94, 0.178, 23.637343, 1.477334, 0.9852267),
        ("E", 500.0, 1.70, 0.125, 9.896017, 1.979203, 0.9802080),
    ],
)
def test_the_worked_cases_of_the_trade_come_out(
    case: str, repeat: float, thickness: float, base: float, k: float, percent: float, factor: float
) -> None:
    got = k_factor(thickness, base)
    assert got == pytest.approx(k, abs=2e-5), case
    assert 100 * got / repeat == pytest.approx(percent, abs=5e-7)
    assert shortening_factor(got, repeat) == pytest.approx(factor, abs=5e-8)


def test_case_a0_without_base_film_is_a_material_with_a_measured_k() -> None:
    # trade.md 1.2: K = 2*pi*T (NV Publications, Q&A on plate distortion); case A0: 304.8 mm come to 294.1073 mm
    thickness = 0.067 * IN
    shop = room(
        sheet(900, 1200),
        materials={MATERIAL: Material(name=MATERIAL, thickness_mm=thickness, k_mm=2 * math.pi * thickness)},
    )
    one = row("a", 200, 304.8, at_plate_size=False, repeat_mm=304.8)
    assert k_of(shop, MATERIAL) == pytest.approx(0.420973 * IN, abs=2e-5)
    assert factor_of(one, shop) == pytest.approx(0.9649189, abs=5e-8)
    assert piece_of(one, shop).image_h == to_units(294.1073)


@pytest.mark.parametrize(
    ("base", "flat"),
    # trade.md, section 1, cases A and A7: flat image length of 304.8 mm
    [(0.005, 294.9052), (0.007, 295.2244)],
)
def test_the_flat_length_of_a_full_repeat(base: float, flat: float) -> None:
    shop = room(
        sheet(900, 1200), materials={MATERIAL: Material(name=MATERIAL, thickness_mm=0.067 * IN, base_mm=base * IN)}
    )
    assert piece_of(row("a", 200, 304.8, at_plate_size=False, repeat_mm=304.8), shop).image_h == to_units(flat)


def test_case_c_at_600_mm_printed_length() -> None:
    # trade.md, section 1, case C: 600 -> 593.922 mm
    assert 600 * shortening_factor(k_factor(1.14, 0.127), 628.318531) == pytest.approx(593.922, abs=5e-7)


def test_case_b_s_stretch_seen_from_the_flat_side_is_another_figure() -> None:
    # trade.md 1.4 and case B: 3.125 % shorter is 3.225806 % stretch
    k, repeat = k_factor(0.107 * IN, 0.007 * IN), 20.106193 * IN
    assert 100 * k / (repeat - k) == pytest.approx(3.225806, abs=5e-7)


def test_the_packing_rule_of_the_trade() -> None:
    # trade.md, section 2: image 200 x 304.8, case A, border 5, no bevel: 210.0000 x 304.9052 mm
    shop = room(
        sheet(900, 1200),
        border_mm=5.0,
        materials={MATERIAL: Material(name=MATERIAL, thickness_mm=0.067 * IN, base_mm=0.005 * IN)},
    )
    plan = planned([row("a", 200, 304.8, at_plate_size=False, repeat_mm=304.8)], shop)
    piece = plates(plan)[0].pieces[0]
    assert (piece.rect.w, piece.rect.h) == (210.0, 304.9052)
    assert (piece.image.w, piece.image.h) == (200.0, 294.9052)


def test_teeth_give_the_repeat() -> None:
    # trade.md, section 1, teeth: 96 teeth of 1/8 CP are 12 in; 40 teeth of module 5 are 628.318531 mm
    assert repeat_of_teeth(96, CP_EIGHTH) == pytest.approx(304.8, abs=1e-9)
    assert repeat_of_teeth(64, DP_10) == pytest.approx(20.106193 * IN, abs=2e-5)
    assert repeat_of_teeth(40, 5 * math.pi) == pytest.approx(628.318531, abs=5e-7)
    # 7.5 in on 32 DP needs 76.39 teeth, so 77: 7.559457 in; on 1/8 CP exactly 60; 82 teeth of 1/8 CP are 10.25 in
    assert repeat_of_teeth(77, math.pi / 32 * IN) == pytest.approx(7.559457 * IN, abs=2e-5)
    assert 7.5 / (math.pi / 32) == pytest.approx(76.39, abs=5e-3)
    assert repeat_of_teeth(60, CP_EIGHTH) == pytest.approx(7.5 * IN, abs=1e-9)
    assert repeat_of_teeth(82, CP_EIGHTH) == pytest.approx(10.25 * IN, abs=1e-9)


def test_circular_and_diametral_pitch_do_not_match() -> None:
    # Flexography: Principles & Practices, gear systems: drum 188.5 in round, 754 teeth of 0.25 in CP; 600 of 10 DP
    assert repeat_of_teeth(754, 0.25 * IN) == pytest.approx(188.5 * IN, abs=1e-9)
    assert repeat_of_teeth(600, DP_10) == pytest.approx(188.4956 * IN, abs=2e-3)


def test_the_gap_of_a_full_wrap_plate() -> None:
    # trade.md, section 1: R 24 in, gap 0.125, T 0.067, B 0.005: 23.485443 in at base-film level, 23.487471 at the face
    k = k_factor(0.067 * IN, 0.005 * IN)
    assert full_wrap_length(24 * IN, k, 0.125 * IN) == pytest.approx(23.485443 * IN, abs=2e-5)
    assert shortening_factor(k, 24 * IN) * (24 - 0.125) == pytest.approx(23.487471, abs=5e-7)


@pytest.mark.parametrize(
    ("count", "piece", "image", "kept", "gross", "image_yield", "credited"),
    [
        # trade.md, section 6: 8 pieces of 300 x 400 (images 290 x 390) on 900 x 1200, then 6 with 300 x 800 kept
        (8, (300.0, 400.0), (290.0, 390.0), None, 0.888889, 0.837778, 0.888889),
        (6, (300.0, 400.0), (300.0, 400.0), (300.0, 800.0), 0.666667, 0.666667, 0.857143),
    ],
)
def test_the_three_yields_of_a_900_by_1200_sheet(
    count: int,
    piece: tuple[float, float],
    image: tuple[float, float],
    kept: tuple[float, float] | None,
    gross: float,
    image_yield: float,
    credited: float,
) -> None:
    areas, pieces = areas_of([hand_sheet((900.0, 1200.0), count, piece, image, kept)])
    got = yields_of(areas, pieces)
    assert got.gross == pytest.approx(gross, abs=5e-7)
    assert got.image == pytest.approx(image_yield, abs=5e-7)
    assert got.credited == pytest.approx(credited, abs=5e-7)


def test_the_area_bound_of_the_trade_is_never_beaten() -> None:
    # trade.md, section 6: 26 pieces of 0.12 m2 on 1.08 m2 need at least ceil(2.888889) = 3 sheets
    shop = room(sheet(900, 1200, price=1.0))
    plan = planned([row("a", 300, 400, copies=26)], shop)
    assert plan.totals.bound > 2.8
    assert plan.totals.sheets == 3


def test_a_start_of_the_laser_at_60_mm_on_a_635_by_762_plate() -> None:
    # common practice: the image starts 60 mm from the lead edge; plate 762 across x 635 around (30 x 25 in)
    #
    #    y1  +------------------+  tail, tape 10
    #        |  pieces          |
    #     60 | - - - - - - - - -|  the laser may start here
    #    y0  +------------------+  lead edge in the clamp
    shop = room(
        sheet(762, 635),
        imager=imager(max_across_mm=762.0, max_around_mm=635.0, clamp_mm=60.0, drum_tape_mm=10.0, trim_mm=8.0),
    )
    # 742 x 565 are left inside: 371 x 565 twice fill it exactly
    plan = planned([row("a", 371, 565, copies=2)], shop)
    (plate,) = plates(plan)
    assert plate.lead is Edge.Y0
    assert (plate.across_mm, plate.around_mm) == (762.0, 635.0)
    assert (plate.keep_out.x0, plate.keep_out.x1, plate.keep_out.y0, plate.keep_out.y1) == (10.0, 10.0, 60.0, 10.0)
    assert sorted((p.rect.x, p.rect.y) for p in plate.pieces) == [(10.0, 60.0), (381.0, 60.0)]
    assert not plan.unplaced
    # a piece over the whole width that is a tenth of a mm longer does not go on it, whichever edge leads
    longer = planned([row("a", 742, 565.1, turn=Turn.FIXED)], shop)
    assert longer.unplaced[0].reason == "0.1 mm too long for the imager with its keep-outs, turned as its row says"


def test_a_sheet_wider_than_the_drum_is_loaded_the_other_way() -> None:
    # common practice: any edge may be the lead edge; 900 x 1200 on a drum 1200 across goes on with a side in the clamp
    shop = room(sheet(900, 1200), imager=imager(max_across_mm=1200.0, max_around_mm=900.0, clamp_mm=12.0))
    plan = planned([row("a", 888, 1200, turn=Turn.FIXED)], shop)
    (plate,) = plates(plan)
    assert plate.lead is Edge.X0
    assert (plate.across_mm, plate.around_mm) == (1200.0, 900.0)


def test_a_station_s_pin_bar_wider_than_the_clamp_counts() -> None:
    # trade.md, section 2: a washer's bar may need 10-25 mm on one side (common practice)
    shop = room(
        sheet(500, 500),
        imager=imager(clamp_mm=12.0, drum_tape_mm=10.0),
        stations=(Station(name="washer", bar_mm=20.0), Station(name="dryer", bar_mm=15.0)),
    )
    (plate,) = plates(planned([row("a", 480, 470)], shop))
    assert {plate.keep_out.x0, plate.keep_out.y0} == {10.0, 20.0}
