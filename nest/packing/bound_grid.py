"""A grid of room sizes with the most profit relaxed patterns of given parts earn in each.

Two relaxations share the name *unlimited*, since pieces may come in any number: edge-to-edge cut pieces, exactly, or
bars where pieces are cut free. The profit proven is capped besides by a bounded knapsack over areas.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bound_loops import (
    bar_pattern,
    bar_profits,
    bounded_profits,
    cap_profits,
    guillotine_counts,
    guillotine_profits,
    reachable,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

TOP = float(1 << 28)
"""Scaled profits stay below twice this number, inside 32 bits."""
FINEST = 5_000
"""Least step of a grid, in units of length."""
ROOMS = 12
"""Heights (and widths) for which bars are worked out."""
AREAS = 4000
"""Steps of the bounded knapsack over areas."""
STEPS = 40
"""Steps tried for each axis of a grid, from the finest allowed to a quarter above it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A rectangle that may lie on a plate: size, share of its unit, the rows whose price it may earn, its area.

    ``item`` names what it is one way of laying (a unit's only item, or one of several), ``many`` is how often that may
    lie on a plate, ``unit`` names its unit's type, ``whole`` is the area of the unit with all its items.
    """

    w: int
    h: int
    share: float
    rows: tuple[int, ...]
    area: float
    item: tuple[int, int]
    many: int
    unit: int
    whole: float


def best_step(least: int, most: int, sides: np.ndarray, weights: np.ndarray, rooms: Sequence[int]) -> int:
    """Return the step in ``least``..``most`` that loses least: sides and rooms are both rounded down to whole steps.

    What sides lose weakens the bound, what rooms lose strengthens it; any step is valid.
    """
    tried = sorted({least + (most - least) * k // STEPS for k in range(STEPS + 1)})

    def lost(step: int) -> float:
        return float(weights @ (sides % step / sides)) - sum(r % step / r for r in rooms) / max(1, len(rooms))

    return min(tried, key=lost)


class Grid:
    """Most profit of some parts in room of any size up to a largest one, by cells of ``step``."""

    def __init__(
        self, parts: Sequence[Part], top: tuple[int, int], free: bool, ops: float, whole: Sequence[tuple[int, int]]
    ) -> None:
        """Choose the finest steps that keep a run below about ``ops`` elementary operations.

        ``whole`` are the rooms of whole sheets; bars are worked out for them exactly.
        """
        self.parts, self.free = [p for p in parts if p.w <= top[0] and p.h <= top[1]], free
        self.top = top
        self.step = self._steps(ops, whole)
        merged = {(w, h): at for at, (w, h) in enumerate(sorted({self._cells(p) for p in self.parts}))}
        self.w = np.array([w for w, _ in merged], np.int64)
        self.h = np.array([h for _, h in merged], np.int64)
        self.of = np.array([merged[self._cells(p)] for p in self.parts], np.int64)
        self.rooms_x = self._rooms([w // self.step[0] for w, _ in whole], self.xs)
        self.rooms_y = self._rooms([h // self.step[1] for _, h in whole], self.ys)
        self.best = np.zeros((self.xs.shape[0], self.ys.shape[0]), np.int32)
        self.unlimited = np.zeros_like(self.best)
        self.across = np.zeros((self.ys.shape[0], self.xs.shape[0]), np.int32)
        self.scale, self.owner = 1.0, np.zeros(0, np.int64)
        kinds = sorted({p.unit for p in self.parts})
        self.names = {name: at for at, name in enumerate(kinds)}
        self.kind = np.array([self.names[p.unit] for p in self.parts], np.int64)
        self.items = sorted({p.item for p in self.parts})
        self.item = np.array([self.items.index(p.item) for p in self.parts], np.int64)
        self.many = np.zeros(len(kinds), np.int64)
        self.unit = float(top[0]) * top[1] / AREAS
        self.kind_area = np.zeros(len(kinds), np.int64)
        for at, p in enumerate(self.parts):
            self.many[self.kind[at]] = p.many
            self.kind_area[self.kind[at]] = int(p.whole / self.unit * (1.0 - 1e-12))
        self.bounded = np.zeros(AREAS + 1, np.int64)
        self.sizes_x, self.sizes_y = self._sizes(0), self._sizes(1)

    def _steps(self, ops: float, whole: Sequence[tuple[int, int]]) -> tuple[int, int]:
        """Return the steps across and around, and lay the grid."""
        # a side of no cell would earn nothing: the steps stay below the least sides
        coarsest = min(min(p.w for p in self.parts), min(p.h for p in self.parts))
        weights = np.array([p.area * p.many for p in self.parts])
        weights /= float(weights.sum())
        sides = np.array([p.w for p in self.parts]), np.array([p.h for p in self.parts])
        step = min(FINEST, coarsest)
        while True:
            most = min(step * 5 // 4, coarsest)
            chosen = [
                best_step(step, most, sides[axis], weights, sorted({room[axis] for room in whole if room[axis] > 0}))
                for axis in range(2)
            ]
            self.step = chosen[0], chosen[1]
            if self._lay(ops) or step >= coarsest:
                return self.step
            step = min(step * 5 // 4 + 1, coarsest)

    def _sizes(self, axis: int) -> np.ndarray:
        """Return, for each point of an axis, the most room a pattern can take that comes down to that point."""
        points = (self.xs, self.ys)[axis]
        step, top = self.step[axis], self.top[axis]
        sizes: np.ndarray = np.minimum(np.append(points[1:] * step - 1, top), top)
        return sizes

    def _cells(self, part: Part) -> tuple[int, int]:
        return part.w // self.step[0], part.h // self.step[1]

    def _rooms(self, sizes: Sequence[int], points: np.ndarray) -> np.ndarray:
        """Return the sizes bars are worked out for: those of whole sheets and some between."""
        top = int(points[-1])
        chosen = {top * (q + 1) // (ROOMS // 2) for q in range(ROOMS // 2)}
        chosen |= {s for s in sorted(set(sizes))[-ROOMS // 2 :] if 0 < s <= top}
        return np.array(sorted(chosen - {0}) or [max(1, top)], np.int64)

    def _lay(self, ops: float) -> bool:
        w = np.array(sorted({p.w // self.step[0] for p in self.parts}), np.int64)
        h = np.array(sorted({p.h // self.step[1] for p in self.parts}), np.int64)
        cells = self.top[0] // self.step[0], self.top[1] // self.step[1]
        self.xs, self.last_x = reachable(w, cells[0])
        self.ys, self.last_y = reachable(h, cells[1])
        nx, ny = len(self.xs), len(self.ys)
        if self.free:
            sizes = len({self._cells(p) for p in self.parts})
            work = 5.0 * ROOMS * sizes * (cells[0] + cells[1]) + 8.0 * nx * ny
        else:
            half_x = float(np.searchsorted(self.xs, self.xs // 2, side="right").sum())
            half_y = float(np.searchsorted(self.ys, self.ys // 2, side="right").sum())
            work = 0.3 * half_x * ny + 1.5 * half_y * nx
        return work <= ops

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
        """Lower ``best`` to what the units there are can earn within the area of the room."""
        most = np.zeros(len(self.items))
        np.maximum.at(most, self.item, worth)
        unit = np.zeros(len(self.many))
        for at, (name, _) in enumerate(self.items):
            unit[self.names[name]] += most[at]
        profit = np.ceil(unit * self.scale).astype(np.int64)
        self.bounded = bounded_profits(self.kind_area, profit, self.many, AREAS)
        cap_profits(self.sizes_x, self.sizes_y, self.unit, self.bounded, self.best)

    def most_within(self, area: float) -> int:
        """Return the most that the units there are can earn within an area of any shape."""
        return int(self.bounded[min(AREAS, int(area / self.unit * (1.0 + 1e-12) + 1e-6))])

    def spot(self, w: int, h: int) -> tuple[int, int]:
        """Return the index of the largest known room within w x h."""
        return int(self.last_x[max(0, w) // self.step[0]]), int(self.last_y[max(0, h) // self.step[1]])

    def counts(self, i: int, j: int) -> list[tuple[int, float]]:
        """Return (part, how many) of a best pattern of room (i, j) with pieces in any number.

        The cap by area lowers the proven profit only: patterns of two relaxations in one program would forbid prices
        that either of them allows.
        """
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
