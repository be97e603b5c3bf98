"""The compiled loops behind one object: one problem's arrays, scratch space and random state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.arrays import data_of, layouts_of
from nest.packing.control import ATTEMPTS_PER_UNIT
from nest.packing.kernels.chance import new_state, uniform
from nest.packing.kernels.data import new_layout, new_scratch
from nest.packing.kernels.price import price_bins
from nest.packing.kernels.repack import repack

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.pool import Seeds
    from nest.packing.problem import BinLayout, Problem

EFFORT_UNITS = 1500
"""Units a repack of the usual number of trials handles; larger sets of units get fewer trials."""
PRICE_BATCH, PRICE_STEPS = 40, 40
ATTEMPTS_PER_CALL = 1000
"""What calling the loops counts as beside what they do themselves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a repack found. ``left_area`` and ``left_early`` rate the units left over; axes and lots are per set."""

    left_area: int
    left_early: float
    cost: float
    layouts: tuple[BinLayout, ...]
    axes: np.ndarray
    lots: np.ndarray

    @property
    def rank(self) -> tuple[int, float, float]:
        """What outcomes compare by: unplaced area, earliness of what is unplaced, cost."""
        return (self.left_area, self.left_early, self.cost)


class Bench:
    """Repacks sets of units of one problem; owns all mutable state of the compiled loops."""

    def __init__(self, problem: Problem, seed: int, stream: int) -> None:
        self.problem = problem
        self.data = data_of(problem)
        units = len(problem.units)
        items = int(self.data.w.shape[0])
        rows = int(self.data.row.max(initial=-1)) + 1
        types = int(self.data.typ.max(initial=-1)) + 1
        self._scratch = new_scratch(units, types, rows, items, len(problem.batch_prices))
        self._buffers = [new_layout(items, units, problem.limits.parts) for _ in range(4)]
        self._rng = new_state(seed, stream)
        self._columns = new_layout((1 + PRICE_BATCH // 4) * items + 64, PRICE_BATCH, problem.limits.parts)

    @property
    def work(self) -> int:
        """Work done so far, in units of a thousand placement attempts."""
        return int(self._scratch.work[0]) // ATTEMPTS_PER_UNIT

    def charge(self, attempts: int) -> None:
        """Count work done elsewhere, in placement attempts."""
        self._scratch.work[0] += attempts

    def chance(self) -> float:
        """Return the next random number in [0, 1)."""
        return float(uniform(self._rng))

    def below(self, n: int) -> int:
        """Return the next random whole number in 0..n-1."""
        return int(self.chance() * n)

    def repack(
        self,
        units: Sequence[int],
        axes: np.ndarray,
        axis_free: Sequence[int],
        lots: np.ndarray,
        lot_free: Sequence[int],
        stock: np.ndarray,
        value: np.ndarray,
        effort: float = 1.0,
        limit: float = 1e300,
        most_trials: int = 20,
    ) -> Outcome:
        """Pack units anew; the sets listed as free may change axis or lot, the others keep theirs.

        ``effort`` scales the number of trials, ``limit`` cuts trials that cost more short.
        """
        n = len(units)
        own_axes, own_lots = axes.copy(), lots.copy()
        trials = max(2, min(most_trials, round(effort * EFFORT_UNITS / max(1, n))))
        fills = max(3, min(16, 1600 // max(1, n)))
        self.charge(ATTEMPTS_PER_CALL)
        best = self._buffers[3]
        best.used[:] = 0
        area, early, cost = repack(
            self.data, self._scratch, np.array(units, np.int64), own_axes, np.array(axis_free, np.int64), own_lots,
            np.array(lot_free, np.int64), self.problem.lots, stock, value, trials, fills, limit, self._rng,
            *self._buffers,
        )  # fmt: skip
        layouts = tuple(layouts_of(best, self.data, self.problem))
        return Outcome(
            left_area=int(area),
            left_early=float(early),
            cost=float(cost),
            layouts=layouts,
            axes=own_axes,
            lots=own_lots,
        )

    def price(
        self,
        units: Sequence[int],
        axes: np.ndarray,
        axis_free: Sequence[int],
        lots: np.ndarray,
        lot_free: Sequence[int],
        stock: np.ndarray,
        prices: np.ndarray,
        bin_prices: np.ndarray,
        seeds: Seeds,
        fills: int,
        near: float,
    ) -> tuple[float, list[BinLayout]]:
        """Return the least reduced cost met in so many fills and the bins found below zero.

        ``prices`` is (types, 2) by axis, ``bin_prices`` the price of limited stock; ``seeds`` are columns to start
        from; fills below ``near`` are improved.
        """
        self.charge(ATTEMPTS_PER_CALL)
        out = self._columns
        out.used[:] = 0
        least = price_bins(
            self.data, self._scratch, np.array(units, np.int64), axes.copy(), np.array(axis_free, np.int64),
            lots.copy(), np.array(lot_free, np.int64), self.problem.lots, stock, prices, bin_prices, seeds.units,
            seeds.axes, seeds.bins, seeds.states, fills, PRICE_STEPS, near, self._rng, *self._buffers[:2], out,
        )  # fmt: skip
        return float(least), layouts_of(out, self.data, self.problem)
