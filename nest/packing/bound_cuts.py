"""The pattern bound: a linear program over relaxed patterns, then whole numbers of sheets and whole axes of sets.

For any prices p >= 0 of the rows (``bound_pricing``) and any valid solution that draws n_c sheets of class c and lays
set s along axis y_s, every sheet costs at least r_c(p) + the prices of what lies on it, so

    cost >= sum of p * demand over rows without a set + sum over sets of the demand's prices along y_s + sum n_c r_c(p).

This is a *cut* in (n, y): the Lagrangian bound (Geoffrion 1974, doi 10.1007/BFb0120690) with the numbers of sheets and
the axes left open. Column generation (Gilmore & Gomory 1961, doi 10.1287/opre.9.6.849) with smoothed prices (Wentges
1997, doi 10.1016/S0969-6016(97)00001-4) finds prices whose cuts are strong; the least cost over all *whole* n within
stock and all *whole* y under all cuts found is a bound (the integer master of Benders 1962, doi 10.1007/BF01386316).
Its optimum is then the point at which further prices are sought. Nothing but the r_c has to be exact.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import highspy
import numpy as np

from nest.packing.bound_area import HALF_CENT, variants_of
from nest.packing.bound_kinds import MANY, least_plates
from nest.packing.linear import QuietHighs, add_column, add_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.bound_pricing import Column, Pricing
    from nest.packing.fits import Fit
    from nest.packing.problem import Problem

INF = highspy.kHighsInf
OPTIMAL = highspy.HighsModelStatus.kOptimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """cost >= base + sum of turn * y + sum of reduced * n."""

    base: float
    turn: np.ndarray
    reduced: np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What may vary: sets by number, the least and largest y of each, most sheets per bin and in all.

    ``plates`` is how many plates of each kind there are at least, ``order`` lists the sets, largest area first.
    """

    sets: tuple[int, ...]
    low: np.ndarray
    high: np.ndarray
    stock: dict[int, int]
    sheets: int
    plates: tuple[int, ...]
    order: tuple[int, ...]


def room_of(problem: Problem, pricing: Pricing, fit: Fit, wanted: Sequence[int]) -> Room:
    """Return what may vary; a set whose unit of one item fits no bin along an axis does not lie along it."""
    rows = pricing.rows
    sets = tuple(sorted({int(s) for s in rows.axis_set} - {-1}))
    low, high = np.zeros(len(sets)), np.ones(len(sets))
    for u, s in zip(rows.sample, rows.axis_set, strict=True):
        if s >= 0 and len(problem.units[u].items) == 1:
            at = sets.index(int(s))
            if not fit.along[u]:
                low[at] = 1.0
            elif not fit.across[u]:
                high[at] = 0.0
    units = round(sum(d for d, a in zip(rows.demand, rows.axis, strict=True) if a <= 0))
    bins = {c.bin for c in pricing.classes}
    stock = {b: min(problem.bins[b].stock, units) for b in sorted(bins)}
    area = dict.fromkeys(sets, 0)
    for u in wanted:
        unit = problem.units[u]
        if unit.axis_set >= 0:
            area[unit.axis_set] += sum(i.w * i.h for i in unit.items)
    return Room(
        sets=sets, low=low, high=np.maximum(low, high), stock=stock, sheets=units,
        plates=tuple(least_plates(problem, pricing.kinds, wanted)),
        order=tuple(sorted(range(len(sets)), key=lambda at: (-area[sets[at]], at))),
    )  # fmt: skip


def cut_of(pricing: Pricing, room: Room, prices: np.ndarray, reduced: np.ndarray) -> Cut:
    """Return the cut that prices and their least reduced costs prove."""
    rows = pricing.rows
    worth = rows.demand * prices
    base, turn = 0.0, np.zeros(len(room.sets))
    for r, (axis, s) in enumerate(zip(rows.axis, rows.axis_set, strict=True)):
        if axis <= 0:
            base += float(worth[r])
        if axis >= 0:
            turn[room.sets.index(int(s))] += float(worth[r]) if axis == 1 else -float(worth[r])
    return Cut(base=base, turn=turn, reduced=reduced.copy())


