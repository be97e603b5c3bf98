"""The loop of the pattern bound: prices by column generation, then whole numbers of sheets; a fixed number of steps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bound_area import variants_of
from nest.packing.bound_cuts import Patterns, Sheets, cut_of, room_of
from nest.packing.bound_pricing import Pricing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.bound_cuts import Cut
    from nest.packing.fits import Fit
    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

SMOOTH = 0.7
"""Share of the best prices known in the next ones tried."""
MIX_TRIES = 4
"""Times as many tries for numbers of sheets whatever the axes as for these with given axes."""
FIRST_CUTS, MOST_CUTS = 8, 3
"""Cuts the program of whole numbers starts with, and most taken in at once."""
MOST_UNITS = 600
"""Units above which the rounds there is time for prove no more than the area program (measured)."""
OPERATIONS = 1e7
"""Elementary operations of one pricing."""
DEAR = 3.0
"""Most a unit may be priced, in dearest sheets: any limit keeps the bound valid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much to do: rounds of pricing for fractional and for whole sheets, tries at one point, nodes of a program."""

    rounds: int
    whole_rounds: int
    tries: int
    nodes: int


def effort_of(units: int, classes: int, effort: float) -> Effort:
    """Return what a bound of so many units and classes of sheets may cost; large problems get fewer rounds."""
    size = max(1.0, units / 130)
    return Effort(
        rounds=max(1, round(100 / size * effort)),
        whole_rounds=round(min(100, 1000 / max(1, classes)) / size * effort),
        tries=8,
        nodes=max(10, round(200 / size * effort)),
    )


def between(known: np.ndarray, new: np.ndarray, idle: int) -> np.ndarray:
    """Return prices between the best known and the program's; nearer to the latter the longer nothing improved.

    The profits proven are capped, so prices that improve nothing need not bring patterns that change the program.
    """
    share = SMOOTH ** (1 + idle) if idle < 4 else 0.0
    return share * known + (1.0 - share) * new


class PatternBound:
    """Cuts of one problem and the strongest bound they prove so far."""

    def __init__(self, problem: Problem, data: Data, fit: Fit, units: Sequence[int], effort: float) -> None:
        self.pricing = Pricing(problem, data, units, OPERATIONS * effort)
        self.effort = effort_of(len(units), len(self.pricing.classes), effort)
        self.room = room_of(problem, self.pricing, fit, units)
        rows = self.pricing.rows
        dearest = max(b.price + problem.rates.plate for b in problem.bins) + 1.0
        self.patterns = Patterns(self.pricing, self.room, np.full(len(rows.typ), DEAR * dearest))
        self.sheets = Sheets(self.pricing, self.room, self.effort.nodes)
        self.sheets.add_areas(problem, fit, units)
        self.known: list[tuple[Cut, np.ndarray]] = []
        self.taken: set[int] = set()
        self.bound = 0.0
        self.start = self._by_area(problem)

    def _by_area(self, problem: Problem) -> np.ndarray:
        """Return prices by area, at the least cost per area of any sheet."""
        m = min(min(level.side, level.lead) for level in problem.levels)
        gap = min(problem.limits.gap, 2 * m)
        per_area = min((v.fixed / v.capacity + v.per_area for v in variants_of(problem)), default=0.0)
        return per_area * np.array([
            sum(float(i.w + gap) * (i.h + gap) for i in problem.units[u].items) for u in self.pricing.rows.sample
        ])  # fmt: skip

    def _try(self, prices: np.ndarray) -> Cut:
        """Price relaxed patterns; take the cut and the columns in."""
        reduced, columns = self.pricing.price(prices)
        cut = cut_of(self.pricing, self.room, prices, reduced)
        self.known.append((cut, prices))
        for column in columns:
            self.patterns.add(column)
        return cut

    def _free_value(self, cut: Cut) -> float:
        """Return the least cost that one cut allows, numbers and axes left fractional."""
        value = cut.base + float(np.minimum(cut.turn * self.room.low, cut.turn * self.room.high).sum())
        for b, stock in self.room.stock.items():
            least = min(float(r) for r, c in zip(cut.reduced, self.pricing.classes, strict=True) if c.bin == b)
            value += stock * min(0.0, least)
        return value

    def fractional(self) -> None:
        """Find prices by column generation until they prove what the program costs, or for the rounds allowed."""
        prices = centre = self.start
        best, idle = -np.inf, 0
        for _ in range(self.effort.rounds):
            value = self._free_value(self._try(prices))
            idle += 1
            if value > best:
                best, centre, idle = value, prices, 0
            solved = self.patterns.solve()
            if solved is None or solved[0] - best < 1e-5 * max(1.0, abs(best)):
                break
            prices = between(centre, solved[1], idle)

    def whole(self) -> None:
        """Raise the bound of whole numbers: seek prices at the cheapest numbers, and again, for the rounds allowed.

        First prices that hold for these numbers whatever the axes, until no more are found; then for single axes.
        """
        self.bound = max(self._free_value(cut) for cut, _ in self.known)
        order = sorted(range(len(self.known)), key=lambda at: (-self._free_value(self.known[at][0]), at))
        self._take(order[:FIRST_CUTS])
        left, settled = self.effort.whole_rounds, set()
        for _ in range(2 * self.effort.whole_rounds + 1):
            found = self.sheets.solve(whole=True)
            if found is None:
                return
            self.bound = max(self.bound, found[0])
            sheets, axes = np.round(found[1]), np.round(found[2])
            # cuts below the cost the program sees at this point would leave it where it is
            level = found[3] + 1e-4 * max(1.0, found[3])
            while not self._take_broken(sheets, axes, level):
                mix = tuple(sheets.astype(int).tolist())
                used = 0
                if left > 0 and mix not in settled:
                    settled.add(mix)
                    used = self._seek(sheets, None, found[3], min(left, self.effort.tries * MIX_TRIES))
                elif left > 0:
                    used = self._seek(sheets, axes, found[3], min(left, self.effort.tries))
                    if used == 0:
                        return
                left -= used
                if left <= 0:
                    break
            if left <= 0 and not self._take_broken(sheets, axes, level):
                return

    def _take(self, chosen: Sequence[int]) -> None:
        """Take known cuts into the program of whole numbers."""
        for at in chosen:
            self.taken.add(at)
            self.sheets.add(self.known[at][0])

    def _take_broken(self, sheets: np.ndarray, axes: np.ndarray, level: float) -> bool:
        """Take in the cuts that lift the bound of given numbers and axes most; return whether there are any."""
        values = [
            (self._value(cut, sheets, axes), at) for at, (cut, _) in enumerate(self.known) if at not in self.taken
        ]
        broken = sorted((v for v in values if v[0] > level), key=lambda v: (-v[0], v[1]))
        self._take([at for _, at in broken[:MOST_CUTS]])
        return bool(broken)

    def _value(self, cut: Cut, sheets: np.ndarray, axes: np.ndarray | None) -> float:
        """Return what a cut proves at given numbers and axes, or at the axes that suit it best."""
        if axes is None:
            turned = float(np.minimum(cut.turn * self.room.low, cut.turn * self.room.high).sum())
        else:
            turned = float(cut.turn @ axes)
        return cut.base + turned + float(cut.reduced @ sheets)

    def _seek(self, sheets: np.ndarray, axes: np.ndarray | None, level: float, most: int) -> int:
        """Seek prices whose cut lifts the bound of given numbers and axes above ``level``; return the rounds used.

        With the axes left open all the lift there is is sought, since it counts for every choice of axes.
        """
        best, centre = max(((self._value(cut, sheets, axes), at) for at, (cut, _) in enumerate(self.known)))
        prices_at = self.known[centre][1]
        self.patterns.hold(sheets, axes)
        idle = 0
        enough = level + (0.002 if axes is not None else 0.02) * max(1.0, level)
        for used in range(most):
            solved = self.patterns.solve()
            if solved is None or solved[0] <= best + 0.01:
                return used
            prices = between(prices_at, solved[1], idle)
            idle += 1
            now = self._value(self._try(prices), sheets, axes)
            if now > best:
                best, prices_at, idle = now, prices, 0
            if best > enough:
                return used + 1
        return most


def pattern_bound(
    problem: Problem, data: Data, fit: Fit, units: Sequence[int], effort: float = 1.0
) -> float:
    """Return the pattern bound of placing ``units``, never below the area program; 0 where there is nothing to price.

    ``effort`` scales the counts of steps; the result depends on nothing else.
    """
    if not units or not problem.bins or len(units) > MOST_UNITS or effort <= 0.0:
        return 0.0
    work = PatternBound(problem, data, fit, units, effort)
    if not work.pricing.classes:
        return 0.0
    work.fractional()
    work.whole()
    return work.bound
