"""Column generation and rounding dives: from prices to columns, and from a fractional optimum to whole bins.

A dive fixes the bins the linear program wants most, one after another, prices new ones for what is left in between,
and packs the last few bins' worth of units at random. Source of the scheme: rounding heuristics for column generation
(Wäscher & Gau 1996, doi 10.1007/BF01539705; Sadykov et al. 2019, doi 10.1287/ijoc.2018.0822).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.master import Master

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.packing.bench import Bench
    from nest.packing.master import Relaxed
    from nest.packing.pool import Pool, Seeds
    from nest.packing.problem import BinLayout

NEAR_SHARE = 0.15
LAST_BINS = (0.6, 1.2, 2.0, 3.0)
"""So many bins' area is packed at random at the end of a dive; each dive draws one of these."""
MOST_SEEDS = 64
NOISE = 0.25
ROUND_FILLS = 240
DIVE_FILLS = 60
LAST_TRIALS = 60
ATTEMPTS_PER_SOLVE, ATTEMPTS_PER_ITERATION = 6000, 60
"""What solving the program counts as in attempts to place an item, as such and per iteration: about the same time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What to place: units, the stock they may draw on, where sets start and which sets may still choose."""

    units: tuple[int, ...]
    stock: np.ndarray
    axes: np.ndarray
    axis_free: tuple[int, ...]
    lots: np.ndarray
    lot_free: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dived:
    """A whole solution of a task: its bins, the axes and lots it chose, its cost."""

    layouts: tuple[BinLayout, ...]
    axes: np.ndarray
    lots: np.ndarray
    cost: float