class Sheets:
    """The program in numbers of sheets and axes of sets under the cuts found so far."""

    def __init__(self, pricing: Pricing, room: Room, nodes: int) -> None:
        self.room, self.classes, self.kinds = room, pricing.classes, pricing.kinds
        self.lp = QuietHighs(mip_rel_gap=3e-4, mip_abs_gap=0.004, mip_max_nodes=nodes)
        limited = {b: add_row(self.lp, -INF, float(n)) for b, n in room.stock.items()}
        drawn = add_row(self.lp, 1.0 if room.sheets else 0.0, float(room.sheets))
        for c in self.classes:
            add_column(self.lp, 0.0, {limited[c.bin]: 1.0, drawn: 1.0})
        for at in range(len(room.sets)):
            add_column(self.lp, 0.0, {})
            self.lp.changeColBounds(self.lp.getNumCol() - 1, float(room.low[at]), float(room.high[at]))
        add_column(self.lp, 1.0, {})
        self.cost = self.lp.getNumCol() - 1
        self._plates(pricing, room)

    def _plates(self, pricing: Pricing, room: Room) -> None:
        """Ask for the plates each kind needs: sheets of several plates hold two, or more that cost extra each."""
        rates = pricing.problem.rates
        several = [at for at, c in enumerate(self.classes) if c.kind == MANY]
        held = add_row(self.lp, -INF, 0.0)
        for at in several:
            self.lp.changeCoeff(held, at, -2.0)
        add_column(self.lp, 0.0, {held: -1.0})
        self.more = self.lp.getNumCol() - 1
        # what each plate and cut costs more, less what the rounding of process costs can have spared
        spared = pricing.problem.limits.parts * HALF_CENT if rates.process > 0 else 0.0
        self.extra = max(0.0, rates.plate + rates.cut - spared)
        for k, plates in enumerate(room.plates):
            row = add_row(self.lp, float(plates), INF)
            for at, c in enumerate(self.classes):
                if c.kind == k:
                    self.lp.changeCoeff(row, at, 1.0)
            add_column(self.lp, 0.0, {row: 1.0, held: 1.0})

    def add_areas(self, problem: Problem, fit: Fit, units: Sequence[int]) -> None:
        """Take the area program in: areas spread over the classes that serve them, at their least cost."""
        m = min(min(level.side, level.lead) for level in problem.levels)
        gap = min(problem.limits.gap, 2 * m)
        areas: dict[tuple[tuple[int, ...], frozenset[int]], float] = defaultdict(float)
        for u in units:
            unit = problem.units[u]
            may = tuple(k for k, kind in enumerate(self.kinds) if kind.takes(unit))
            areas[may, fit.any_axis(u)] += sum(float(i.w + gap) * (i.h + gap) for i in unit.items)
        sorts = sorted(areas.items(), key=lambda item: (item[0][0], sorted(item[0][1])))
        by_class: dict[tuple[int, bool, bool], tuple[float, float, float]] = {}
        for v in variants_of(problem):
            key = v.bin, v.plates > 1, v.kept
            held = by_class.get(key, (0.0, np.inf, np.inf))
            by_class[key] = max(held[0], v.capacity), min(held[1], v.fixed), min(held[2], v.per_area)
        scale = max((most for most, _, _ in by_class.values()), default=1.0)
        total = add_row(self.lp, 0.0, INF)
        cover = [add_row(self.lp, area / scale, INF) for _, area in sorts]
        index, values = [self.cost, self.more], [1.0, -self.extra]
        for at, c in enumerate(self.classes):
            most, fixed, per_area = by_class.get((c.bin, c.kind == MANY, c.kept), (0.0, 0.0, 0.0))
            capacity = add_row(self.lp, -INF, 0.0)
            self.lp.changeCoeff(capacity, at, -most / scale)
            index.append(at)
            values.append(-fixed)
            for k, ((may, bins), _) in enumerate(sorts):
                if c.bin in bins and (c.kind == MANY or c.kind in may):
                    add_column(self.lp, 0.0, {capacity: 1.0, cover[k]: 1.0, total: -per_area * scale})
        for column, value in zip(index, values, strict=True):
            self.lp.changeCoeff(total, column, value)

    def add(self, cut: Cut) -> None:
        """Take a cut in."""
        values = np.concatenate([-cut.reduced, -cut.turn, [1.0]])
        index = np.flatnonzero(values).astype(np.int32)
        self.lp.addRow(cut.base, INF, len(index), index, values[index])
        self.lp.changeCoeff(self.lp.getNumRow() - 1, self.more, -self.extra)

    def solve(self, whole: bool) -> tuple[float, np.ndarray, np.ndarray, float] | None:
        """Return (bound, sheets per class, y per set, cost there less extra plates), with whole numbers if asked.

        None where the solver gave up.
        """
        kind = highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous
        for at in range(self.cost):
            self.lp.changeColIntegrality(at, kind)
        self.lp.run()
        status = self.lp.getModelStatus()
        if status != OPTIMAL and not (whole and status == highspy.HighsModelStatus.kSolutionLimit):
            return None
        info = self.lp.getInfo()
        bound = float(info.mip_dual_bound) if whole else float(info.objective_function_value)
        found = np.array(self.lp.getSolution().col_value)
        if len(found) <= self.cost or not np.isfinite(bound):
            return None
        n = len(self.classes)
        return bound, found[:n], found[n : self.cost], float(found[self.cost] - self.extra * found[self.more])


