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
AREAS = 1000
"""Steps of the bounded knapsack over areas."""


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


class Grid:
    """Most profit of some parts in room of any size up to a largest one, by cells of ``step``."""

    def __init__(
        self, parts: Sequence[Part], top: tuple[int, int], free: bool, ops: float, whole: Sequence[tuple[int, int]]
    ) -> None:
        """Choose the finest step that keeps a run below about ``ops`` elementary operations.

        ``whole`` are rooms for which bars are worked out exactly, those of whole sheets.
        """
        self.parts, self.free = [p for p in parts if p.w <= top[0] and p.h <= top[1]], free
        # a side of no cell would earn nothing: the step stays below the least side
        coarsest = min(min(p.w, p.h) for p in self.parts)
        step = min(FINEST, coarsest)
        while not self._lay(step, top, ops) and step < coarsest:
            step = min(step * 5 // 4 + 1, coarsest)
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
        """Lower ``best`` to what the pieces there are can earn within the area of the room."""
        most = np.zeros(len(self.many))
        np.maximum.at(most, self.item, worth)
        profit = np.ceil(most * self.scale).astype(np.int64)
        room = int(self.xs[-1]) * int(self.ys[-1]) // self.unit
        bounded = bounded_profits(self.item_area, profit, self.many, room)
        cap_profits(self.xs, self.ys, self.unit, bounded, self.best)

    def spot(self, w: int, h: int) -> tuple[int, int]:
        """Return the index of the largest known room within w x h."""
        return int(self.last_x[max(0, w) // self.step]), int(self.last_y[max(0, h) // self.step])

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
