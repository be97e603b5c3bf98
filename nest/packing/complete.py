"""Last resort for units the search left over: free areas of plates, rests of bins, bins still in stock, then swaps.

The search may stop at any time; what it leaves over must still stay out only because stock or a rule forbids it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.kernels.plate import NO_PLATE, cents, cheapest_plate, credit
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout
from nest.packing.windows import gives_way, plate_lateness

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

Region = tuple[int, int, int, int]
"""x, y, w, h of a raw rectangle."""


def cut_off(
    region: Region, pw: int, ph: int, *, upright_first: bool
) -> tuple[list[tuple[int, int, int, int]], list[RestLayout]]:
    """Return the raw cuts, in order, that free a plate in the corner of a rectangle, and the rests they leave."""
    x, y, w, h = region
    cuts, rests = [], []
    if pw < w:
        top = y + (h if upright_first else ph)
        cuts.append((x + pw, y, x + pw, top))
        rests.append(RestLayout(x=x + pw, y=y, w=w - pw, h=top - y, kept=False))
    if ph < h:
        right = x + (pw if upright_first else w)
        cuts.append((x, y + ph, right, y + ph))
        rests.append(RestLayout(x=x, y=y + ph, w=right - x, h=h - ph, kept=False))
    if not upright_first:
        cuts.reverse()
    return cuts, rests


def sole_plate(
    problem: Problem, data: Data, b: int, region: Region, unit: int, axes: Sequence[int], spare: int
) -> tuple[PlateLayout, list[tuple[int, int, int, int]], list[RestLayout]] | None:
    """Return the cheapest plate for a one-item unit alone in a raw rectangle, with its raw cuts and rests, or None."""
    spec = problem.units[unit]
    if len(spec.items) != 1:
        return None
    item, level = spec.items[0], spec.level
    x, y, w, h = region
    best, found, keep = NO_PLATE, None, problem.levels[spec.level]
    size = np.zeros(4, np.int64)
    for axis in axes:
        iw, ih = (item.w, item.h) if axis == 0 else (item.h, item.w)
        cost = cheapest_plate(
            data.lim, data.rate, w, h, iw, ih, 0, 0, keep.lead, keep.side, spare, data.lim.keep, data.bin_rate[b], 0.0,
            -1, size,
        )  # fmt: skip
        if cost < best:
            best, found = cost, (axis, *(int(q) for q in size))
    if found is None:
        return None
    axis, pw, ph, lead, order = found
    placed = Placed(
        unit=unit, item=0, axis=axis,
        x=x + (keep.lead if lead == 1 else keep.side), y=y + (keep.lead if lead == 0 else keep.side),
    )  # fmt: skip
    cuts, rests = cut_off(region, pw, ph, upright_first=order == 0)
    plate = PlateLayout(x=x, y=y, w=pw, h=ph, lead=lead, level=level, placed=(placed,))
    return plate, cuts, rests


def priced(problem: Problem, data: Data, layout: BinLayout) -> BinLayout:
    """Return a bin with its best rests kept and its cost worked out."""
    rate, rates = problem.bins[layout.bin].rate, problem.rates
    worth = [(float(credit(data.lim, data.rate, rate, r.w, r.h)), i) for i, r in enumerate(layout.rests)]
    kept = {i: value for value, i in sorted(worth, key=lambda v: (-v[0], v[1]))[: problem.limits.keep] if value >= 0}
    process = sum(float(cents(rates.process * p.w * p.h)) for p in layout.plates)
    cost = problem.bins[layout.bin].price + process + rates.plate * len(layout.plates) + rates.cut * len(layout.cuts)
    rests = tuple(replace(r, kept=i in kept) for i, r in enumerate(layout.rests))
    cost += sum(plate_lateness(problem, plate) for plate in layout.plates)
    return replace(layout, rests=rests, cost=cost - sum(kept.values()))


class Completion:
    """Adds plates for left-over units to the bins of a solution."""

    def __init__(
        self, problem: Problem, data: Data, layouts: Sequence[BinLayout], axes: dict[int, int], lots: dict[int, int]
    ) -> None:
        """Start from filled bins; ``axes`` and ``lots`` are those of the sets placed so far and grow with them."""
        self.problem, self.data, self.layouts = problem, data, list(layouts)
        self.axes, self.lots = axes, lots
        self.stock = [b.stock for b in problem.bins]
        for layout in layouts:
            self.stock[layout.bin] -= 1

    def axes_of(self, unit: int) -> tuple[int, ...]:
        """Return the axes a unit may lie along, its set's axis taken into account."""
        spec = self.problem.units[unit]
        if spec.axis_set in self.axes:
            return (self.axes[spec.axis_set],)
        mask = spec.items[0].axes or 3
        return tuple(a for a in (0, 1) if mask & (1 << a))

    def serves(self, b: int, unit: int) -> bool:
        """Return whether a bin type serves a unit, its lot set's lot taken into account."""
        spec = self.problem.units[unit]
        lot = self.problem.bins[b].lot
        if b not in spec.bins:
            return False
        return spec.lot_set < 0 or (lot >= 0 and self.lots.get(spec.lot_set, lot) == lot)

    def regions(self, unit: int) -> Iterator[tuple[int, int, Region]]:
        """Yield (filled bin or -1, bin type, raw rectangle) that may take a plate for a unit, rests first."""
        for at, layout in enumerate(self.layouts):
            if self.serves(layout.bin, unit):
                for rest in sorted(layout.rests, key=lambda r: (r.w * r.h, r.x, r.y)):
                    yield at, layout.bin, (rest.x, rest.y, rest.w, rest.h)
        order = sorted(range(len(self.problem.bins)), key=lambda b: (self.problem.bins[b].price, b))
        for b in order:
            if self.stock[b] > 0 and self.serves(b, unit):
                yield -1, b, (0, 0, self.problem.bins[b].w, self.problem.bins[b].h)

    def add(self, unit: int) -> bool:
        """Give a one-item unit a plate of its own in a rest or in a new bin; return whether one was found."""
        parts = self.problem.limits.parts
        for at, b, region in self.regions(unit):
            spare = parts - 1
            if at >= 0:
                spare = parts - len(self.layouts[at].plates) - len(self.layouts[at].rests)
            made = sole_plate(self.problem, self.data, b, region, unit, self.axes_of(unit), spare)
            if made is None:
                continue
            plate, cuts, rests = made
            if at < 0:
                at = len(self.layouts)
                self.layouts.append(BinLayout(bin=b, cost=0.0, plates=(), rests=(), cuts=()))
                self.stock[b] -= 1
            old = self.layouts[at]
            others = tuple(r for r in old.rests if (r.x, r.y, r.w, r.h) != region)
            self.layouts[at] = priced(self.problem, self.data, replace(
                old, plates=(*old.plates, plate), rests=(*others, *rests), cuts=(*old.cuts, *cuts)
            ))  # fmt: skip
            spec = self.problem.units[unit]
            if spec.axis_set >= 0:
                self.axes[spec.axis_set] = plate.placed[0].axis
            if spec.lot_set >= 0:
                self.lots[spec.lot_set] = self.problem.bins[b].lot
            return True
        return False


