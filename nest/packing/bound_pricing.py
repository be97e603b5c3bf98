"""Relaxed patterns of a sheet and their exact pricing: the subproblem of the pattern bound.

A *row* is a unit type, or a unit type along one axis where its set binds it. Given a price per row, ``Pricing.price``
returns for every *class* of sheets (a bin type with one plate of a kind, or with several plates) a number that the
cost of no real sheet of that class, less the prices of what lies on it, falls below.

One plate: the sheet costs at least what ``sole_costs`` says for the used area, and the pieces in a used area earn at
most what the relaxed pattern of the same size earns: edge-to-edge cut pieces in any number where plates are cut edge to
edge, bars (``bar_profits``) where they are cut free. Several plates: one raw cut has plates on both sides of it, so all
pieces fit room that lacks two more keep-outs across that cut; the cost grows by area as in the area program.

With a gap, pieces inflated by it do not overlap, but they need not be parted by edge-to-edge cuts (a line may pass a
neighbour closer than the gap where both are apart the other way). So guillotine patterns take pieces without the gap.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bound_area import variants_of
from nest.packing.bound_grid import Grid, Part
from nest.packing.bound_kinds import MANY, kinds_of
from nest.packing.bound_loops import sole_costs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

NO_SHEET = 1e17
MANY_OPS = 5e6
"""Most elementary operations of one pricing of sheets with several plates."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Rows of the program: type and axis (-1 both) of each, how many units it asks for, the set that splits it."""

    typ: tuple[int, ...]
    axis: tuple[int, ...]
    demand: np.ndarray
    axis_set: np.ndarray
    sample: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Class:
    """A class of sheets: bin type, number of the kind of its only plate or ``MANY``, whether a rest is kept."""

    bin: int
    kind: int
    kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A relaxed pattern: number of its class, cost, and how many units of each row it covers."""

    of: int
    cost: float
    counts: np.ndarray


def rows_of(problem: Problem, data: Data, units: Sequence[int]) -> Rows:
    """Return the rows for placing ``units``."""
    count: dict[int, int] = defaultdict(int)
    sample: dict[int, int] = {}
    for u in units:
        typ = int(data.typ[u])
        count[typ] += 1
        sample.setdefault(typ, u)
    found = [
        (t, axis, sample[t])
        for t in sorted(count)
        for axis in ((0, 1) if problem.units[sample[t]].axis_set >= 0 else (-1,))
    ]
    return Rows(
        typ=tuple(t for t, _, _ in found),
        axis=tuple(a for _, a, _ in found),
        demand=np.array([count[t] for t, _, _ in found], np.float64),
        axis_set=np.array([problem.units[u].axis_set for _, _, u in found], np.int64),
        sample=tuple(u for _, _, u in found),
    )


def parts_of(problem: Problem, rows: Rows, inflate: int, gap: int, plates: int) -> dict[int, list[Part]]:
    """Return the parts of every type, ``inflate`` added to their sides; areas are inflated by ``gap``.

    Units that lie apart come at most once on each of ``plates`` plates.

    The price of a unit of several items is shared by their areas: they lie on one plate, so the shares of what lies
    there sum to no less than the unit's price.
    """
    by_type: dict[int, dict[int, int]] = defaultdict(dict)
    for r, (t, axis) in enumerate(zip(rows.typ, rows.axis, strict=True)):
        by_type[t][axis] = r
    out: dict[int, list[Part]] = {}
    for t, of_axis in by_type.items():
        unit = problem.units[rows.sample[next(iter(of_axis.values()))]]
        areas = [float(i.w + gap) * (i.h + gap) for i in unit.items]
        parts = []
        many = round(float(rows.demand[next(iter(of_axis.values()))]))
        if any(item.apart for item in unit.items):
            many = min(many, plates)
        for at, (item, area) in enumerate(zip(unit.items, areas, strict=True)):
            for turned in (0, 1):
                if item.axes and not item.axes & (1 << turned):
                    continue
                bound_row = not item.axes and -1 not in of_axis
                w, h = (item.w, item.h) if turned == 0 else (item.h, item.w)
                which = (of_axis[turned],) if bound_row else tuple(of_axis.values())
                parts.append(
                    Part(
                        w=w + inflate, h=h + inflate, share=area / sum(areas), rows=which, area=area, item=(t, at),
                        many=many, unit=t, whole=sum(areas),
                    )
                )  # fmt: skip
        out[t] = parts
    return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """A grid with what goes with it: bins it serves, its kind of plate or ``MANY``, costs by bin and size.

    For one plate ``costs`` has an array per bin and whether a rest is kept; for several, ``rooms`` has the least fixed
    cost, the two largest rooms and the most inflated area, ``per_area`` is the least cost per inflated area.
    """

    grid: Grid
    bins: tuple[int, ...]
    kind: int
    costs: dict[tuple[int, bool], np.ndarray]
    rooms: dict[tuple[int, bool], tuple[float, tuple[tuple[int, int], ...], float]]
    per_area: float


class Pricing:
    """Exact pricing of relaxed patterns for one problem and some units of it."""

    def __init__(self, problem: Problem, data: Data, units: Sequence[int], ops: float) -> None:
        """Lay out the grids; one pricing takes about ``ops`` elementary operations."""
        self.problem, self.data = problem, data
        self.rows = rows_of(problem, data, units)
        self.kits: list[Kit] = []
        self.classes: list[Class] = []
        self._at: dict[tuple[int, int, bool], int] = {}
        free = problem.limits.free_cutting
        self.kinds = kinds_of(problem, units)
        serving: dict[tuple[int, ...], list[int]] = defaultdict(list)
        sample = dict(zip(self.rows.typ, self.rows.sample, strict=True))
        for b, stock in enumerate(problem.bins):
            types = tuple(t for t, u in sample.items() if b in problem.units[u].bins)
            if types and stock.stock > 0:
                serving[types].append(b)
        jobs = []
        for types, bins in serving.items():
            for at, kind in enumerate(self.kinds):
                jobs.append(([t for t in types if kind.takes(problem.units[sample[t]])], tuple(bins), at))
            if problem.limits.parts > 1:
                jobs.append((list(types), tuple(bins), MANY))
        # sheets of several plates are dear and seldom needed: a coarse grid is enough for them
        total = sum(len(types) for types, _, at in jobs if at >= 0)
        for types_, bins_, at in jobs:
            if not types_:
                continue
            if at >= 0:
                made = [self._one_plate(types_, bins_, at, free, ops * len(types_) / total)]
            else:
                share = min(ops, MANY_OPS) * len(types_) / total
                made = [self._more_plates(types_, bins_, kept, free, share) for kept in (False, True)]
            for kit in made:
                if kit is None:
                    continue
                self.kits.append(kit)
                for b, kept in kit.costs or kit.rooms:
                    self._at[b, at, kept] = len(self.classes)
                    self.classes.append(Class(bin=b, kind=at, kept=kept))

    def _one_plate(
        self, types: Sequence[int], bins: tuple[int, ...], kind: int, free: bool, ops: float
    ) -> Kit | None:
        problem, lim = self.problem, self.problem.limits
        top_level = max(
            problem.units[u].level for t, u in zip(self.rows.typ, self.rows.sample, strict=True) if t in set(types)
        )
        levels = problem.levels[: top_level + 1]
        side, lead = min(v.side for v in levels), min(v.lead for v in levels)
        inflate = lim.gap if free else 0
        parts = [p for t in types for p in parts_of(problem, self.rows, inflate, lim.gap, 1)[t]]
        whole = []
        for b in bins:
            for turned in (False, True):
                w = min(problem.bins[b].w, lim.max_around if turned else lim.max_across, lim.max_long)
                h = min(problem.bins[b].h, lim.max_across if turned else lim.max_around, lim.max_long)
                whole.append((w - side - (lead if turned else side) + inflate,
                              h - side - (side if turned else lead) + inflate))  # fmt: skip
        top = max(w for w, _ in whole), max(h for _, h in whole)
        parts = [p for p in parts if p.w <= top[0] and p.h <= top[1]]
        if not parts:
            return None
        grid = Grid(parts, top, free, ops, whole)
        costs = {}
        used_w, used_h = grid.xs * grid.step[0] - inflate, grid.ys * grid.step[1] - inflate
        for b in bins:
            sheet = problem.bins[b]
            for kept in (False, True):
                out = np.empty((len(grid.xs), len(grid.ys)))
                sole_costs(
                    self.data.lim, self.data.rate, sheet.w, sheet.h, sheet.price, sheet.rate, lead, side, used_w,
                    used_h, int(kept), out,
                )  # fmt: skip
                if out[1:, 1:].min(initial=2 * NO_SHEET) < NO_SHEET:
                    costs[b, kept] = out
        return Kit(grid=grid, bins=bins, kind=kind, costs=costs, rooms={}, per_area=0.0)

    def _more_plates(
        self, types: Sequence[int], bins: tuple[int, ...], kept: bool, free: bool, ops: float
    ) -> Kit | None:
        problem = self.problem
        side = min(level.side for level in problem.levels)
        m = min(side, min(level.lead for level in problem.levels))
        gap = min(problem.limits.gap, 2 * m)
        inflate = gap if free else 0
        rooms: dict[tuple[int, bool], tuple[float, tuple[tuple[int, int], ...], float]] = {}
        per_area = np.inf
        for v in variants_of(problem):
            if v.bin not in bins or v.plates < 2 or v.kept is not kept:
                continue
            sheet = problem.bins[v.bin]
            wide, high = sheet.w - 2 * m + inflate, sheet.h - 2 * m + inflate
            sizes = ((wide - 2 * m + inflate, high), (wide, high - 2 * m + inflate))
            before = rooms.get((v.bin, kept), (v.fixed, sizes, 0.0))
            rooms[v.bin, kept] = min(v.fixed, before[0]), sizes, max(v.capacity, before[2])
            per_area = min(per_area, v.per_area)
        parts = [p for t in types for p in parts_of(problem, self.rows, inflate, gap, problem.limits.parts)[t]]
        top = (
            max((w for _, sizes, _ in rooms.values() for w, _ in sizes), default=0),
            max((h for _, sizes, _ in rooms.values() for _, h in sizes), default=0),
        )
        parts = [p for p in parts if p.w <= top[0] and p.h <= top[1]]
        if not parts:
            return None
        grid = Grid(parts, top, free, ops, [size for _, sizes, _ in rooms.values() for size in sizes])
        return Kit(grid=grid, bins=bins, kind=MANY, costs={}, rooms=rooms, per_area=per_area)

    def price(self, prices: np.ndarray) -> tuple[np.ndarray, list[Column]]:
        """Return the least reduced cost of each class and a column for each.

        The first is proven: rounded down by what the scaling of profits and binary arithmetic can have lost.
        """
        reduced = np.zeros(len(self.classes))
        columns = []
        for kit in self.kits:
            grid = kit.grid
            worth = np.array([
                p.share * (max(float(prices[r]) for r in p.rows) - (kit.per_area * p.area / p.share))
                for p in grid.parts
            ])  # fmt: skip
            grid.run(worth)
            for b, kept in kit.costs or kit.rooms:
                at = self._at[b, kit.kind, kept]
                if kit.kind >= 0:
                    net = kit.costs[b, kept][1:, 1:] - grid.best[1:, 1:] / grid.scale
                    i, j = np.unravel_index(int(net.argmin()), net.shape)
                    spot = (int(i) + 1, int(j) + 1)
                    value, cost = float(net[i, j]), float(kit.costs[b, kept][spot])
                else:
                    cost, sizes, area = kit.rooms[b, kept]
                    spots = [grid.spot(w, h) for w, h in sizes]
                    spot = max(spots, key=lambda s: int(grid.best[s]))
                    value = cost - min(int(grid.best[spot]), grid.most_within(area)) / grid.scale
                reduced[at] = value - 1e-9 * max(1.0, abs(cost))
                columns.append(self._column(kit, at, spot, prices, cost))
        return reduced, columns

    def _column(self, kit: Kit, at: int, spot: tuple[int, int], prices: np.ndarray, cost: float) -> Column:
        counts = np.zeros(len(self.rows.typ))
        for index, many in kit.grid.counts(*spot):
            part = kit.grid.parts[index]
            row = max(part.rows, key=lambda r: (float(prices[r]), -r))
            counts[row] += many * part.share
            cost += many * kit.per_area * part.area
        return Column(of=at, cost=cost, counts=counts)