class Diver:
    """Column generation and dives for one task on a shared pool."""

    def __init__(
        self, bench: Bench, pool: Pool, task: Task, dear: float, size: float, value: np.ndarray
    ) -> None:
        """``dear`` is the price of leaving a unit out, ``size`` that of a usual bin, ``value`` that of each unit."""
        self.bench, self.pool, self.task, self.size, self.value = bench, pool, task, size, value
        self.master = Master(bench.problem, pool, task.units, task.stock, dear)
        self.root_axes = np.where(np.isin(np.arange(len(task.axes)), task.axis_free), -1, task.axes)
        self.root_lots = np.where(np.isin(np.arange(len(task.lots)), task.lot_free), -1, task.lots)
        self.area = bench.data.area
        self.wide = max(float(b.w) * b.h for b in bench.problem.bins)

    def relax(self, left: np.ndarray, axes: np.ndarray, lots: np.ndarray, stock: np.ndarray) -> Relaxed | None:
        """Return the optimum of the linear program over all known columns for what is left."""
        self.master.grow()
        self.master.focus(left, axes, stock, self.pool.allowed(left, axes, lots, stock))
        before = self.master.iterations
        relaxed = self.master.solve()
        self.bench.charge(ATTEMPTS_PER_SOLVE + ATTEMPTS_PER_ITERATION * (self.master.iterations - before))
        return relaxed

    def search_columns(
        self, units: Sequence[int], axes: np.ndarray, lots: np.ndarray, stock: np.ndarray, relaxed: Relaxed, fills: int
    ) -> bool:
        """Price random fills of some units; return whether new columns came in."""
        axis_free = sorted({s for u in units if (s := self.bench.problem.units[u].axis_set) >= 0 and axes[s] < 0})
        lot_free = sorted({s for u in units if (s := self.bench.problem.units[u].lot_set) >= 0 and lots[s] < 0})
        _, found = self.bench.price(
            units, np.maximum(axes, 0), axis_free, np.maximum(lots, 0), lot_free, stock, relaxed.prices,
            relaxed.bin_prices, self.seeds(units, relaxed), fills, NEAR_SHARE * self.size,
        )  # fmt: skip
        added = [self.pool.add(layout) for layout in found]
        return any(added)

    def seeds(self, units: Sequence[int], relaxed: Relaxed) -> Seeds:
        """Return the columns the linear program uses most, as starts for further fills."""
        liked = np.flatnonzero(relaxed.levels > 1e-6)
        order = liked[np.argsort(-relaxed.levels[liked], kind="stable")]
        return self.pool.seeds(order[:MOST_SEEDS].tolist(), units)

    def generate(self, rounds: int, ended: Callable[[], bool]) -> Relaxed | None:
        """Generate columns for the whole task until none are found, ``rounds`` are over or the search has ended."""
        left, idle, relaxed = self.master.demand, 0, None
        for _ in range(rounds):
            relaxed = self.relax(left, self.root_axes, self.root_lots, self.task.stock)
            if relaxed is None or ended():
                break
            found = self.search_columns(
                self.task.units, self.root_axes, self.root_lots, self.task.stock, relaxed, ROUND_FILLS
            )
            idle = 0 if found else idle + 1
            if idle >= 2:
                break
        return relaxed

    def dive(self, limit: float, ended: Callable[[], bool]) -> Dived | None:
        """Return a whole solution, or None where it would cost more than ``limit`` or the search has ended."""
        bench, pool = self.bench, self.pool
        left, stock = self.master.demand.copy(), self.task.stock.copy()
        axes, lots = self.root_axes.copy(), self.root_lots.copy()
        chosen: list[int] = []
        cost = 0.0
        units = list(self.task.units)
        last = LAST_BINS[bench.below(len(LAST_BINS))] * self.wide
        while units:
            if float(self.area[units].sum()) < last:
                return self.finish(chosen, units, axes, lots, stock, limit - cost)
            relaxed = self.relax(left, axes, lots, stock)
            if relaxed is None or ended() or cost + relaxed.value > limit:
                return None
            if self.search_columns(units, axes, lots, stock, relaxed, DIVE_FILLS):
                relaxed = self.relax(left, axes, lots, stock) or relaxed
            levels = relaxed.levels
            tempting = np.flatnonzero(levels > 1e-6)
            if not tempting.size:
                return self.finish(chosen, units, axes, lots, stock, limit - cost)
            noise = np.array([bench.chance() for _ in tempting])
            order = tempting[np.argsort(-(levels[tempting] + NOISE * noise), kind="stable")]
            for c in [int(order[0]), *(int(c) for c in order[1:] if levels[c] >= 1.0 - 1e-6)]:
                times = max(1, int(levels[c] + 1e-6))
                for _ in range(times):
                    if not pool.allowed(left, axes, lots, stock)[c]:
                        break
                    chosen.append(c)
                    cost += float(pool.costs[c])
                    left -= pool.counts[c]
                    stock[pool.bins[c]] -= 1
                    axes = np.where(pool.axes[c] >= 0, pool.axes[c], axes)
                    lots = np.where(pool.lots[c] >= 0, pool.lots[c], lots)
            units = self.units_left(left)
        return self.finish(chosen, [], axes, lots, stock, limit - cost)

    def units_left(self, left: np.ndarray) -> list[int]:
        """Return units of the task for the counts left per type."""
        free = left.copy()
        out = []
        for u in self.task.units:
            t = self.pool.typ[u]
            if free[t] > 0:
                free[t] -= 1
                out.append(u)
        return out

    def finish(
        self,
        chosen: list[int],
        units: list[int],
        axes: np.ndarray,
        lots: np.ndarray,
        stock: np.ndarray,
        limit: float,
    ) -> Dived | None:
        """Pack the last units at random and put the whole solution together."""
        whole_axes, whole_lots = np.maximum(axes, 0), np.maximum(lots, 0)
        last: tuple[BinLayout, ...] = ()
        if units:
            specs = [self.bench.problem.units[u] for u in units]
            axis_free = sorted({s.axis_set for s in specs if s.axis_set >= 0 and axes[s.axis_set] < 0})
            lot_free = sorted({s.lot_set for s in specs if s.lot_set >= 0 and lots[s.lot_set] < 0})
            outcome = self.bench.repack(
                units, whole_axes, axis_free, whole_lots, lot_free, stock, self.value, limit=limit,
                effort=4.0, most_trials=LAST_TRIALS,
            )  # fmt: skip
            if outcome.left_area:
                return None
            whole_axes, whole_lots, last = outcome.axes, outcome.lots, outcome.layouts
            for layout in last:
                self.pool.add(layout)
        free = set(units)
        layouts = [*self.pool.assign(chosen, [u for u in self.task.units if u not in free]), *last]
        return Dived(
            layouts=tuple(layouts), axes=whole_axes, lots=whole_lots, cost=sum(layout.cost for layout in layouts)
        )
