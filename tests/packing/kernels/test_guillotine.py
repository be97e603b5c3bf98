from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.packing.cuts import Box, can_be_parted, finish_cuts
from nest.packing.kernels.guillotine import PICKS, SPLITS, best_place, pick_score, put, split_flat
from tests.packing.layouts import play

WIDE, HIGH = 60, 40


def overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@settings(deadline=None, derandomize=True, max_examples=80)
@given(
    st.lists(st.tuples(st.integers(1, 30), st.integers(1, 30)), max_size=12),
    st.integers(0, PICKS - 1),
    st.integers(0, SPLITS - 1),
    st.sampled_from((1, 2, 3)),
)
def test_what_is_put_can_be_parted_and_free_and_taken_cover_the_plate_once(
    sizes: list[tuple[int, int]], pick: int, split: int, mask: int
) -> None:
    free = np.zeros((200, 4), np.int64)
    free[0] = (0, 0, WIDE, HIGH)
    n, taken, used_w, used_h = 1, [], 0, 0
    for w, h in sizes:
        at, axis = best_place(free, n, w, h, mask, pick, used_w, used_h)
        if at < 0:
            fits = [(w, h), (h, w)]
            allowed = [size for bit, size in enumerate(fits) if mask & (1 << bit)]
            assert not any(fw >= a and fh >= b for _, _, fw, fh in free[:n] for a, b in allowed)
            continue
        iw, ih = (w, h) if axis == 0 else (h, w)
        assert mask & (1 << int(axis))
        x, y = int(free[at, 0]), int(free[at, 1])
        taken.append((x, y, x + iw, y + ih))
        n = int(put(free, n, at, iw, ih, split))
        used_w, used_h = max(used_w, x + iw), max(used_h, y + ih)
    rests = [(int(x), int(y), int(x + w), int(y + h)) for x, y, w, h in free[:n]]
    parts = taken + rests
    assert sum((b[2] - b[0]) * (b[3] - b[1]) for b in parts) == WIDE * HIGH
    assert not any(overlap(a, b) for at, a in enumerate(parts) for b in parts[:at])
    assert can_be_parted(taken)
    scaled = [(x1 * 1000, y1 * 1000, x2 * 1000, y2 * 1000) for x1, y1, x2, y2 in taken]
    plate = (0, 0, WIDE * 1000, HIGH * 1000)
    assert set(scaled) <= set(play(plate, finish_cuts(plate, scaled)))


def test_an_exact_fit_leaves_no_free_rectangle() -> None:
    free = np.zeros((4, 4), np.int64)
    free[0] = (3, 4, 10, 20)
    assert int(put(free, 1, 0, 10, 20, 0)) == 0


@pytest.mark.parametrize("flat", [True, False])
def test_the_split_goes_along_the_item_s_top_or_its_right_edge(flat: bool) -> None:
    #  flat: +--------+      upright: +----+---+
    #        |  top   |               |top | r |
    #        +----+---+               +----+ i |
    #        |item| r |               |item| g |
    free = np.zeros((4, 4), np.int64)
    free[0] = (0, 0, 10, 8)
    split = 4 if flat else 5
    assert bool(split_flat(split, 10, 8, 6, 3)) is flat
    assert int(put(free, 1, 0, 6, 3, split)) == 2
    want = {(6, 0, 4, 3), (0, 3, 10, 5)} if flat else {(6, 0, 4, 8), (0, 3, 6, 5)}
    assert {tuple(int(q) for q in one) for one in free[:2]} == want


@pytest.mark.parametrize(
    ("pick", "better", "worse"),
    [
        (0, (0, 0, 10, 10), (0, 0, 12, 10)),  # least area left
        (1, (0, 0, 5, 40), (0, 0, 8, 8)),  # least short side left
        (2, (0, 0, 8, 8), (0, 0, 5, 40)),  # least long side left
        (3, (50, 0, 9, 9), (0, 1, 9, 9)),  # lowest
        (4, (0, 50, 9, 9), (1, 0, 9, 9)),  # leftmost
        (5, (0, 0, 9, 9), (20, 0, 9, 9)),  # least growth of the used box
    ],
)
def test_each_pick_rule_prefers_what_it_says(pick: int, better: tuple[int, ...], worse: tuple[int, ...]) -> None:
    scores = [float(pick_score(pick, *free, 5, 5, 10, 10)) for free in (better, worse)]
    assert scores[0] < scores[1]
