"""In which batches the units of a plate can be made together, and what that costs beyond each unit's best batch."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.problem import NEVER

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.packing.problem import PlateLayout, Problem, Unit

TIE = 1e-9


def batch_costs(problem: Problem, units: Iterable[int]) -> np.ndarray:
    """Return what a plate with these units costs in each batch, (batches,), without the price of the batch."""
    rows = [problem.late[problem.units[u].window] for u in sorted(set(units))]
    table = np.array(rows, np.float64).reshape(len(rows), len(problem.batch_prices))
    return np.asarray(table.sum(axis=0))


def plate_lateness(problem: Problem, plate: PlateLayout) -> float:
    """Return what a plate costs in its best batch; 0 where batches do not matter."""
    if not problem.batch_prices:
        return 0.0
    costs = batch_costs(problem, (placed.unit for placed in plate.placed)) + np.array(problem.batch_prices)
    return float(costs.min())


def joins_in_time(problem: Problem, here: Iterable[int], unit: int) -> bool:
    """Return whether a unit can join units on a plate without making anything later than it has to be."""
    if not problem.batch_prices:
        return True
    before = batch_costs(problem, here)
    after = before + np.array(problem.late[problem.units[unit].window])
    return float(after.min()) <= float(before.min()) + TIE


def gives_way(problem: Problem, here: Iterable[int], gone: int, unit: int) -> bool:
    """Return whether a unit can take another one's place on a plate without making anything later."""
    if not problem.batch_prices:
        return True
    units = set(here)
    before = batch_costs(problem, units)
    after = batch_costs(problem, units - {gone} | {unit})
    return float(after.min()) <= float(before.min()) + TIE


def has_batch(problem: Problem, unit: Unit) -> bool:
    """Return whether there is a batch a unit can be made in."""
    return not problem.batch_prices or min(problem.late[unit.window]) < NEVER


def without_windows(problem: Problem) -> Problem:
    """Return the problem as it is where all batches are one: bounds of it hold for any batches."""
    if not problem.batch_prices:
        return problem
    units = tuple(replace(unit, window=0) for unit in problem.units)
    return replace(problem, units=units, late=(), batch_prices=())