class Patterns:
    """The restricted master program: relaxed patterns known so far, numbers of sheets, axes of sets."""

    def __init__(self, pricing: Pricing, room: Room, dear: np.ndarray) -> None:
        self.pricing, self.room = pricing, room
        rows = pricing.rows
        lp = self.lp = QuietHighs(presolve="off", solver="simplex")
        for r in range(len(rows.typ)):
            add_row(lp, float(rows.demand[r]) if rows.axis[r] <= 0 else 0.0, INF)
        self.link = [add_row(lp, 0.0, 0.0) for _ in pricing.classes]
        limited = {b: add_row(lp, -INF, float(n)) for b, n in room.stock.items()}
        for r in range(len(rows.typ)):
            add_column(lp, float(dear[r]), {r: 1.0})
        # these let a price be no less than a given one; shut until prices are boxed
        for r in range(len(rows.typ)):
            add_column(lp, 0.0, {r: -1.0})
            lp.changeColBounds(lp.getNumCol() - 1, 0.0, 0.0)
        self.dear = dear
        self.first = lp.getNumCol()
        for c, kind in enumerate(pricing.classes):
            add_column(lp, 0.0, {self.link[c]: -1.0, limited[kind.bin]: 1.0})
        for at, s in enumerate(room.sets):
            mine = [r for r in range(len(rows.typ)) if rows.axis_set[r] == s]
            add_column(lp, 0.0, {r: float(rows.demand[r]) * (1.0 if rows.axis[r] == 0 else -1.0) for r in mine})
            lp.changeColBounds(lp.getNumCol() - 1, float(room.low[at]), float(room.high[at]))

    def add(self, column: Column) -> None:
        """Take a relaxed pattern in."""
        rows = {int(r): float(column.counts[r]) for r in np.flatnonzero(column.counts)}
        add_column(self.lp, column.cost, {**rows, self.link[column.of]: 1.0})

    def box(self, centre: np.ndarray | None, width: float) -> None:
        """Keep prices within a share of given ones, or leave them free: near good prices the program finds better.

        The trust region of the boxstep method (Marsten, Hogan & Blankenship 1975, doi 10.1287/opre.23.3.389).
        """
        lp, n = self.lp, len(self.dear)
        for r in range(n):
            slack = 0.0 if centre is None else width * (float(centre[r]) + float(centre.mean()) * 0.2)
            high = float(self.dear[r]) if centre is None else min(float(self.dear[r]), float(centre[r]) + slack)
            low = 0.0 if centre is None else max(0.0, float(centre[r]) - slack)
            lp.changeColCost(r, high)
            lp.changeColCost(n + r, -low)
            lp.changeColBounds(n + r, 0.0, INF if low > 0.0 else 0.0)

    def at_edge(self) -> bool:
        """Return whether the box holds back a price of the last optimum."""
        values = np.array(self.lp.getSolution().col_value)[: 2 * len(self.dear)]
        return bool((values > 1e-7).any())

    def hold(self, sheets: np.ndarray | None, low: np.ndarray, high: np.ndarray) -> None:
        """Fix numbers of sheets, or free them; keep the axes of sets between bounds."""
        n = len(self.pricing.classes)
        for c in range(n):
            least, most = (0.0, INF) if sheets is None else (float(sheets[c]), float(sheets[c]))
            self.lp.changeColBounds(self.first + c, least, most)
        for at in range(len(self.room.sets)):
            self.lp.changeColBounds(self.first + n + at, float(low[at]), float(high[at]))

    def solve(self) -> tuple[float, np.ndarray] | None:
        """Return the optimum and the price of each row, None where the solver gave up."""
        self.lp.run()
        if self.lp.getModelStatus() != OPTIMAL:
            self.lp.clearSolver()
            self.lp.run()
            if self.lp.getModelStatus() != OPTIMAL:
                return None
        duals = np.array(self.lp.getSolution().row_dual)[: len(self.pricing.rows.typ)]
        return float(self.lp.getInfo().objective_function_value), np.maximum(0.0, np.round(duals, 7))
