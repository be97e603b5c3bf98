"""Between a problem and the compiled loops: problem to arrays, layout buffers to frozen layouts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from nest.packing.kernels.data import CUTS, ITEMS, LIMITS, PLATES, RATES, RESTS, SHEETS, Data, Layout
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout

if TYPE_CHECKING:
    from nest.packing.problem import Limits, Problem, Rates, Unit


def unit_types(problem: Problem) -> list[int]:
    """Return a type number per unit: units of one type are interchangeable in every layout."""
    lonely = {(u.group, u.job) for u in problem.units if u.alone}
    seen: dict[object, int] = {}

    def key(index: int, u: Unit) -> object:
        shape = tuple((i.w, i.h, i.axes, i.row if i.apart else -1) for i in u.items)
        own = u.job if (u.group, u.job) in lonely else -1
        return (shape, u.group, own, u.alone, u.level, u.axis_set, u.lot_set, u.bins, index if len(u.items) > 1 else -1)

    return [seen.setdefault(key(index, u), len(seen)) for index, u in enumerate(problem.units)]


def limit_array(limits: Limits) -> np.ndarray:
    """Return the limits in the order the compiled loops index them."""
    values = [
        limits.gap, limits.max_across, limits.max_around, limits.min_across, limits.min_around, limits.max_short,
        limits.max_long, limits.min_short, limits.min_long, limits.strip, limits.full_side, limits.min_side,
        limits.parts, limits.keep, int(limits.free_cutting),
    ]  # fmt: skip
    assert len(values) == LIMITS
    return np.array(values, np.int64)


def rate_array(rates: Rates) -> np.ndarray:
    """Return the rates in the order the compiled loops index them."""
    values = [rates.plate, rates.process, rates.cut, rates.handling, rates.min_area, float(rates.zero_credit)]
    assert len(values) == RATES
    return np.array(values, np.float64)


def data_of(problem: Problem) -> Data:
    """Return the problem as arrays; item sizes are inflated by the gap."""
    units, gap = problem.units, problem.limits.gap
    items = [item for u in units for item in u.items]
    counts = [len(u.items) for u in units]
    types = unit_types(problem)
    lonely = {(u.group, u.job) for u in units if u.alone}
    ok = np.zeros((max(types, default=-1) + 1, len(problem.bins)), np.int64)
    for typ, u in zip(types, units, strict=True):
        ok[typ, list(u.bins)] = 1

    def ints(values: list[int]) -> np.ndarray:
        return np.array(values, np.int64)

    return Data(
        start=ints([0, *np.cumsum(counts).tolist()]),
        typ=ints(types),
        group=ints([u.group for u in units]),
        job=ints([u.job for u in units]),
        alone=ints([int(u.alone) for u in units]),
        lonely=ints([int((u.group, u.job) in lonely) for u in units]),
        level=ints([u.level for u in units]),
        axis_set=ints([u.axis_set for u in units]),
        lot_set=ints([u.lot_set for u in units]),
        area=ints([sum((i.w + gap) * (i.h + gap) for i in u.items) for u in units]),
        early=np.array([u.early for u in units], np.float64),
        w=ints([i.w + gap for i in items]),
        h=ints([i.h + gap for i in items]),
        mask=ints([i.axes for i in items]),
        row=ints([i.row for i in items]),
        row_unit=ints([index for index, count in enumerate(counts) for _ in range(count)]),
        apart=ints([int(i.apart) for i in items]),
        ok=ok,
        bin_w=ints([b.w for b in problem.bins]),
        bin_h=ints([b.h for b in problem.bins]),
        bin_price=np.array([b.price for b in problem.bins], np.float64),
        bin_rate=np.array([b.rate for b in problem.bins], np.float64),
        bin_lot=ints([b.lot for b in problem.bins]),
        lead=ints([level.lead for level in problem.levels]),
        side=ints([level.side for level in problem.levels]),
        lim=limit_array(problem.limits),
        rate=rate_array(problem.rates),
    )


def layouts_of(lay: Layout, data: Data, problem: Problem) -> list[BinLayout]:
    """Return the sheets of a buffer as frozen layouts with item positions from the bin's corner."""
    counts = lay.used.tolist()
    items_of: list[list[Placed]] = [[] for _ in range(counts[PLATES])]
    plates = lay.plate[: counts[PLATES]].tolist()
    starts = data.start
    for plate, item, x, y, axis in lay.item[: counts[ITEMS]].tolist():
        _, px, py, _, _, lead, level = plates[plate]
        keep = problem.levels[level]
        unit = int(data.row_unit[item])
        items_of[plate].append(
            Placed(
                unit=unit,
                item=item - int(starts[unit]),
                x=px + (keep.lead if lead == 1 else keep.side) + x,
                y=py + (keep.lead if lead == 0 else keep.side) + y,
                axis=axis,
            )
        )
    made: list[list[PlateLayout]] = [[] for _ in range(counts[SHEETS])]
    for (sheet, x, y, w, h, lead, level), placed in zip(plates, items_of, strict=True):
        made[sheet].append(PlateLayout(x=x, y=y, w=w, h=h, lead=lead, level=level, placed=tuple(placed)))
    rests: list[list[RestLayout]] = [[] for _ in range(counts[SHEETS])]
    for sheet, x, y, w, h, kept in lay.rest[: counts[RESTS]].tolist():
        rests[sheet].append(RestLayout(x=x, y=y, w=w, h=h, kept=bool(kept)))
    cuts: list[list[tuple[int, int, int, int]]] = [[] for _ in range(counts[SHEETS])]
    for sheet, x1, y1, x2, y2 in lay.cut[: counts[CUTS]].tolist():
        cuts[sheet].append((x1, y1, x2, y2))
    return [
        BinLayout(
            bin=int(lay.sheet[s, 0]),
            cost=float(lay.cost[s]),
            plates=tuple(made[s]),
            rests=tuple(rests[s]),
            cuts=tuple(cuts[s]),
        )
        for s in range(counts[SHEETS])
    ]
