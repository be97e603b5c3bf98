"""Between a problem and the compiled loops: problem to arrays, layout buffers to frozen layouts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from nest.packing.kernels.data import CUTS, ITEMS, PLATES, RESTS, SHEETS, Data, Layout, Lim, Money
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
        bundle = index if len(u.items) > 1 else -1
        return (shape, u.group, own, u.alone, u.level, u.axis_set, u.lot_set, u.bins, bundle, u.window)

    return [seen.setdefault(key(index, u), len(seen)) for index, u in enumerate(problem.units)]


def limits_tuple(limits: Limits) -> Lim:
    """Return the limits as the compiled loops read them."""
    return Lim(
        gap=limits.gap,
        max_across=limits.max_across,
        max_around=limits.max_around,
        min_across=limits.min_across,
        min_around=limits.min_around,
        max_short=limits.max_short,
        max_long=limits.max_long,
        min_short=limits.min_short,
        min_long=limits.min_long,
        strip=limits.strip,
        full_side=limits.full_side,
        min_side=limits.min_side,
        parts=limits.parts,
        keep=limits.keep,
        free=int(limits.free_cutting),
    )


def rates_tuple(rates: Rates) -> Money:
    """Return the rates as the compiled loops read them."""
    return Money(
        plate=float(rates.plate),
        process=float(rates.process),
        cut=float(rates.cut),
        handling=float(rates.handling),
        min_area=float(rates.min_area),
        zero_credit=float(rates.zero_credit),
    )


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
        window=ints([u.window for u in units]),
        late=np.array(problem.late, np.float64).reshape(len(problem.late), len(problem.batch_prices)),
        batch_price=np.array(problem.batch_prices, np.float64),
        lead=ints([level.lead for level in problem.levels]),
        side=ints([level.side for level in problem.levels]),
        lim=limits_tuple(problem.limits),
        rate=rates_tuple(problem.rates),
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
            seed=int(lay.sheet[s, 1]),
        )
        for s in range(counts[SHEETS])
    ]