def swap_earlier_in(problem: Problem, layouts: list[BinLayout], left: list[int], axes: dict[int, int]) -> None:
    """Let left-over units that are due earlier take the place of equal ones due later, in place.

    Equal means same group, size and rules apart from the due date; sets only where their axis allows it.
    """
    def shape(u: int) -> object:
        spec = problem.units[u]
        item = spec.items[0]
        return (item.w, item.h, spec.group, spec.alone, item.apart, spec.lot_set, len(spec.items))

    def lies(u: int, axis: int) -> bool:
        spec = problem.units[u]
        return axes.get(spec.axis_set, axis) == axis if spec.axis_set >= 0 else bool(spec.items[0].axes & (1 << axis))

    def joins(u: int, plate: PlateLayout) -> bool:
        """Return whether no unit of the plate wants to be alone with another job than this unit's."""
        units = [problem.units[p.unit] for p in plate.placed]
        return all(other.job == problem.units[u].job for other in units if other.alone)

    def in_time(u: int, plate: PlateLayout, other: int) -> bool:
        return gives_way(problem, [p.unit for p in plate.placed], other, u)

    for u in sorted(left, key=lambda u: (-problem.units[u].early, u)):
        spec = problem.units[u]
        if len(spec.items) != 1 or spec.alone or spec.items[0].apart or spec.lot_set >= 0:
            continue
        rivals = [
            (problem.units[p.unit].early, p.unit, at, i, j)
            for at, layout in enumerate(layouts) if layout.bin in spec.bins
            for i, plate in enumerate(layout.plates) if joins(u, plate)
            for j, p in enumerate(plate.placed)
            if shape(p.unit) == shape(u) and problem.units[p.unit].early < spec.early
            and lies(u, p.axis) and problem.units[p.unit].level <= spec.level and in_time(u, plate, p.unit)
        ]  # fmt: skip
        if not rivals:
            continue
        _, other, at, i, j = min(rivals)
        plate = layouts[at].plates[i]
        placed = list(plate.placed)
        placed[j] = replace(placed[j], unit=u)
        if spec.axis_set >= 0:
            axes[spec.axis_set] = placed[j].axis
        plates = list(layouts[at].plates)
        plates[i] = replace(plate, placed=tuple(placed))
        layouts[at] = replace(layouts[at], plates=tuple(plates))
        left[left.index(u)] = other
