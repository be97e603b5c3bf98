from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.job import Turn
from nest.domain.room import Unit
from nest.plates.pieces import borders_of, factor_of, k_of, piece_of, turned_image, wrap_warning
from nest.units import to_units
from tests.packing.shop import MATERIAL, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.room import Material

SHOP = room(sheet(900, 1200), border_mm=5.0)
ODD = {"border_lead_mm": 1.0, "border_tail_mm": 2.0, "border_left_mm": 3.0, "border_right_mm": 4.0}


def material(**changes: object) -> Material:
    return replace(SHOP.materials[MATERIAL], **changes)  # type: ignore[arg-type]


def test_a_measured_k_goes_before_thickness_and_base_film() -> None:
    assert k_of(replace(SHOP, materials={MATERIAL: material(k_mm=9.5)}), MATERIAL) == 9.5
    assert k_of(SHOP, MATERIAL) == pytest.approx(2 * math.pi * 1.575)


def test_a_row_s_border_goes_before_the_material_s_and_that_before_the_room_s() -> None:
    assert borders_of(row("a", 100, 100), SHOP) == (5, 5, 5, 5)
    own = replace(SHOP, materials={MATERIAL: material(border_mm=8.0)})
    assert borders_of(row("a", 100, 100), own) == (8, 8, 8, 8)
    assert borders_of(row("a", 100, 100, border_mm=0.0), own) == (0, 0, 0, 0)
    assert borders_of(row("a", 100, 100, border_mm=6.0, border_tail_mm=0.0), own) == (6, 0, 6, 6)


def test_each_border_lies_on_its_own_side_of_the_image() -> None:
    #   lead at the bottom (y = 0), left at x = 0
    #   +--------------+  tail 2
    #   | 3 [image ] 4 |
    #   +--------------+  lead 1
    piece = piece_of(row("a", 100, 200, **ODD), SHOP)
    assert (piece.w, piece.h) == (to_units(107), to_units(203))
    assert (piece.image_x, piece.image_y) == (to_units(3), to_units(1))
    assert (piece.image_w, piece.image_h) == (to_units(100), to_units(200))
    assert piece.least_border == to_units(1)


def test_only_around_is_shortened() -> None:
    piece = piece_of(row("a", 200, 300, at_plate_size=False, repeat_mm=500.0), SHOP)
    assert piece.w == to_units(210)
    assert piece.h == to_units(300 * (1 - 2 * math.pi * 1.575 / 500) + 10)


def test_sizes_already_at_plate_size_keep_their_repeat_for_the_wrap_check() -> None:
    piece = piece_of(row("a", 200, 300, repeat_mm=250.0), SHOP)
    assert piece.factor == 1.0
    assert piece.h == to_units(310)
    assert not piece.goes_round


def test_a_repeat_shorter_than_k_is_refused() -> None:
    with pytest.raises(ValueError, match="must be longer than K"):
        factor_of(row("a", 10, 10, at_plate_size=False, repeat_mm=9.0), SHOP)


def test_a_bevel_adds_thickness_times_its_tangent_on_every_side() -> None:
    # trade.md, section 2: 1.70 mm at 45 degrees adds 1.70 mm a side (geometry)
    piece = piece_of(row("a", 100, 200, **ODD), replace(SHOP, bevel_deg=45.0))
    assert (piece.w, piece.h) == (to_units(107 + 3.4), to_units(203 + 3.4))
    assert (piece.image_x, piece.image_y) == (to_units(3 + 1.7), to_units(1 + 1.7))
    assert piece.least_border == to_units(1)


def test_the_turn_and_the_gap_come_from_the_room_unless_stated() -> None:
    shop = replace(SHOP, turn=Turn.FREE, gap_mm=3.0)
    assert piece_of(row("a", 1, 1), shop).turn is Turn.FREE
    assert piece_of(row("a", 1, 1, turn=Turn.CROSS), shop).turn is Turn.CROSS
    assert piece_of(row("a", 1, 1), shop).gap == to_units(3)
    own = replace(shop, materials={MATERIAL: material(gap_mm=4.0)})
    assert piece_of(row("a", 1, 1), own).gap == to_units(4)


