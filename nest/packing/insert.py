"""Put further units into the free area of plates already chosen, at no cost: fill pieces and left-over ones.

A place is looked for at every corner the items on the plate make (bottom-left candidates of Chazelle 1983,
doi 10.1109/TC.1983.1676307) and in line with their edges, so a unit of one item stays out only if no such place takes
it. On plates parted edge to edge the boxes must stay partable.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.cuts import Box, can_be_parted
from nest.packing.problem import BinLayout, Placed, PlateLayout
from nest.packing.windows import joins_in_time

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from nest.packing.problem import Problem, Unit

BOTH_AXES = 3


def item_box(problem: Problem, placed: Placed) -> Box:
    """Return the box of a placed item, without gap."""
    item = problem.units[placed.unit].items[placed.item]
    w, h = (item.w, item.h) if placed.axis == 0 else (item.h, item.w)
    return (placed.x, placed.y, placed.x + w, placed.y + h)


def least_border(problem: Problem, borders: Sequence[int], plate: PlateLayout) -> int:
    """Return the least floor border over all items of a plate; ``borders`` is per unit."""
    return min(borders[placed.unit] for placed in plate.placed)


class OpenPlate:
    """One plate while units are put into it."""

    def __init__(self, problem: Problem, bin_index: int, plate: PlateLayout, usable: Box) -> None:
        self.problem, self.bin, self.plate, self.usable = problem, bin_index, plate, usable
        self.placed = list(plate.placed)
        self.boxes = [item_box(problem, p) for p in plate.placed]
        self.full: set[tuple[int, int]] = set()

    def keeps(self, usable: Box) -> bool:
        """Return whether all items lie inside a usable area."""
        x0, y0, x1, y1 = usable
        return all(b[0] >= x0 and b[1] >= y0 and b[2] <= x1 and b[3] <= y1 for b in self.boxes)

    def admits(self, index: int, unit: Unit) -> bool:
        """Return whether the rules of rows and group let a unit join this plate."""
        units = self.problem.units
        here = {p.unit for p in self.placed}
        jobs = {units[u].job for u in here}
        lone = unit.alone or any(units[u].alone for u in here)
        rows = {units[p.unit].items[p.item].row for p in self.placed}
        return (
            index not in here
            and self.bin in unit.bins
            and all(units[u].group == unit.group for u in here)
            and not (lone and jobs != {unit.job})
            and not any(item.apart and item.row in rows for item in unit.items)
            and joins_in_time(self.problem, here, index)
        )

    def spots(self, low: int, high: int, size: int, axis: int) -> np.ndarray:
        """Return the positions along one axis that touch or line up with an edge of the area or of an item."""
        gap = self.problem.limits.gap
        out = {low, high - size}
        for b in self.boxes:
            out |= {b[axis], b[axis + 2], b[axis + 2] + gap, b[axis] - gap - size, b[axis] - size, b[axis + 2] - size}
        return np.array(sorted(p for p in out if low <= p <= high - size), np.int64)

    def place_for(self, w: int, h: int) -> tuple[int, int] | None:
        """Return the lowest, then leftmost place that takes a box of w x h, or None."""
        if (w, h) in self.full:
            return None
        gap = self.problem.limits.gap
        x0, y0, x1, y1 = self.usable
        xs, ys = self.spots(x0, x1, w, 0), self.spots(y0, y1, h, 1)
        boxes = np.array(self.boxes, np.int64).reshape(-1, 4)
        for y in ys if xs.size else ():
            level = boxes[(boxes[:, 1] - gap < y + h) & (boxes[:, 3] + gap > y)]
            hit = (level[None, :, 0] - gap < xs[:, None] + w) & (level[None, :, 2] + gap > xs[:, None])
            for x in xs[~hit.any(axis=1)]:
                box = (int(x), int(y), int(x) + w, int(y) + h)
                if self.problem.limits.free_cutting or can_be_parted([*self.boxes, box]):
                    return int(x), int(y)
        self.full.add((w, h))
        return None

    def put(self, index: int, axes: int) -> bool:
        """Place a unit whole, its set-bound items along the axes of the mask; return whether it went in."""
        unit = self.problem.units[index]
        was = len(self.placed)
        for at in sorted(range(len(unit.items)), key=lambda i: -unit.items[i].w * unit.items[i].h):
            item = unit.items[at]
            mask = item.axes or axes
            for axis in (0, 1):
                w, h = (item.w, item.h) if axis == 0 else (item.h, item.w)
                spot = self.place_for(w, h) if mask & (1 << axis) else None
                if spot is not None:
                    self.placed.append(Placed(unit=index, item=at, x=spot[0], y=spot[1], axis=axis))
                    self.boxes.append((spot[0], spot[1], spot[0] + w, spot[1] + h))
                    break
            else:
                del self.placed[was:], self.boxes[was:]
                self.full.clear()
                return False
        return True

    def closed(self) -> PlateLayout:
        """Return the plate as it is now."""
        return replace(self.plate, placed=tuple(self.placed))


class Inserter:
    """Puts units into the plates of filled bins; keeps sets on one axis and lots together."""

    def __init__(
        self,
        problem: Problem,
        layouts: Sequence[BinLayout],
        borders: Sequence[int],
        keep_out: Callable[[int], tuple[int, int]],
        axes: dict[int, int],
        lots: dict[int, int],
    ) -> None:
        """Open all plates.

        ``borders`` is the least border per unit, ``keep_out`` gives the keep-outs (lead edge, other edges) that hold
        for a least border, ``axes`` and ``lots`` are those of the sets placed.
        """
        self.problem, self.layouts, self.borders, self.keep_out = problem, list(layouts), borders, keep_out
        self.axes, self.lots = dict(axes), dict(lots)
        self.under = [[least_border(problem, borders, plate) for plate in layout.plates] for layout in layouts]
        self.open = [
            [OpenPlate(problem, layout.bin, plate, self.usable(plate, under))
             for plate, under in zip(layout.plates, unders, strict=True)]
            for layout, unders in zip(layouts, self.under, strict=True)
        ]  # fmt: skip

    def usable(self, plate: PlateLayout, under: int) -> Box:
        """Return the area inside the keep-outs that hold for a plate with that least border."""
        lead, side = self.keep_out(under)
        x, y = (lead, side) if plate.lead == 1 else (side, lead)
        return (plate.x + x, plate.y + y, plate.x + plate.w - side, plate.y + plate.h - side)

    def insert(self, index: int, only: Iterable[tuple[int, int]] | None = None) -> bool:
        """Put a unit into the first plate that takes it; ``only`` names plates as (bin, plate). Return success."""
        unit = self.problem.units[index]
        axes = BOTH_AXES
        if unit.axis_set in self.axes:
            axes = 1 << self.axes[unit.axis_set]
        spots = only if only is not None else [(b, p) for b, row in enumerate(self.open) for p in range(len(row))]
        for b, p in spots:
            plate = self.open[b][p]
            lot = self.problem.bins[plate.bin].lot
            if unit.lot_set >= 0 and (lot < 0 or self.lots.get(unit.lot_set, lot) != lot):
                continue
            if not plate.admits(index, unit) or not self.widen(b, p, self.borders[index]):
                continue
            for mask in (axes,) if unit.axis_set < 0 or axes != BOTH_AXES else (1, 2):
                if plate.put(index, mask):
                    if unit.axis_set >= 0:
                        self.axes[unit.axis_set] = mask - 1
                    if unit.lot_set >= 0:
                        self.lots[unit.lot_set] = lot
                    self.under[b][p] = min(self.under[b][p], self.borders[index])
                    return True
            plate.usable = self.usable(plate.plate, self.under[b][p])
        return False

    def widen(self, b: int, p: int, border: int) -> bool:
        """Set a plate's usable area to what holds with a further border on it; return whether its items stay inside."""
        plate = self.open[b][p]
        usable = self.usable(plate.plate, min(self.under[b][p], border))
        if usable != plate.usable:
            plate.full.clear()
            if not plate.keeps(usable):
                return False
            plate.usable = usable
        return True

    def result(self) -> list[BinLayout]:
        """Return the bins with all that was put in."""
        return [
            replace(layout, plates=tuple(plate.closed() for plate in row))
            for layout, row in zip(self.layouts, self.open, strict=True)
        ]
