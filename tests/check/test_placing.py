"""Broken pieces on plates, one rule at a time."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Turn
from nest.domain.room import Cutting, Material
from tests.check.plans import Case, cut_sheet, free_plates, full_sheet, piece, rect, row

if TYPE_CHECKING:
    from collections.abc import Callable

# Pieces of cut_sheet(): 0 and 1 Cyan, 2 Magenta, 3 Varnish (fill), 4 Key; the upper right of the plate is empty.
KEY = 4


def moved(case: Case, dx: float, dy: float) -> Case:
    """Move Key with its image."""
    one = case.plan.sheets[0].plates[0].pieces[KEY]
    box = replace(one.rect, x=one.rect.x + dx, y=one.rect.y + dy)
    return case.with_piece(KEY, rect=box, image=replace(one.image, x=one.image.x + dx, y=one.image.y + dy))


@pytest.mark.parametrize("make", [cut_sheet, free_plates, full_sheet])
def test_the_hand_made_plans_hold(make: Callable[[], Case]) -> None:
    assert make().broken() == set()


def test_a_piece_of_no_row_is_found() -> None:
    found = cut_sheet().with_piece(KEY, job="9999").broken()
    assert {"unknown-piece", "copies"} <= found


def test_a_piece_on_another_material_is_found() -> None:
    case = cut_sheet()
    other = Material(name="HB254", thickness_mm=1.70, base_mm=0.125)
    case = case.with_room(materials={**case.room.materials, "HB254": other}).with_row("Key", material="HB254")
    assert case.broken() == {"material", "group"}


@pytest.mark.parametrize(("extra", "rules"), [(0.0019, set()), (0.0021, {"piece-size", "finish-parts", "free"})])
def test_a_piece_may_be_off_by_two_thousandths_and_no_more(extra: float, rules: set[str]) -> None:
    # Key is 200 x 304.0624
    assert cut_sheet().with_piece(KEY, rect=rect(10.0, 312.0, 200.0 + extra, 304.0624)).broken() == rules


def test_an_unshortened_piece_is_found() -> None:
    # At its full 300 mm, Key would be 310 mm long.
    case = cut_sheet().with_piece(KEY, rect=rect(10.0, 312.0, 200.0, 310.0))
    assert "piece-size" in case.broken()


def test_an_image_off_its_place_is_found() -> None:
    assert cut_sheet().with_piece(0, image=rect(15.0, 17.003, 200.0, 290.0)).broken() == {"image-box"}
    assert cut_sheet().with_piece(0, image=rect(15.0, 17.0, 200.0, 290.003)).broken() == {"image-box"}


def test_an_image_turned_the_wrong_way_is_found() -> None:
    # B lies at 90; at 270 its lead border 9 would be on the left.
    assert free_plates().with_piece(1, 1, turn=270).broken() == {"image-box"}


def test_an_outline_nobody_ordered_is_found() -> None:
    assert cut_sheet().with_piece(0, outline=((10.0, 12.0), (220.0, 12.0), (220.0, 312.0))).broken() == {"outline"}


def test_a_turn_that_is_no_quarter_is_found() -> None:
    assert "turn" in cut_sheet().with_piece(0, turn=45).broken()


@pytest.mark.parametrize(
    ("policy", "rules"),
    [
        (None, set()),  # the room's
        (Turn.FIXED, {"turn"}),
        (Turn.CROSS, {"turn"}),
        (Turn.SET, {"set-turn"}),  # its ring lies along both axes
    ],
)
def test_turns_keep_to_the_rows_policy(policy: Turn | None, rules: set[str]) -> None:
    assert free_plates().with_room(turn=Turn.FREE).with_row("Red", turn=policy).broken() == rules


def test_a_set_keeps_one_axis_over_several_sheets() -> None:
    case = full_sheet()
    square = row("4001", "Solid", 200.0, 290.0)
    twin = replace(square, separation="Twin", image_across_mm=290.0, image_around_mm=200.0)
    first = case.plan.sheets[0]
    turned = piece(twin, 1, rect(10.0, 12.0, 210.0, 300.0), rect(15.0, 17.0, 200.0, 290.0), 90)
    plate = replace(first.plates[0], id="S02-A", pieces=(turned,))
    cuts = tuple(replace(c, plate="S02-A") for c in first.cuts)
    second = replace(first, id="S02", plates=(plate,), cuts=cuts)
    case = replace(case.with_plan(sheets=(first, second)), rows=(square, twin))
    assert "set-turn" in case.broken()
    # Another job's turn is its own affair.
    other = replace(twin, job="4002")
    second = replace(second, plates=(replace(plate, pieces=(replace(turned, job="4002"),)),))
    case = replace(case.with_plan(sheets=(first, second)), rows=(square, other))
    assert "set-turn" not in case.broken()


@pytest.mark.parametrize(("dx", "found"), [(-0.0019, False), (-0.0021, True)])
def test_a_piece_in_the_keep_out_is_found(dx: float, found: bool) -> None:
    # Key starts at the left keep-out's edge, x = 10.
    assert ("keep-out-piece" in moved(cut_sheet(), dx, 0.0).broken()) == found


def test_overlapping_pieces_are_found() -> None:
    # Key lies on Cyan's upper edge, y = 312.
    assert "gap" in moved(cut_sheet(), 0.0, -0.0021).broken()
    assert "gap" not in moved(cut_sheet(), 0.0, -0.0019).broken()


@pytest.mark.parametrize(("gap", "rules"), [(4.0, set()), (4.001, set()), (4.003, {"gap"})])
def test_pieces_closer_than_the_gap_are_found(gap: float, rules: set[str]) -> None:
    # The ring keeps 4 mm everywhere.
    assert free_plates().with_room(gap_mm=gap).broken() == rules


def test_the_materials_gap_counts_before_the_rooms() -> None:
    assert free_plates().with_material(gap_mm=5.0).broken() == {"gap"}
    assert free_plates().with_room(gap_mm=9.0).with_material(gap_mm=3.0).broken() == set()


def test_a_ring_under_a_guillotine_is_found() -> None:
    found = free_plates().with_room(cutting=Cutting.GUILLOTINE).broken()
    assert "guillotine" in found
