"""All filled bins met so far, as columns: how many units of each type, which way each set lies, what they cost."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.packing.kernels.data import Data
    from nest.packing.problem import BinLayout, Problem

FIRST_ROOM = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Seeds:
    """Known columns to start fills from: units (k, longest; -1 behind), sets' axes (k, sets), bin, random state."""

    units: np.ndarray
    axes: np.ndarray
    bins: np.ndarray
    states: np.ndarray


class Pool:
    """Columns of one problem, one per different (bin type, counts, axes, lots): the cheapest layout met of each."""

    def __init__(self, problem: Problem, data: Data) -> None:
        self.problem = problem
        self.typ = data.typ.tolist()
        types = max(self.typ, default=-1) + 1
        self.layouts: list[BinLayout] = []
        self.orders: list[tuple[int, ...]] = []
        self.counts = np.zeros((FIRST_ROOM, types), np.int32)
        self.axes = np.full((FIRST_ROOM, max(1, problem.axis_sets)), -1, np.int8)
        self.lots = np.full((FIRST_ROOM, max(1, problem.lot_sets)), -1, np.int16)
        self.bins = np.zeros(FIRST_ROOM, np.int64)
        self.costs = np.zeros(FIRST_ROOM)
        self._known: dict[bytes, int] = {}

    def __len__(self) -> int:
        return len(self.layouts)

    def _grow(self) -> None:
        for name in ("counts", "axes", "lots", "bins", "costs"):
            old = getattr(self, name)
            fresh = np.full((2 * old.shape[0], *old.shape[1:]), -1 if name in ("axes", "lots") else 0, old.dtype)
            fresh[: old.shape[0]] = old
            setattr(self, name, fresh)

    def add(self, layout: BinLayout) -> bool:
        """Take a filled bin in; return whether it is new or cheaper than its equal known so far."""
        at = len(self.layouts)
        if at == self.costs.shape[0]:
            self._grow()
        counts, axes, lots = self.counts[at], self.axes[at], self.lots[at]
        counts[:], axes[:], lots[:] = 0, -1, -1
        seen = set()
        for plate in layout.plates:
            for placed in plate.placed:
                if placed.unit in seen:
                    continue
                seen.add(placed.unit)
                unit = self.problem.units[placed.unit]
                counts[self.typ[placed.unit]] += 1
                if unit.axis_set >= 0:
                    axes[unit.axis_set] = placed.axis if unit.items[placed.item].axes == 0 else axes[unit.axis_set]
                if unit.lot_set >= 0:
                    lots[unit.lot_set] = self.problem.bins[layout.bin].lot
        key = b"%d|" % layout.bin + counts.tobytes() + axes.tobytes() + lots.tobytes()
        known = self._known.get(key)
        if known is not None:
            if layout.cost < self.costs[known] - 1e-9:
                self.layouts[known], self.costs[known] = layout, layout.cost
                self.orders[known] = self.order_of(layout)
                return True
            return False
        self._known[key] = at
        self.layouts.append(layout)
        self.orders.append(self.order_of(layout))
        self.bins[at], self.costs[at] = layout.bin, layout.cost
        return True

    def order_of(self, layout: BinLayout) -> tuple[int, ...]:
        """Return the types of a layout's units in the order they were placed."""
        seen: dict[int, None] = {}
        for plate in layout.plates:
            for placed in plate.placed:
                seen.setdefault(placed.unit)
        return tuple(self.typ[u] for u in seen)

    def seeds(self, columns: Iterable[int], units: Iterable[int]) -> Seeds:
        """Return columns as starts for further fills with the given units; those that need others are left out."""
        free: dict[int, list[int]] = defaultdict(list)
        for u in sorted(units, reverse=True):
            free[self.typ[u]].append(u)
        rows, kept = [], []
        for c in columns:
            at: dict[int, int] = defaultdict(int)
            row = []
            for t in self.orders[c]:
                at[t] += 1
                if at[t] > len(free[t]):
                    break
                row.append(free[t][-at[t]])
            else:
                rows.append(row)
                kept.append(c)
        padded = np.full((len(rows), max((len(row) for row in rows), default=1)), -1, np.int64)
        for n, row in enumerate(rows):
            padded[n, : len(row)] = row
        return Seeds(
            units=padded,
            axes=self.axes[kept].astype(np.int64),
            bins=self.bins[kept],
            states=np.array([self.layouts[c].seed for c in kept], np.int64).view(np.uint64),
        )

    def allowed(self, left: np.ndarray, axes: np.ndarray, lots: np.ndarray, stock: np.ndarray) -> np.ndarray:
        """Return which columns fit what is left: counts per type, fixed axes and lots (-1 free), stock per bin type."""
        n = len(self.layouts)
        good = (self.counts[:n] <= left).all(axis=1) & (stock[self.bins[:n]] > 0)
        good &= ((self.axes[:n] < 0) | (axes < 0) | (self.axes[:n] == axes)).all(axis=1)
        good &= ((self.lots[:n] < 0) | (lots < 0) | (self.lots[:n] == lots)).all(axis=1)
        return np.asarray(good)

    def assign(self, columns: Iterable[int], wanted: Iterable[int]) -> list[BinLayout]:
        """Return the layouts of chosen columns with each wanted unit used once; types say who can stand for whom."""
        free: dict[int, list[int]] = defaultdict(list)
        for u in sorted(wanted, reverse=True):
            free[self.typ[u]].append(u)
        out = []
        for column in columns:
            layout = self.layouts[column]
            twin: dict[int, int] = {}
            for plate in layout.plates:
                for placed in plate.placed:
                    if placed.unit not in twin:
                        twin[placed.unit] = free[self.typ[placed.unit]].pop()
            plates = tuple(
                replace(plate, placed=tuple(replace(p, unit=twin[p.unit]) for p in plate.placed))
                for plate in layout.plates
            )
            out.append(replace(layout, plates=plates))
        return out