def test_a_quarter_turn_brings_the_left_border_to_the_bottom() -> None:
    # anticlockwise: what was right (x = w) is now up, what was up (tail) is now left
    piece = piece_of(row("a", 100, 200, **ODD), SHOP)
    mm = 10_000
    assert turned_image(piece, 0) == (3 * mm, 1 * mm, 100 * mm, 200 * mm)
    assert turned_image(piece, 90) == (2 * mm, 3 * mm, 200 * mm, 100 * mm)
    assert turned_image(piece, 180) == (4 * mm, 2 * mm, 100 * mm, 200 * mm)
    assert turned_image(piece, 270) == (1 * mm, 4 * mm, 200 * mm, 100 * mm)


def test_only_quarter_turns_are_taken() -> None:
    with pytest.raises(ValueError, match="quarter turns, got 45"):
        turned_image(piece_of(row("a", 100, 200), SHOP), 45)


@settings(deadline=None, derandomize=True, max_examples=50)
@given(st.tuples(*[st.floats(0, 20) for _ in range(4)]), st.sampled_from((0, 90, 180, 270)))
def test_a_turned_image_stays_inside_its_turned_piece(borders: tuple[float, ...], turn: int) -> None:
    own = dict(zip(ODD, borders, strict=True))
    piece = piece_of(row("a", 70, 90, **own), SHOP)
    x, y, w, h = turned_image(piece, turn)
    pw, ph = (piece.w, piece.h) if turn in (0, 180) else (piece.h, piece.w)
    # sizes are rounded each for itself: one unit of 0.0001 mm of play
    assert x >= -1
    assert y >= -1
    assert x + w <= pw + 1
    assert y + h <= ph + 1


def test_a_piece_exactly_as_long_as_the_cylinder_takes_goes_round() -> None:
    # R - K - seam with a measured K of 10 and the default seam of 2: 500 - 10 - 2 = 488
    shop = replace(SHOP, materials={MATERIAL: material(k_mm=10.0)})
    assert piece_of(row("a", 100, 478, repeat_mm=500.0), shop).goes_round
    # the one tolerance of 0.002 mm: sizes typed to three decimals are not told to be too long
    assert piece_of(row("a", 100, 478.002, repeat_mm=500.0), shop).goes_round
    assert not piece_of(row("a", 100, 478.0022, repeat_mm=500.0), shop).goes_round
    assert piece_of(row("a", 100, 5000), shop).goes_round
    assert wrap_warning(piece_of(row("a", 100, 478, repeat_mm=500.0), shop), shop) is None


def test_a_wrap_warning_names_the_border_that_would_fit() -> None:
    # 480 + 2*5 = 490 on a cylinder that takes 488: 2 mm too long, so (5 + 5 - 2)/2 = 4 mm would do
    shop = replace(SHOP, materials={MATERIAL: material(k_mm=10.0)})
    text = wrap_warning(piece_of(row("Cyan", 100, 480, repeat_mm=500.0, part="P1"), shop), shop)
    assert text == (
        "job 3101 Cyan P1: around 490.00 mm is 2.00 mm longer than its cylinder takes (488.00 mm at repeat 500.00 mm); "
        "borders of 4.0 mm at lead and tail would fit"
    )


def test_a_wrap_warning_says_when_the_image_alone_is_too_long() -> None:
    shop = replace(SHOP, materials={MATERIAL: material(k_mm=10.0)})
    text = wrap_warning(piece_of(row("Cyan", 100, 489, repeat_mm=500.0), shop), shop)
    assert text is not None
    assert text.endswith("image too long for this cylinder")


def test_the_border_a_wrap_warning_names_does_fit() -> None:
    shop = replace(SHOP, materials={MATERIAL: material(k_mm=10.0)})
    # over by 0.13 mm: 4.935 is rounded down to 4.9
    one = row("Cyan", 100, 478.13, repeat_mm=500.0)
    text = wrap_warning(piece_of(one, shop), shop)
    assert text is not None
    assert "borders of 4.9 mm" in text
    assert piece_of(replace(one, border_lead_mm=4.9, border_tail_mm=4.9), shop).goes_round


def test_a_wrap_warning_speaks_inches_in_an_inch_room() -> None:
    # 478 + 2*5 = 488 takes, 480 + 10 = 490 is 2 mm = 0.079 in too long; 4 mm = 0.157 in, offered as 0.155
    shop = replace(SHOP, unit=Unit.INCH, materials={MATERIAL: material(k_mm=10.0)})
    text = wrap_warning(piece_of(row("Cyan", 100, 480, repeat_mm=500.0), shop), shop)
    assert text == (
        "job 3101 Cyan: around 19.291 in is 0.079 in longer than its cylinder takes (19.213 in at repeat 19.685 in); "
        "borders of 0.155 in at lead and tail would fit"
    )
