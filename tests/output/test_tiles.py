from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.output.paper import PAPERS
from nest.output.text_fit import Box
from nest.output.tiles import FOOT_MM, OVERLAP_MM, TILE_MARGIN_MM, Tile, tiles_of

SIZES = st.floats(5.0, 2500.0)
PAPER = st.sampled_from(list(PAPERS.values()))


def inside(point: tuple[float, float], tile: Tile) -> bool:
    box = tile.window
    return box.x <= point[0] <= box.x + box.w and box.y <= point[1] <= box.y + box.h


@settings(deadline=None, max_examples=60)
@given(w=SIZES, h=SIZES, x=st.floats(0, 100), y=st.floats(0, 100), paper=PAPER)
def test_tiles_cover_the_drawing_fit_their_paper_and_overlap(
    w: float, h: float, x: float, y: float, paper: tuple[float, float]
) -> None:
    drawing = Box(x=x, y=y, w=w, h=h)
    tiles = tiles_of(drawing, paper)
    first, last = tiles[0].window, tiles[-1].window
    assert (first.x, first.y) == (x, y)
    assert last.x + last.w == pytest.approx(x + w)
    assert last.y + last.h == pytest.approx(y + h)
    assert len(tiles) == tiles[0].rows * tiles[0].columns
    for tile in tiles:
        assert sorted(tile.paper) == sorted(paper)
        assert tile.window.w <= tile.paper[0] - 2 * TILE_MARGIN_MM + 1e-9
        assert tile.window.h <= tile.paper[1] - 2 * TILE_MARGIN_MM - FOOT_MM + 1e-9
    for one, other in combinations(tiles, 2):
        if one.row == other.row and other.column == one.column + 1:
            assert one.window.x + one.window.w - other.window.x >= min(OVERLAP_MM, other.window.w) - 1e-6


@settings(deadline=None, max_examples=60)
@given(w=SIZES, h=SIZES, paper=PAPER)
def test_register_marks_of_neighbours_are_the_same_points_of_the_drawing(
    w: float, h: float, paper: tuple[float, float]
) -> None:
    tiles = tiles_of(Box(x=3.0, y=7.0, w=w, h=h), paper)
    for one, other in combinations(tiles, 2):
        beside = one.row == other.row and abs(one.column - other.column) == 1
        below = one.column == other.column and abs(one.row - other.row) == 1
        if beside or below:
            shared = set(one.marks) & set(other.marks)
            assert len(shared) == 2
            assert all(inside(mark, tile) for mark in shared for tile in (one, other))
            # Every mark of one that the other shows is a mark of the other too.
            assert {mark for mark in one.marks if inside(mark, other)} <= set(other.marks) | {
                mark for mark in one.marks if not (below or beside)
            }


def test_a_drawing_that_fits_is_one_tile_without_marks() -> None:
    (tile,) = tiles_of(Box(x=0.0, y=0.0, w=180.0, h=200.0), PAPERS[next(iter(PAPERS))])
    assert not tile.marks
    assert not tile.seams
