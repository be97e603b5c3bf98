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
FINE = 6.0
"""Times as many operations of one pricing on the finer grid."""
BOX = 0.03
"""Width of the box prices are sought in first, as a share of the best known."""
NARROW_BOX = 0.2
"""The same where some axes are given: far prices may be better there."""
ENOUGH = 0.01
"""Lift at given numbers of sheets, as a share of the bound, after which other numbers are looked at again."""
STARTS = 8
"""Prices priced anew on the finer grid before new ones are sought."""
DEAR = 3.0
"""Most a unit may be priced, in dearest sheets: any limit keeps the bound valid."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How much to do: rounds of pricing for fractional and for whole sheets, tries at one point, nodes of a program."""

    rounds: int
    whole_rounds: int
    fine_rounds: int
    tries: int
    nodes: int


def effort_of(units: int, classes: int, effort: float) -> Effort:
    """Return what a bound of so many units and classes of sheets may cost; large problems get fewer rounds."""
    size = max(1.0, units / 100)
    return Effort(
        rounds=max(1, round(50 / size * effort)),
        whole_rounds=round(min(100, 1000 / max(1, classes)) / size * effort),
        fine_rounds=round(24 / size * effort),
        tries=8,
        nodes=max(10, round(200 / size * effort)),
    )


def between(known: np.ndarray, new: np.ndarray, idle: int) -> np.ndarray:
    """Return prices between the best known and the program's; nearer to the latter the longer nothing improved.

    The profits proven are capped, so prices that improve nothing need not bring patterns that change the program.
    """
    share = SMOOTH ** (1 + idle) if idle < 4 else 0.0
    return share * known + (1.0 - share) * new


Box = tuple[np.ndarray, np.ndarray]
"""Least and largest axis of each set."""


