from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.packing.cuts import SAME, Box, can_be_parted, dividing_line, finish_cuts, trim_lines
from tests.packing.layouts import PLATE, pinwheel, play, split_layouts


@settings(deadline=None, derandomize=True, max_examples=200)
@given(split_layouts().flatmap(st.permutations))
def test_finish_cuts_part_every_box_at_its_exact_size(boxes: list[Box]) -> None:
    # edges less than 0.002 mm apart are one cut (design, section 8)
    assert can_be_parted(boxes)
    parts = play(PLATE, finish_cuts(PLATE, boxes))
    for box in boxes:
        same = [p for p in parts if all(abs(a - b) <= SAME for a, b in zip(p, box, strict=True))]
        assert len(same) == 1


@settings(deadline=None, derandomize=True, max_examples=50)
@given(split_layouts())
def test_every_finish_cut_is_needed(boxes: list[Box]) -> None:
    # parts of n cuts are n + 1, and no more cuts are made than four sides a box
    lines = finish_cuts(PLATE, boxes)
    assert len(play(PLATE, lines)) == len(lines) + 1
    assert len(lines) <= 4 * len(boxes)


def test_no_boxes_need_no_cut() -> None:
    assert finish_cuts(PLATE, []) == []
    assert can_be_parted([])


def test_a_box_as_large_as_the_plate_needs_no_cut() -> None:
    assert finish_cuts(PLATE, [PLATE]) == []


def test_touching_boxes_share_one_cut() -> None:
    #  +----+----+
    #  | a  | b  |   3 cuts in all: the top trim, the right trim, one between
    #  +----+----+
    lines = finish_cuts((0, 0, 1000, 1000), [(0, 0, 300, 400), (300, 0, 600, 400)])
    assert lines == [(0, 400, 1000, 400), (600, 0, 600, 400), (300, 0, 300, 400)]


def test_boxes_a_gap_apart_are_parted_and_the_strip_between_is_cut_off() -> None:
    parts = play((0, 0, 700, 400), finish_cuts((0, 0, 700, 400), [(0, 0, 300, 400), (400, 0, 700, 400)]))
    assert sorted(parts) == [(0, 0, 300, 400), (300, 0, 400, 400), (400, 0, 700, 400)]


@pytest.mark.parametrize(("sliver", "cuts"), [(20, 0), (21, 1)])
def test_a_sliver_below_the_tolerance_is_not_cut_off(sliver: int, cuts: int) -> None:
    # 0.002 mm are one cut (design, section 8)
    assert len(finish_cuts((0, 0, 1000 + sliver, 1000), [(0, 0, 1000, 1000)])) == cuts


def test_a_pinwheel_cannot_be_parted() -> None:
    boxes = pinwheel()
    assert not can_be_parted(boxes)
    assert not can_be_parted(boxes[:4])
    with pytest.raises(ValueError, match="cannot part"):
        finish_cuts((0, 0, 300, 300), boxes)


@pytest.mark.parametrize("missing", range(4))
def test_a_pinwheel_without_one_of_its_arms_can_be_parted(missing: int) -> None:
    boxes = [box for at, box in enumerate(pinwheel()) if at != missing]
    assert can_be_parted(boxes)
    assert set(boxes) <= set(play((0, 0, 300, 300), finish_cuts((0, 0, 300, 300), boxes)))


def test_a_pinwheel_deep_inside_a_layout_is_found() -> None:
    around = [(0, 0, 100, 700), (100, 600, 700, 700)]
    assert not can_be_parted([*around, *pinwheel(200, 200)])
    with pytest.raises(ValueError, match="cannot part"):
        finish_cuts((0, 0, 700, 700), [*around, *pinwheel(200, 200)])


def test_overlapping_boxes_cannot_be_parted() -> None:
    assert not can_be_parted([(0, 0, 10, 10), (9, 9, 20, 20)])


def test_a_dividing_line_goes_where_no_box_reaches_over() -> None:
    boxes = [(0, 0, 50, 10), (20, 10, 60, 20), (60, 0, 90, 20)]
    assert dividing_line(boxes, 0) == 2
    assert dividing_line(boxes[:2], 0) is None


def test_trimming_leaves_the_box() -> None:
    lines, left = trim_lines((0, 0, 1000, 900), (100, 100, 800, 700))
    assert left == (100, 100, 800, 700)
    assert lines == [(0, 100, 1000, 100), (0, 700, 1000, 700), (100, 100, 100, 700), (800, 100, 800, 700)]
