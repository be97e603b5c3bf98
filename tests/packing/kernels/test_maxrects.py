from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.packing.kernels.maxrects import put_free

SIDE = 12
Rect = tuple[int, int, int, int]
"""x, y, w, h."""


def maximal_empty(taken: list[Rect]) -> set[Rect]:
    """Return all maximal empty rectangles of a small square, by trying every one."""
    full = np.zeros((SIDE, SIDE), bool)
    for x, y, w, h in taken:
        full[x : x + w, y : y + h] = True
    sums = np.zeros((SIDE + 1, SIDE + 1), int)
    sums[1:, 1:] = full.cumsum(0).cumsum(1)

    def empty(x: int, y: int, x2: int, y2: int) -> bool:
        if x < 0 or y < 0 or x2 > SIDE or y2 > SIDE:
            return False
        return bool(sums[x2, y2] - sums[x, y2] - sums[x2, y] + sums[x, y] == 0)

    found = set()
    for x in range(SIDE):
        for y in range(SIDE):
            for x2 in range(x + 1, SIDE + 1):
                for y2 in range(y + 1, SIDE + 1):
                    grown = ((x - 1, y, x2, y2), (x, y - 1, x2, y2), (x, y, x2 + 1, y2), (x, y, x2, y2 + 1))
                    if empty(x, y, x2, y2) and not any(empty(*g) for g in grown):
                        found.add((x, y, x2 - x, y2 - y))
    return found


def after(taken: list[Rect], cap: int = 400) -> list[Rect]:
    free = np.zeros((cap, 4), np.int64)
    free[0] = (0, 0, SIDE, SIDE)
    n = 1
    for x, y, w, h in taken:
        n = int(put_free(free, n, x, y, w, h, cap))
    return [tuple(int(q) for q in one) for one in free[:n]]  # type: ignore[misc]


boxes = st.tuples(st.integers(0, SIDE - 1), st.integers(0, SIDE - 1), st.integers(1, 6), st.integers(1, 6)).map(
    lambda b: (b[0], b[1], min(b[2], SIDE - b[0]), min(b[3], SIDE - b[1]))
)


@settings(deadline=None, derandomize=True, max_examples=60)
@given(st.lists(boxes, max_size=5))
def test_the_free_rectangles_are_all_the_maximal_empty_ones(taken: list[Rect]) -> None:
    got = after(taken)
    assert len(got) == len(set(got))
    assert set(got) == maximal_empty(taken)


def test_a_box_that_takes_everything_leaves_nothing() -> None:
    assert after([(0, 0, SIDE, SIDE)]) == []


@pytest.mark.parametrize("cap", [1, 2, 3, 4])
def test_a_full_list_loses_space_but_never_gives_it_twice(cap: int) -> None:
    taken: list[Rect] = [(4, 4, 3, 3), (1, 1, 2, 2)]
    lost = after(taken, cap)
    assert len(lost) <= cap
    # whatever is still offered is empty
    for x, y, w, h in lost:
        for tx, ty, tw, th in taken:
            assert x >= tx + tw or tx >= x + w or y >= ty + th or ty >= y + h
