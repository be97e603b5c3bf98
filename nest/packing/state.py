"""The search's working solution: which bins are filled how, which units are left, which way each set lies.

Mutable, but owned by the search alone; what leaves the search is a frozen ``Solution``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.packing.bench import Outcome
    from nest.packing.problem import BinLayout, Problem

SAME_COST = 1e-6
"""Costs closer than this differ by rounding noise alone: all parts of a cost are whole cents, or prices as typed."""


class State:
    """Filled bins of one problem and everything that hangs on them."""

    def __init__(self, problem: Problem, wanted: Sequence[int], axes: np.ndarray) -> None:
        """Start with nothing placed; ``wanted`` are the units to place, ``axes`` the axis of each set."""
        self.problem, self.wanted = problem, tuple(wanted)
        self.layouts: list[BinLayout] = []
        self.units: list[tuple[int, ...]] = []
        self.left: set[int] = set(wanted)
        self.axes = axes
        self.lots = np.zeros(max(1, problem.lot_sets), np.int64)
        self.stock = np.array([min(b.stock, len(problem.units)) for b in problem.bins], np.int64)
        self.area = np.array([sum((i.w + problem.limits.gap) * (i.h + problem.limits.gap) for i in u.items)
                              for u in problem.units], np.int64)
        self.axis_size = self._sizes("axis_set", problem.axis_sets)
        self.lot_size = self._sizes("lot_set", problem.lot_sets)

    def _sizes(self, name: str, count: int) -> list[int]:
        sizes = [0] * count
        for u in self.wanted:
            at = getattr(self.problem.units[u], name)
            if at >= 0:
                sizes[at] += 1
        return sizes

    def copy(self) -> State:
        """Return a snapshot; layouts are frozen and shared."""
        twin = object.__new__(State)
        twin.problem, twin.wanted, twin.area = self.problem, self.wanted, self.area
        twin.axis_size, twin.lot_size = self.axis_size, self.lot_size
        twin.layouts, twin.units, twin.left = self.layouts.copy(), self.units.copy(), self.left.copy()
        twin.axes, twin.lots, twin.stock = self.axes.copy(), self.lots.copy(), self.stock.copy()
        return twin

    @property
    def cost(self) -> float:
        """Cost of all filled bins."""
        return sum(layout.cost for layout in self.layouts)

    @property
    def rank(self) -> tuple[int, float, float]:
        """What states compare by: unplaced area, earliness of what is unplaced, cost."""
        area = sum(int(self.area[u]) for u in self.left)
        early = sum(float(self.area[u]) * self.problem.units[u].early for u in sorted(self.left))
        return (area, early, self.cost)

    @property
    def neatness(self) -> tuple[int, int, int, float]:
        """What solutions of equal cost compare by, the less the better.

        Plates, axial width of all plates, pairs of a job and a plate (a job split over more plates has more), and
        how large and square the kept rests are, negative.
        """
        plates = [plate for layout in self.layouts for plate in layout.plates]
        units = self.problem.units
        axial = sum(plate.w if plate.lead == 0 else plate.h for plate in plates)
        pairs = sum(len({units[placed.unit].job for placed in plate.placed}) for plate in plates)
        kept = [rest for layout in self.layouts for rest in layout.rests if rest.kept]
        return (len(plates), axial, pairs, -sum(float(min(rest.w, rest.h)) ** 2 for rest in kept))

    def beats(self, other: State) -> bool:
        """Return whether this solution is better: places more, costs less, or costs the same and is neater."""
        mine, rival = self.rank, other.rank
        if mine[:2] != rival[:2] or abs(mine[2] - rival[2]) > SAME_COST:
            return mine < rival
        return self.neatness < other.neatness

    def free_sets(self, units: Iterable[int]) -> tuple[list[int], list[int]]:
        """Return the axis sets and lot sets of which no unit is placed outside ``units``."""
        inside = set(units) | self.left
        axis = [0] * len(self.axis_size)
        lot = [0] * len(self.lot_size)
        for u in inside:
            spec = self.problem.units[u]
            if spec.axis_set >= 0:
                axis[spec.axis_set] += 1
            if spec.lot_set >= 0:
                lot[spec.lot_set] += 1
        return (
            [s for s, n in enumerate(axis) if n and n == self.axis_size[s]],
            [s for s, n in enumerate(lot) if n and n == self.lot_size[s]],
        )

    def stock_without(self, bins: Sequence[int]) -> np.ndarray:
        """Return the stock with the filled bins of those indices given back."""
        stock = self.stock.copy()
        for at in bins:
            stock[self.layouts[at].bin] += 1
        return stock

    def load(self, layouts: Iterable[BinLayout], axes: np.ndarray, lots: np.ndarray) -> None:
        """Start over from given filled bins."""
        for layout in self.layouts:
            self.stock[layout.bin] += 1
        self.layouts, self.units, self.left = [], [], set(self.wanted)
        self.axes, self.lots = axes.copy(), lots.copy()
        for layout in layouts:
            self.take(layout)

    def take(self, layout: BinLayout) -> None:
        """Add one filled bin."""
        units = tuple(sorted(layout.units))
        self.layouts.append(layout)
        self.units.append(units)
        self.left.difference_update(units)
        self.stock[layout.bin] -= 1

    def replace(self, bins: Sequence[int], outcome: Outcome) -> None:
        """Take filled bins out and put an outcome's in."""
        self.exchange(bins, outcome.layouts, outcome.axes, outcome.lots)

    def exchange(
        self, bins: Sequence[int], layouts: Iterable[BinLayout], axes: np.ndarray, lots: np.ndarray
    ) -> None:
        """Take filled bins out and put others in; units those do not hold become left over."""
        for at in sorted(bins, reverse=True):
            layout = self.layouts.pop(at)
            self.left.update(self.units.pop(at))
            self.stock[layout.bin] += 1
        for layout in layouts:
            self.take(layout)
        self.axes, self.lots = axes.copy(), lots.copy()
