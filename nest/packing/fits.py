"""Which bins a unit fits at all, along which axis: asked once, before the search.

A single item is judged exactly (the smallest plate around it, every lead edge and cut); a bundle by trying to pack it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.arrays import data_of
from nest.packing.kernels.chance import new_state
from nest.packing.kernels.data import new_layout, new_scratch
from nest.packing.kernels.plate import NO_PLATE, cheapest_plate
from nest.packing.kernels.repack import repack

if TYPE_CHECKING:
    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem, Unit

BUNDLE_TRIALS = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Bins that take each unit along axis 0 and along axis 1, empty where none does."""

    along: tuple[frozenset[int], ...]
    across: tuple[frozenset[int], ...]

    def any_axis(self, unit: int) -> frozenset[int]:
        """Return the bins that take a unit along either axis."""
        return self.along[unit] | self.across[unit]


def fits_of(problem: Problem, seed: int) -> Fit:
    """Return which bins take each unit, stock left aside."""
    if not problem.units or not problem.bins:
        none = tuple(frozenset[int]() for _ in problem.units)
        return Fit(along=none, across=none)
    data = data_of(problem)
    known: dict[tuple[int, int], frozenset[int]] = {}
    sides: tuple[list[frozenset[int]], list[frozenset[int]]] = ([], [])
    for index, unit in enumerate(problem.units):
        for axis in range(2):
            key = (int(data.typ[index]), axis)
            if key not in known:
                known[key] = single_fit(problem, data, unit, axis) if len(unit.items) == 1 else (
                    bundle_fit(problem, unit, axis, seed))
            sides[axis].append(known[key])
    return Fit(along=tuple(sides[0]), across=tuple(sides[1]))


def single_fit(problem: Problem, data: Data, unit: Unit, axis: int) -> frozenset[int]:
    """Return the bins that take a one-item unit along an axis."""
    item = unit.items[0]
    if item.axes and not item.axes & (1 << axis):
        return frozenset()
    w, h = (item.w, item.h) if axis == 0 else (item.h, item.w)
    size = np.zeros(4, np.int64)
    parts, level = problem.limits.parts - 1, problem.levels[unit.level]
    return frozenset(
        b
        for b in unit.bins
        if cheapest_plate(
            data.lim, data.rate, data.bin_w[b], data.bin_h[b], w, h, 0, 0, level.lead, level.side, parts, 0,
            0.0, 0.0, -1, size,
        ) < NO_PLATE
    )


def bundle_fit(problem: Problem, unit: Unit, axis: int, seed: int) -> frozenset[int]:
    """Return the bins for which random packing found a place for the whole bundle with its set along an axis."""
    if unit.axis_set < 0 and axis == 1:
        return frozenset()
    own = replace(
        unit,
        axis_set=0 if unit.axis_set >= 0 else -1,
        lot_set=-1,
        bins=tuple(range(len(unit.bins))),
        group=0,
    )
    small = replace(problem, units=(own,), bins=tuple(problem.bins[b] for b in unit.bins), axis_sets=1)
    data = data_of(small)
    items = len(unit.items)
    ws = new_scratch(1, 1, 1 + max(item.row for item in unit.items), items, len(problem.batch_prices))
    buffers = [new_layout(items, 1, problem.limits.parts) for _ in range(4)]
    rng = new_state(seed, 7)
    none = np.zeros(0, np.int64)
    found = set()
    for at, b in enumerate(unit.bins):
        stock = np.zeros(len(unit.bins), np.int64)
        stock[at] = 1
        left, _, _ = repack(
            data, ws, np.zeros(1, np.int64), np.full(1, axis, np.int64), none, np.zeros(1, np.int64), none, 1, stock,
            np.full(1, 1e12), BUNDLE_TRIALS, 4, 1e300, rng, *buffers,
        )  # fmt: skip
        if left == 0:
            found.add(b)
    return frozenset(found)
