"""The check's geometry against slow, plainly right searches."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from nest.check.geometry import Box, close_pairs, corners, empty_boxes, inseparable, overlaps

boxes = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(1, 5), st.integers(1, 5)).map(
        lambda t: Box(float(t[0]), float(t[1]), float(t[0] + t[2]), float(t[1] + t[3]))
    ),
    max_size=7,
)


@given(boxes, st.integers(0, 3))
def test_the_sweep_finds_the_same_pairs_as_looking_at_all(found: list[Box], gap: int) -> None:
    slow = {(i, j) for i, j in combinations(range(len(found)), 2) if overlaps(found[i], found[j], float(gap))}
    assert set(close_pairs(found, float(gap))) == slow


def _separable(found: list[Box]) -> bool:
    """Try every line, one cut at a time, and every order of cuts."""
    if len(found) < 2:
        return True
    for axis in (0, 1):
        for line in {box[axis] for box in found}:
            low = [box for box in found if box[axis + 2] <= line]
            high = [box for box in found if box[axis] >= line]
            if low and high and len(low) + len(high) == len(found) and _separable(low) and _separable(high):
                return True
    return False


@given(boxes)
def test_guillotine_separability_agrees_with_trying_every_cut(found: list[Box]) -> None:
    assert (not inseparable(found)) == _separable(found)


def test_a_ring_of_four_cannot_be_parted() -> None:
    ring = [Box(0, 0, 2, 1), Box(2, 0, 3, 2), Box(1, 2, 3, 3), Box(0, 1, 1, 3)]
    assert inseparable(ring) == [0, 1, 2, 3]
    assert inseparable(ring[:3]) == []


@given(boxes, st.integers(0, 2), st.integers(1, 4), st.integers(1, 4))
def test_a_piece_fits_an_empty_box_exactly_where_it_fits_at_all(found: list[Box], gap: int, w: int, h: int) -> None:
    plate = Box(0.0, 0.0, 14.0, 14.0)
    slow = any(
        all(not overlaps(Box(x, y, x + w, y + h), box, float(gap)) for box in found)
        for x in range(15 - w)
        for y in range(15 - h)
    )
    empty = empty_boxes(plate, found, float(gap), float(min(w, h)))
    assert any(room.w >= w and room.h >= h for room in empty) == slow
    assert all(not overlaps(room, box, float(gap)) for room in empty for box in found)


def test_a_plate_without_pieces_is_one_empty_box_with_four_corners() -> None:
    plate = Box(1.0, 2.0, 11.0, 12.0)
    assert empty_boxes(plate, [], 3.0, 1.0) == [plate]
    assert len(set(corners(plate, 4.0, 4.0))) == 4
    assert list(corners(plate, 10.0, 10.0)) == [plate]
