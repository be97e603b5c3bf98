from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from nest.packing.bench import Bench
from nest.packing.problem import NEVER
from nest.packing.windows import (
    batch_costs,
    gives_way,
    has_batch,
    joins_in_time,
    plate_lateness,
    without_windows,
)
from tests.packing.shop import problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.packing.problem import Problem

LATE = ((0.0, 5.0, 9.0), (NEVER, 0.0, 2.0), (NEVER, NEVER, 0.0), (NEVER, NEVER, NEVER))


def problem(windows: list[int], prices: tuple[float, ...] = (0.0, 0.0, 0.0)) -> Problem:
    rows = [row(f"C{n}", 100, 100, job=str(n)) for n in range(len(windows))]
    plain = problem_of(rows, room(sheet(400, 400, price=30.0))).problem
    units = tuple(replace(u, window=w) for u, w in zip(plain.units, windows, strict=True))
    return replace(plain, units=units, late=LATE, batch_prices=prices)


def test_a_plate_costs_in_each_batch_what_its_units_cost_there() -> None:
    assert batch_costs(problem([0, 1]), [0, 1, 1]).tolist() == [NEVER, 5.0, 11.0]


def test_units_join_only_where_nothing_gets_later() -> None:
    made = problem([0, 0, 1, 2])
    assert joins_in_time(made, [0], 1)
    assert not joins_in_time(made, [0], 2)
    assert joins_in_time(made, [3], 0) is False
    assert gives_way(made, [0, 2], 2, 1)
    assert not gives_way(made, [0, 1], 1, 2)
    plain = without_windows(made)
    assert joins_in_time(plain, [0], 2)
    assert plain.late == ()


def test_a_unit_without_any_batch_is_known() -> None:
    made = problem([0, 3])
    assert [has_batch(made, unit) for unit in made.units] == [True, False]


def packed(made: Problem, seed: int = 0) -> list[tuple[list[int], float]]:
    """Return the units of each plate and the lateness the loops counted, of a random packing of everything."""
    bench = Bench(made, seed, 0)
    axes, lots = np.zeros(made.axis_sets, np.int64), np.zeros(1, np.int64)
    found = bench.repack(
        range(len(made.units)), axes, [], lots, [], np.array([12]), bench.data.area * 1e-8, limit=1e9
    )
    assert found.left_area == 0
    out = []
    for layout in found.layouts:
        base = 30.0
        late = sum(plate_lateness(made, plate) for plate in layout.plates)
        assert layout.cost == pytest.approx(base + late)
        out += [(sorted({p.unit for p in plate.placed}), plate_lateness(made, plate)) for plate in layout.plates]
    return out


@pytest.mark.parametrize("seed", range(20))
def test_the_loops_count_what_a_plate_costs_in_its_best_batch(seed: int) -> None:
    random = np.random.default_rng(seed)
    made = problem([int(w) for w in random.integers(0, 3, 12)], tuple(float(p) for p in random.integers(0, 4, 3)))
    for units, late in packed(made, seed):
        assert late < NEVER
        assert late == pytest.approx(float((batch_costs(made, units) + np.array(made.batch_prices)).min()))


def test_units_that_no_batch_makes_together_never_share_a_plate() -> None:
    apart = ((0.0, NEVER), (NEVER, 0.0))
    made = replace(problem([0, 1] * 6), late=apart, batch_prices=(0.0, 0.0))
    for seed in range(20):
        for units, late in packed(made, seed):
            assert late == 0.0
            assert len({made.units[u].window for u in units}) == 1