class PatternBound:
    """Cuts of one problem and the strongest bound they prove so far."""

    def __init__(self, problem: Problem, data: Data, fit: Fit, units: Sequence[int], effort: float) -> None:
        self.inputs = problem, data, units, effort
        self.pricing = Pricing(problem, data, units, OPERATIONS * effort)
        self.effort = effort_of(len(units), len(self.pricing.classes), effort)
        self.room = room_of(problem, self.pricing, fit, units)
        rows = self.pricing.rows
        dearest = max(b.price + problem.rates.plate for b in problem.bins) + 1.0
        self.dear = np.full(len(rows.typ), DEAR * dearest)
        self.patterns = Patterns(self.pricing, self.room, self.dear)
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

    def whole(self, rounds: int) -> None:
        """Raise the bound of whole numbers: seek prices at the cheapest numbers, and again, for the rounds allowed.

        First prices that hold for these numbers whatever the axes, until no more are found; then for single axes.
        """
        self.bound = max(self.bound, *(self._free_value(cut) for cut, _ in self.known))
        order = sorted(range(len(self.known)), key=lambda at: (-self._free_value(self.known[at][0]), at))
        self._take([at for at in order[:FIRST_CUTS] if at not in self.taken])
        left = rounds
        settled: set[tuple[int, ...]] = set()
        for _ in range(2 * rounds + 1):
            found = self.sheets.solve(whole=True)
            if found is None:
                return
            self.bound = max(self.bound, found[0])
            sheets, axes = np.round(found[1]), np.round(found[2])
            # cuts below the cost the program sees at this point would leave it where it is
            level = found[3] + 1e-4 * max(1.0, found[3])
            while not self._take_broken(sheets, axes, level):
                box = self._next_box(sheets, axes, settled)
                if box is None or left <= 0:
                    return
                used, spent = self._seek(sheets, box, found[3], left)
                left -= max(1, used)
                if spent:
                    settled.add(self._key(sheets, box))

    @staticmethod
    def _key(sheets: np.ndarray, box: Box) -> tuple[int, ...]:
        """Return a name of numbers of sheets and a box of axes."""
        axes = (-1 if a < b else round(float(a)) for a, b in zip(*box, strict=True))
        return (*sheets.astype(int).tolist(), -1, *axes)

    def _next_box(self, sheets: np.ndarray, axes: np.ndarray, settled: set[tuple[int, ...]]) -> Box | None:
        """Return the widest choice of axes around given ones for which there may be better prices at these numbers.

        First all axes are left open, then those of the largest sets are taken as given, one more and more at a time.
        """
        low, high = self.room.low.copy(), self.room.high.copy()
        for fixed in range(len(self.room.order) + 1):
            if fixed:
                at = self.room.order[fixed - 1]
                if low[at] == high[at] and fixed < len(self.room.order):
                    continue
                low[at] = high[at] = axes[at]
            if self._key(sheets, (low, high)) not in settled:
                return low, high
        return None

    def refine(self) -> bool:
        """Go on with a finer grid: the best prices so far are priced anew, and only finer patterns are kept."""
        problem, data, units, effort = self.inputs
        # bars gain nothing from finer cells
        if problem.limits.free_cutting or self.effort.fine_rounds < 1:
            return False
        finer = Pricing(problem, data, units, FINE * OPERATIONS * effort)
        if finer.classes != self.pricing.classes:
            return False
        self.pricing = finer
        self.patterns = Patterns(finer, self.room, self.dear)
        found = self.sheets.solve(whole=True)
        sheets = None if found is None else np.round(found[1])
        open_axes = self.room.low, self.room.high
        worth = [
            self._free_value(cut) if sheets is None else self._value(cut, sheets, open_axes) for cut, _ in self.known
        ]
        for at in sorted(range(len(worth)), key=lambda at: (-worth[at], at))[:STARTS]:
            self._try(self.known[at][1])
        return True

    def _take(self, chosen: Sequence[int]) -> None:
        """Take known cuts into the program of whole numbers."""
        for at in chosen:
            self.taken.add(at)
            self.sheets.add(self.known[at][0])

    def _take_broken(self, sheets: np.ndarray, axes: np.ndarray, level: float) -> bool:
        """Take in the cuts that lift the bound of given numbers and axes most; return whether there are any."""
        values = [
            (self._value(cut, sheets, (axes, axes)), at)
            for at, (cut, _) in enumerate(self.known)
            if at not in self.taken
        ]
        broken = sorted((v for v in values if v[0] > level), key=lambda v: (-v[0], v[1]))
        self._take([at for _, at in broken[:MOST_CUTS]])
        return bool(broken)

    @staticmethod
    def _value(cut: Cut, sheets: np.ndarray, box: Box) -> float:
        """Return what a cut proves at given numbers of sheets and the axes in a box that suit it best."""
        turned = float(np.minimum(cut.turn * box[0], cut.turn * box[1]).sum())
        return cut.base + turned + float(cut.reduced @ sheets)

    def _seek(self, sheets: np.ndarray, box: Box, level: float, left: int) -> tuple[int, bool]:
        """Seek prices whose cut lifts the bound of given numbers and axes well above ``level``.

        Returns the rounds used of those ``left``, and whether more would hardly lift it further. The more axes are left
        open, the more rounds are taken, since the lift counts for all choices of these axes.
        """
        best, centre = max(((self._value(cut, sheets, box), at) for at, (cut, _) in enumerate(self.known)))
        prices_at = self.known[centre][1]
        self.patterns.hold(sheets, *box)
        wide = bool((box[0] == self.room.low).all() and (box[1] == self.room.high).all())
        enough = level + ENOUGH * (3.0 if wide else 1.0) * max(1.0, level)
        most = min(left, self.effort.tries * (MIX_TRIES if wide else 1))
        width, used = BOX if wide else NARROW_BOX, 0
        self.patterns.box(prices_at, width)
        while used < most and best <= enough:
            solved = self.patterns.solve()
            if solved is None:
                break
            if solved[0] <= best + 1e-4 * max(1.0, best):
                if not self.patterns.at_edge() or width > 1.0:
                    break
                width *= 2.0
                self.patterns.box(prices_at, width)
                continue
            used += 1
            now = self._value(self._try(solved[1]), sheets, box)
            if now > best:
                # a long way up asks for large steps
                width *= 4.0 if now > best + 2e-3 * max(1.0, best) else 1.0
                best, prices_at = now, solved[1]
            else:
                width = max(BOX, 0.5 * width)
            self.patterns.box(prices_at, width)
        self.patterns.box(None, 1.0)
        return used, best <= enough


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
    work.whole(work.effort.whole_rounds)
    if work.refine():
        work.whole(work.effort.fine_rounds)
    return work.bound
