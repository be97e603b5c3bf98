"""The compiled loops of the pattern bound against plain recursions and against packings that are known to exist."""

from __future__ import annotations

from functools import cache
from itertools import product
from random import Random

import numpy as np
import pytest

from nest.packing.arrays import data_of
from nest.packing.bound_loops import (
    bar_pattern,
    bar_profits,
    beside,
    bounded_profits,
    guillotine_counts,
    guillotine_profits,
    reachable,
    sole_costs,
)
from nest.packing.bound_single import sole_sheet
from nest.packing.kernels.plate import credit
from tests.packing.shop import costs, imager, problem_of, room, row, sheet

MM = 10_000


def pieces_of(draw: Random, most: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    count = draw.randint(1, 5)
    sides = [np.array([draw.randint(2, most) for _ in range(count)], np.int64) for _ in range(2)]
    return sides[0], sides[1], np.array([draw.randint(0, 50) for _ in range(count)], np.int32)


def profits_of(w: np.ndarray, h: np.ndarray, profit: np.ndarray, top: tuple[int, int]) -> tuple[np.ndarray, ...]:
    xs, last_x = reachable(np.unique(w), top[0])
    ys, last_y = reachable(np.unique(h), top[1])
    best = np.zeros((len(xs), len(ys)), np.int32)
    guillotine_profits(w, h, profit, xs, last_x, ys, last_y, best)
    return xs, last_x, ys, last_y, best


def test_reachable_sizes_are_the_sums_of_sides() -> None:
    points, last = reachable(np.array([3, 5], np.int64), 9)
    assert points.tolist() == [0, 3, 5, 6, 8, 9]
    assert last.tolist() == [0, 0, 0, 1, 1, 2, 3, 3, 4, 5]


@pytest.mark.parametrize("seed", range(20))
def test_guillotine_profit_is_that_of_trying_every_cut(seed: int) -> None:
    draw = Random(seed)
    w, h, profit = pieces_of(draw, 7)
    top = draw.randint(5, 13), draw.randint(5, 13)
    kinds = list(zip(w.tolist(), h.tolist(), profit.tolist(), strict=True))

    @cache
    def naive(a: int, b: int) -> int:
        best = max((p for x, y, p in kinds if x <= a and y <= b), default=0)
        best = max([best, *(naive(x, b) + naive(a - x, b) for x in range(1, a))])
        return max([best, *(naive(a, y) + naive(a, b - y) for y in range(1, b))])

    xs, last_x, ys, last_y, best = profits_of(w, h, profit, top)
    for i, j in product(range(len(xs)), range(len(ys))):
        assert best[i, j] == naive(int(xs[i]), int(ys[j]))
    counts = np.zeros(len(w), np.int64)
    guillotine_counts(len(xs) - 1, len(ys) - 1, w, h, profit, xs, last_x, ys, last_y, best, counts)
    assert int(counts @ profit) == best[-1, -1]


@pytest.mark.parametrize("seed", range(20))
def test_bars_never_promise_less_than_a_guillotine_pattern_earns(seed: int) -> None:
    draw = Random(seed)
    w, h, profit = pieces_of(draw, 9)
    xs, _, ys, _, best = profits_of(w, h, profit, (17, 14))
    if len(xs) < 2 or len(ys) < 2:
        return
    bars = np.full(best.shape, 1 << 30, np.int32)
    bars[0, :], bars[:, 0] = 0, 0
    rooms = np.array(sorted({int(ys[-1]) // 2, int(ys[-1])} - {0}), np.int64)
    bar_profits(w, h, profit.astype(np.int64), xs, ys, rooms, bars)
    assert (bars >= best).all()
    counts = np.zeros(len(w))
    top = bar_pattern(w, h, profit.astype(np.int64), int(xs[-1]), int(ys[-1]), int(ys[-1]), counts)
    assert int(top * (1 + 1e-12)) == bars[-1, -1]
    assert float(counts @ profit) == pytest.approx(top)


def test_bars_hold_for_a_wheel_that_no_edge_to_edge_cuts_part() -> None:
    # four 3 x 2 around a hole fill 5 x 5 but for one cell; profit is area
    w, h = np.array([3, 2], np.int64), np.array([2, 3], np.int64)
    xs, ys = reachable(w, 5)[0], reachable(h, 5)[0]
    bars = np.full((len(xs), len(ys)), 1 << 30, np.int32)
    bar_profits(w, h, np.array([6, 6], np.int64), xs, ys, np.array([5], np.int64), bars)
    assert bars[-1, -1] >= 24


def test_bars_see_that_large_pieces_do_not_lie_side_by_side() -> None:
    # pieces of 6 x 6 in 10 x 10: one only, though their area is 0.36
    side = np.array([6], np.int64)
    points = reachable(side, 10)[0]
    bars = np.full((len(points), len(points)), 1 << 30, np.int32)
    bar_profits(side, side, np.array([36], np.int64), points, points, np.array([10], np.int64), bars)
    assert 36 <= bars[-1, -1] < 60


@pytest.mark.parametrize("seed", range(10))
def test_a_bounded_knapsack_is_that_of_trying_every_choice(seed: int) -> None:
    draw = Random(seed)
    area = np.array([draw.randint(0, 9) for _ in range(4)], np.int64)
    profit = np.array([draw.randint(0, 9) for _ in range(4)], np.int64)
    many = np.array([draw.randint(1, 3) for _ in range(4)], np.int64)
    best = bounded_profits(area, profit, many, 20)
    for most in range(21):
        choices = product(*(range(int(m) + 1) for m in many))
        assert best[most] == max(
            int(np.dot(c, profit)) for c in choices if int(np.dot(c, area)) <= most
        )


@pytest.mark.parametrize("parts", [1, 2, 3, 6])
@pytest.mark.parametrize("keep", [0, 1, 2])
def test_sole_costs_agree_with_the_single_unit_bound_where_machines_take_all(parts: int, keep: int) -> None:
    charged = costs(
        plate=12.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6, offcut_handling=2.0, offcut_full_side_mm=400.0,
        offcut_min_side_mm=250.0, offcuts_per_sheet=keep, raw_min_strip_mm=50.0, raw_parts_max=parts,
    )  # fmt: skip
    held = imager(clamp_mm=12.0, drum_tape_mm=10.0)
    problem = problem_of([row("a", 100, 100)], room(sheet(900, 1200, price=80.0), imager=held, costs=charged)).problem
    data, one = data_of(problem), problem.bins[0]
    used_w = np.array([80, 300, 650, 878], np.int64) * MM
    used_h = np.array([100, 500, 940, 1178], np.int64) * MM
    both = np.empty((2, 4, 4))
    for kept in (0, 1):
        sole_costs(
            data.lim, data.rate, one.w, one.h, one.price, one.rate, 12 * MM, 10 * MM, used_w, used_h, kept, both[kept]
        )
        assert (np.diff(both[kept], axis=0) >= -1e-9).all()
        assert (np.diff(both[kept], axis=1) >= -1e-9).all()
    out = both.min(axis=0)
    for i, j in product(range(4), range(4)):
        want = sole_sheet(problem, data, 0, (int(used_w[i]), int(used_h[j])), 0)
        assert out[i, j] == pytest.approx(want) or (out[i, j] > 1e17 and want == np.inf)


@pytest.mark.parametrize("seed", range(40))
def test_two_rests_beside_a_plate_earn_no_more_than_said_and_nearly_as_much(seed: int) -> None:
    """Every cut of the strip is tried, in steps of a millimetre, in either order of the cuts."""
    draw = Random(seed)
    charged = costs(
        offcut_value=0.6, offcut_handling=draw.choice((0.0, 0.01, 2.0)), offcuts_per_sheet=2,
        offcut_full_side_mm=draw.choice((0.0, 300.0, 400.0)), offcut_min_side_mm=draw.choice((0.0, 120.0, 250.0)),
        offcut_min_area_m2=draw.choice((0.0, 0.1)),
    )  # fmt: skip
    wide, high = draw.randint(300, 900), draw.randint(300, 900)
    w, h = draw.randint(50, wide - 20), draw.randint(50, high - 20)
    problem = problem_of([row("a", 40, 40)], room(sheet(wide, high, price=80.0), costs=charged)).problem
    data, rate = data_of(problem), problem.bins[0].rate

    def earns(a: int, b: int) -> float:
        return max(0.0, float(credit(data.lim, data.rate, rate, a * MM, b * MM)))

    best = max(
        max((earns(a, high) + earns(wide - a, high - h) for a in range(wide - w + 1)), default=0.0),
        max((earns(wide, b) + earns(wide - w, high - b) for b in range(high - h + 1)), default=0.0),
    )
    said = beside(data.lim, data.rate, rate, wide * MM, high * MM, w * MM, h * MM, 2)
    # between the millimetres a strip can be up to a millimetre better: 0.9 m of it at 128 per m2
    assert best <= said + 1e-9
    assert said <= best + 0.15
