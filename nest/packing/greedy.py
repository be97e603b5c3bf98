"""A first solution for a large problem: sheet after sheet, each the best of many fills from a wide choice of units.

With hundreds of units to choose from, nearly every bin can be filled well; what fits badly is left for the end and
searched there. A unit is worth its share by area of what bins usually cost; bins are taken by cost per worth
(exhaustive repetition, Dyckhoff 1981, doi 10.1287/opre.29.6.1092, with random fills instead of an exact subproblem).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bench import Bench
from nest.packing.pool import Seeds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.control import Stop
    from nest.packing.problem import BinLayout, Problem
    from nest.packing.state import State

WINDOW_UNITS = 260
FILLS = (80, 160, 320)
PICKED_AT_ONCE = 3
NEAR_BEST = (1.0, 1.005, 1.02)
GENEROUS = 1.12
"""How much more than usual a unit counts, so that fills somewhat dearer than usual are met too."""
LAST_UNITS = 40
MOST_LARGER = 0.12
"""A unit's worth grows with its area to a power drawn up to this much above one: large units early, small ones fill."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """A filled bin with its units and its cost per worth of what it holds."""

    layout: BinLayout
    units: tuple[int, ...]
    ratio: float


class Greedy:
    """Fills bins one after another into a state."""

    def __init__(self, problem: Problem, state: State, bendable: frozenset[int], seed: int, stream: int) -> None:
        self.problem, self.state = problem, state
        self.bench = Bench(problem, seed, stream)
        rates = [(b.price + problem.rates.plate) / (0.85 * b.w * b.h) + problem.rates.process for b in problem.bins]
        self.fills, self.near_best = FILLS[self.bench.below(len(FILLS))], NEAR_BEST[self.bench.below(len(NEAR_BEST))]
        worth = state.area.astype(np.float64) ** (1.0 + MOST_LARGER * self.bench.chance())
        self.worth = worth * (GENEROUS * min(rates) * float(state.area.sum()) / float(worth.sum()))
        axis_free, lot_free = state.free_sets([])
        free = bendable & set(axis_free)
        self.axes = np.array([-1 if s in free else int(a) for s, a in enumerate(state.axes)], np.int64)
        self.lots = np.array([-1 if s in lot_free else int(a) for s, a in enumerate(state.lots)], np.int64)
        self.no_bin_prices = np.zeros(len(problem.bins))
        self.size = float(np.mean([b.price for b in problem.bins])) + problem.rates.plate

    def window(self) -> list[int]:
        """Return the left-over units of jobs drawn at random, up to a few hundred."""
        jobs: dict[int, list[int]] = {}
        for u in sorted(self.state.left):
            jobs.setdefault(self.problem.units[u].job, []).append(u)
        order = list(jobs.values())
        out: list[int] = []
        while order and len(out) < WINDOW_UNITS:
            out += order.pop(self.bench.below(len(order)))
        return out

    def prices(self) -> np.ndarray:
        """Return the worth per (type, axis)."""
        types = int(self.bench.data.typ.max()) + 1
        out = np.zeros((types, 2))
        out[self.bench.data.typ] = self.worth[:, None]
        return out

    def found(self, units: Sequence[int], prices: np.ndarray) -> list[Rated]:
        """Return bins filled with some of the units, the cheapest per worth first."""
        specs = [self.problem.units[u] for u in units]
        axis_free = sorted({s.axis_set for s in specs if s.axis_set >= 0 and self.axes[s.axis_set] < 0})
        lot_free = sorted({s.lot_set for s in specs if s.lot_set >= 0 and self.lots[s.lot_set] < 0})
        none = Seeds(
            units=np.zeros((0, 1), np.int64), axes=np.zeros((0, len(self.axes)), np.int64),
            bins=np.zeros(0, np.int64), states=np.zeros(0, np.uint64),
        )  # fmt: skip
        _, layouts = self.bench.price(
            units, np.maximum(self.axes, 0), axis_free, np.maximum(self.lots, 0), lot_free, self.state.stock, prices,
            self.no_bin_prices, none, self.fills, 0.0,
        )  # fmt: skip
        rated = []
        for layout in layouts:
            inside = tuple(sorted(layout.units))
            rated.append(Rated(layout=layout, units=inside, ratio=layout.cost / float(self.worth[list(inside)].sum())))
        return sorted(rated, key=lambda r: (r.ratio, r.units))

    def agrees(self, layout: BinLayout) -> bool:
        """Return whether a bin keeps the axes and lots chosen so far, and note those it chooses."""
        axes, lots = self.axes.copy(), self.lots.copy()
        for plate in layout.plates:
            for placed in plate.placed:
                unit = self.problem.units[placed.unit]
                if unit.axis_set >= 0 and unit.items[placed.item].axes == 0:
                    if axes[unit.axis_set] not in (-1, placed.axis):
                        return False
                    axes[unit.axis_set] = placed.axis
                if unit.lot_set >= 0:
                    lot = self.problem.bins[layout.bin].lot
                    if lots[unit.lot_set] not in (-1, lot):
                        return False
                    lots[unit.lot_set] = lot
        self.axes, self.lots = axes, lots
        return True

    def run(self, stop: Stop, work: int) -> int:
        """Fill bins until few units are left, nothing is found or a limit is reached; return the work done."""
        state, prices = self.state, self.prices()
        while len(state.left) > LAST_UNITS and not stop.reached(work + self.bench.work):
            rated = self.found(self.window(), prices)
            taken = 0
            for one in rated:
                if taken == PICKED_AT_ONCE or one.ratio > self.near_best * rated[0].ratio:
                    break
                if state.left.issuperset(one.units) and state.stock[one.layout.bin] > 0 and self.agrees(one.layout):
                    state.take(one.layout)
                    taken += 1
            if not taken:
                break
        state.axes, state.lots = np.maximum(self.axes, 0), np.maximum(self.lots, 0)
        return self.bench.work
