"""Relaxed patterns of a sheet and their exact pricing: the subproblem of the pattern bound.

A *row* is a unit type, or a unit type along one axis where its set binds it. Given a price per row, ``Pricing.price``
returns for every *class* of sheets (a bin type with one plate of a group, or with several plates) a number that the
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

from nest.packing.bound_loops import bar_pattern, bar_profits, bounded_counts, bounded_profits, cap_profits, guillotine_counts, guillotine_profits, reachable, sole_costs

from nest.packing.bound_area import variants_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

TOP = float(1 << 28)
NO_SHEET = 1e17
FINEST = 5_000
ROOMS = 12
AREAS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Rows of the program: type and axis (-1 both) of each, how many units it asks for, the set that splits it."""

    typ: tuple[int, ...]
    axis: tuple[int, ...]
    demand: np.ndarray
    axis_set: np.ndarray
    sample: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A rectangle that may lie on a plate: size, share of its unit, the rows whose price it may earn, its area.

    ``item`` numbers the item it is one way of laying, ``many`` is how often that item is there.
    """

    w: int
    h: int
    share: float
    rows: tuple[int, ...]
    area: float
    item: tuple[int, int]
    many: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Class:
    """A class of sheets: bin type, group of its only plate or -1 for several plates."""

    bin: int
    group: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A relaxed pattern: class, cost, and how many units of each row it covers."""

    kind: int
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


def parts_of(problem: Problem, rows: Rows, inflate: int, gap: int) -> dict[int, list[Part]]:
    """Return the parts of every type, ``inflate`` added to their sides; areas are inflated by ``gap``.

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
        for at, (item, area) in enumerate(zip(unit.items, areas, strict=True)):
            for turned in (0, 1):
                if item.axes and not item.axes & (1 << turned):
                    continue
                bound_row = not item.axes and -1 not in of_axis
                w, h = (item.w, item.h) if turned == 0 else (item.h, item.w)
                which = (of_axis[turned],) if bound_row else tuple(of_axis.values())
                parts.append(
                    Part(w=w + inflate, h=h + inflate, share=area / sum(areas), rows=which, area=area, item=(t, at),
                         many=many)  # fmt: skip
                )
        out[t] = parts
    return out


class Grid:
    """Most profit of some parts in room of any size up to a largest one, by cells of ``step``."""

    def __init__(
        self, parts: Sequence[Part], top: tuple[int, int], free: bool, ops: float, whole: Sequence[tuple[int, int]]
    ) -> None:
        """Choose the finest step that keeps a run below about ``ops`` elementary operations.

        ``whole`` are rooms for which bars are worked out exactly, those of whole sheets.
        """
        self.parts, self.free = [p for p in parts if p.w <= top[0] and p.h <= top[1]], free
        step = FINEST
        while not self._lay(step, top, ops):
            step = step * 5 // 4
        merged = {(w, h): at for at, (w, h) in enumerate(sorted({self._cells(p) for p in self.parts}))}
        self.w = np.array([w for w, _ in merged], np.int64)
        self.h = np.array([h for _, h in merged], np.int64)
        self.of = np.array([merged[self._cells(p)] for p in self.parts], np.int64)
        self.rooms_x = self._rooms([w for w, _ in whole], self.xs)
        self.rooms_y = self._rooms([h for _, h in whole], self.ys)
        self.best = np.zeros((self.xs.shape[0], self.ys.shape[0]), np.int32)
        self.unlimited = np.zeros_like(self.best)
        self.across = np.zeros((self.ys.shape[0], self.xs.shape[0]), np.int32)
        self.scale, self.owner = 1.0, np.zeros(0, np.int64)
        items = sorted({p.item for p in self.parts})
        self.item = np.array([items.index(p.item) for p in self.parts], np.int64)
        self.many = np.zeros(len(items), np.int64)
        room = int(self.xs[-1]) * int(self.ys[-1])
        self.unit = max(1, room // AREAS)
        self.item_area = np.full(len(items), room, np.int64)
        for at, p in enumerate(self.parts):
            w, h = self._cells(p)
            self.many[self.item[at]] = p.many
            self.item_area[self.item[at]] = min(int(self.item_area[self.item[at]]), w * h // self.unit)

    def _cells(self, part: Part) -> tuple[int, int]:
        return part.w // self.step, part.h // self.step

    def _rooms(self, sizes: Sequence[int], points: np.ndarray) -> np.ndarray:
        """Return the sizes bars are worked out for: those of whole sheets and some between."""
        top = int(points[-1])
        chosen = {top * (q + 1) // (ROOMS // 2) for q in range(ROOMS // 2)}
        chosen |= {s // self.step for s in sorted(set(sizes))[-ROOMS // 2 :] if 0 < s // self.step <= top}
        return np.array(sorted(chosen - {0}) or [max(1, top)], np.int64)

    def _lay(self, step: int, top: tuple[int, int], ops: float) -> bool:
        self.step = step
        w = np.array(sorted({p.w // step for p in self.parts}), np.int64)
        h = np.array(sorted({p.h // step for p in self.parts}), np.int64)
        self.xs, self.last_x = reachable(w, top[0] // step)
        self.ys, self.last_y = reachable(h, top[1] // step)
        nx, ny = len(self.xs), len(self.ys)
        if self.free:
            sizes = len({self._cells(p) for p in self.parts})
            work = 5.0 * ROOMS * sizes * (top[0] + top[1]) / step + 8.0 * nx * ny
        else:
            half_x = float(np.searchsorted(self.xs, self.xs // 2, side="right").sum())
            half_y = float(np.searchsorted(self.ys, self.ys // 2, side="right").sum())
            work = 0.3 * half_x * ny + 1.5 * half_y * nx
        return work <= ops or step > min(top) // 8

    def run(self, worth: np.ndarray) -> None:
        """Work out ``best`` for a worth per part; ``scale`` converts it to money (rounded up)."""
        most = np.zeros(self.w.shape[0])
        self.owner = np.full(self.w.shape[0], -1, np.int64)
        for at in range(len(self.parts)):
            if worth[at] > most[self.of[at]]:
                most[self.of[at]], self.owner[self.of[at]] = worth[at], at
        area = np.maximum(1.0, self.w.astype(np.float64) * self.h)
        room = max(1.0, float(self.xs[-1] + 1) * float(self.ys[-1] + 1))
        top = max(1e-6, float((most / area).max(initial=0.0)) * room)
        self.scale = TOP / top
        self.profit = np.ceil(most * self.scale).astype(np.int32)
        found = self.unlimited
        if self.free:
            found[1:, 1:] = 1 << 30
            profit = self.profit.astype(np.int64)
            bar_profits(self.w, self.h, profit, self.xs, self.ys, self.rooms_y, found)
            self.across[:] = found.T
            bar_profits(self.h, self.w, profit, self.ys, self.xs, self.rooms_x, self.across)
            found[:] = self.across.T
        else:
            guillotine_profits(self.w, self.h, self.profit, self.xs, self.last_x, self.ys, self.last_y, found)
        self.best[:] = found
        self._cap(worth)

    def _cap(self, worth: np.ndarray) -> None:
        """Lower ``best`` to what the pieces there are can earn within the area of the room."""
        self.item_worth, self.item_owner = np.zeros(len(self.many)), np.full(len(self.many), -1, np.int64)
        for at in range(len(self.parts)):
            if worth[at] > self.item_worth[self.item[at]]:
                self.item_worth[self.item[at]], self.item_owner[self.item[at]] = worth[at], at
        self.item_profit = np.ceil(self.item_worth * self.scale).astype(np.int64)
        room = int(self.xs[-1]) * int(self.ys[-1]) // self.unit
        self.bounded = bounded_profits(self.item_area, self.item_profit, self.many, room)
        cap_profits(self.xs, self.ys, self.unit, self.bounded, self.best)

    def spot(self, w: int, h: int) -> tuple[int, int]:
        """Return the index of the largest known room within w x h."""
        return int(self.last_x[max(0, w) // self.step]), int(self.last_y[max(0, h) // self.step])

    def counts(self, i: int, j: int) -> list[tuple[int, float]]:
        """Return (part, how many) of a best pattern of room (i, j)."""
        area = int(self.xs[i]) * int(self.ys[j]) // self.unit
        if int(self.bounded[area]) < int(self.unlimited[i, j]):
            chosen = np.zeros(len(self.many), np.int64)
            bounded_counts(self.item_area, self.item_profit, self.many, area, chosen)
            return [(int(self.item_owner[k]), float(chosen[k])) for k in np.flatnonzero(chosen)]
        counts = np.zeros(self.w.shape[0], np.int64)
        if self.free:
            return self._bar_counts(i, j)
        guillotine_counts(
            i, j, self.w, self.h, self.profit, self.xs, self.last_x, self.ys, self.last_y, self.unlimited, counts
        )
        return [(int(self.owner[k]), float(counts[k])) for k in np.flatnonzero(counts)]

    def _bar_counts(self, i: int, j: int) -> list[tuple[int, float]]:
        """Return a fractional pattern that earns the profit: the pieces of the densest bar, spread over the room."""
        profit = self.profit.astype(np.int64)
        upright, lying = np.zeros(len(self.w)), np.zeros(len(self.w))
        x, y = int(self.xs[i]), int(self.ys[j])
        room_x = int(self.rooms_x[np.searchsorted(self.rooms_x, x)])
        room_y = int(self.rooms_y[np.searchsorted(self.rooms_y, y)])
        one = bar_pattern(self.w, self.h, profit, x, y, room_y, upright)
        two = bar_pattern(self.h, self.w, profit, y, x, room_x, lying)
        counts = upright if one <= two else lying
        return [(int(self.owner[k]), float(counts[k])) for k in np.flatnonzero(counts)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """A grid with what goes with it: bins it serves, its group or -1 for several plates, costs by bin and size.

    ``inflate`` was added to the parts. For one plate ``costs`` has an array per bin; for several, ``rooms`` has the
    least fixed cost and the two largest rooms per bin, ``per_area`` the least cost per inflated area.
    """

    grid: Grid
    bins: tuple[int, ...]
    group: int
    costs: dict[int, np.ndarray]
    rooms: dict[int, tuple[float, tuple[tuple[int, int], ...]]]
    per_area: float


class Pricing:
    """Exact pricing of relaxed patterns for one problem and some units of it."""

    def __init__(self, problem: Problem, data: Data, units: Sequence[int], ops: float) -> None:
        """Lay out the grids; one pricing takes about ``ops`` elementary operations."""
        self.problem, self.data = problem, data
        self.rows = rows_of(problem, data, units)
        self.kits: list[Kit] = []
        self.classes: list[Class] = []
        self._at: dict[tuple[int, int], int] = {}
        free = problem.limits.free_cutting
        serving: dict[tuple[int, ...], list[int]] = defaultdict(list)
        sample = dict(zip(self.rows.typ, self.rows.sample, strict=True))
        for b, stock in enumerate(problem.bins):
            types = tuple(t for t, u in sample.items() if b in problem.units[u].bins)
            if types and stock.stock > 0:
                serving[types].append(b)
        jobs = [
            (types, tuple(bins), group)
            for types, bins in serving.items()
            for group in [*sorted({problem.units[sample[t]].group for t in types}), -1]
        ]
        for types, bins, group in jobs:
            if group >= 0:
                chosen = [t for t in types if problem.units[sample[t]].group == group]
                kit = self._one_plate(chosen, bins, group, free, ops / len(jobs))
            elif problem.limits.parts > 1:
                kit = self._more_plates(list(types), bins, free, ops / len(jobs))
            else:
                continue
            if kit is None:
                continue
            self.kits.append(kit)
            for b in kit.costs or kit.rooms:
                self._at[b, group] = len(self.classes)
                self.classes.append(Class(bin=b, group=group))

    def _one_plate(
        self, types: Sequence[int], bins: tuple[int, ...], group: int, free: bool, ops: float
    ) -> Kit | None:
        problem, lim = self.problem, self.problem.limits
        top_level = max(
            problem.units[u].level for t, u in zip(self.rows.typ, self.rows.sample, strict=True) if t in set(types)
        )
        levels = problem.levels[: top_level + 1]
        side, lead = min(v.side for v in levels), min(v.lead for v in levels)
        inflate = lim.gap if free else 0
        parts = [p for t in types for p in parts_of(problem, self.rows, inflate, lim.gap)[t]]
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
        used_w, used_h = grid.xs * grid.step - inflate, grid.ys * grid.step - inflate
        for b in bins:
            sheet = problem.bins[b]
            out = np.empty((len(grid.xs), len(grid.ys)))
            sole_costs(
                self.data.lim, self.data.rate, sheet.w, sheet.h, sheet.price, sheet.rate, lead, side, used_w, used_h,
                out,
            )  # fmt: skip
            if out[1:, 1:].min(initial=2 * NO_SHEET) < NO_SHEET:
                costs[b] = out
        return Kit(grid=grid, bins=bins, group=group, costs=costs, rooms={}, per_area=0.0)

    def _more_plates(self, types: Sequence[int], bins: tuple[int, ...], free: bool, ops: float) -> Kit | None:
        problem = self.problem
        side = min(level.side for level in problem.levels)
        m = min(side, min(level.lead for level in problem.levels))
        gap = min(problem.limits.gap, 2 * m)
        inflate = gap if free else 0
        rooms: dict[int, tuple[float, tuple[tuple[int, int], ...]]] = {}
        per_area = np.inf
        for v in variants_of(problem):
            if v.bin not in bins or v.plates < 2:
                continue
            sheet = problem.bins[v.bin]
            wide, high = sheet.w - 2 * m + inflate, sheet.h - 2 * m + inflate
            fixed = min(v.fixed, rooms[v.bin][0]) if v.bin in rooms else v.fixed
            rooms[v.bin] = (fixed, ((wide - 2 * m + inflate, high), (wide, high - 2 * m + inflate)))
            per_area = min(per_area, v.per_area)
        parts = [p for t in types for p in parts_of(problem, self.rows, inflate, gap)[t]]
        top = (
            max((w for _, sizes in rooms.values() for w, _ in sizes), default=0),
            max((h for _, sizes in rooms.values() for _, h in sizes), default=0),
        )
        parts = [p for p in parts if p.w <= top[0] and p.h <= top[1]]
        if not parts:
            return None
        grid = Grid(parts, top, free, ops, [size for _, sizes in rooms.values() for size in sizes])
        return Kit(grid=grid, bins=bins, group=-1, costs={}, rooms=rooms, per_area=per_area)

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
            for b in kit.costs or kit.rooms:
                at = self._at[b, kit.group]
                if kit.group >= 0:
                    net = kit.costs[b][1:, 1:] - grid.best[1:, 1:] / grid.scale
                    i, j = np.unravel_index(int(net.argmin()), net.shape)
                    spot = (int(i) + 1, int(j) + 1)
                    value, cost = float(net[i, j]), float(kit.costs[b][spot])
                else:
                    cost, sizes = kit.rooms[b]
                    spots = [grid.spot(w, h) for w, h in sizes]
                    spot = max(spots, key=lambda s: int(grid.best[s]))
                    value = cost - float(grid.best[spot]) / grid.scale
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
        return Column(kind=at, cost=cost, counts=counts)
