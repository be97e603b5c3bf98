"""Proven lower bounds of the cost of placing given units.

Area bound. With keep-outs s (sides) and l (lead edge) and gap g, a plate of w x h holds items whose inflated areas
(a = (w_i + g)(h_i + g)) sum to at most (w - 2s + g)(h - s - l + g). Of a sheet drawn, all that is no plate can at most
be credited at its rate, so a sheet with k plates that holds inflated area x costs at least

    price - rate*W*H + k*plate + (k - 1)*cut + (rate + process) * ratio * x,      ratio = plate area / usable area,

where ratio is least for the largest plate. A small mixed-integer program chooses how many sheets of each type (with
one, two, three or more plates) are drawn and how the area of each class of units is spread over the types it fits.
Half a cent per rounded figure is taken off, since credits and process costs are rounded. Source: derived here; the same
argument for one bin type is the continuous bound of Martello & Vigo (1998, doi 10.1287/mnsc.44.3.388).

Single-unit bound. No solution is cheaper than the cheapest sheet with a plate around any one of its units: other plates
add cost and take room from rests. The plate is priced at its least size and the rests at the most they can earn, each
for itself, since a larger plate may be what makes a rest wide enough to keep.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import highspy
import numpy as np

from nest.packing.kernels.plate import cents, credit, loadable
from nest.packing.linear import QuietHighs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.fits import Fit
    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

AREA_PROOF = "area program"
SINGLE_PROOF = "dearest single piece"
HALF_CENT = 0.005
MOST_PLATES = 3
MOST_NODES = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A sheet type used with ``plates`` plates (the last count stands for that many or more)."""

    bin: int
    plates: int
    capacity: float
    fixed: float
    per_area: float


def floor_cents(amount: float) -> float:
    """Return an amount rounded down to cents and never below zero; a hair is taken off for solver tolerance."""
    return max(0.0, math.floor(amount * 100.0 - 1e-4 * max(1.0, abs(amount))) / 100.0)


def single_plate(problem: Problem, w: int, h: int, side: int, lead: int, gap: int) -> tuple[float, float]:
    """Return the most inflated area one plate of a w x h sheet can hold, and the least plate area per held area.

    An upper bound: limits of the machines count, their least sizes and the raw strip are left aside.
    """
    lim = problem.limits
    capacity, ratio = 0.0, math.inf
    for turned in (False, True):
        top_w = min(w, lim.max_around if turned else lim.max_across, lim.max_long)
        top_h = min(h, lim.max_across if turned else lim.max_around, lim.max_long)
        for a, b in ((min(top_w, lim.max_short), top_h), (top_w, min(top_h, lim.max_short))):
            use_w = a - side - (lead if turned else side) + gap
            use_h = b - side - (side if turned else lead) + gap
            if use_w > 0 and use_h > 0:
                capacity = max(capacity, float(use_w) * use_h)
                ratio = min(ratio, float(a) * b / (float(use_w) * use_h))
    return capacity, ratio


def variants_of(problem: Problem) -> list[Variant]:
    """Return every sheet type with one, two, three or more plates: what it can hold and what it costs at least."""
    side = min(level.side for level in problem.levels)
    lead = min(level.lead for level in problem.levels)
    m, rates, parts = min(side, lead), problem.rates, problem.limits.parts
    gap = min(problem.limits.gap, 2 * m)
    out = []
    for index, b in enumerate(problem.bins):
        single, ratio = single_plate(problem, b.w, b.h, side, lead, gap)
        if single == 0.0:
            continue
        wide, high = b.w - 2 * m + gap, b.h - 2 * m + gap
        double = max(float(wide - 2 * m + gap) * high, float(wide) * (high - 2 * m + gap))
        base = b.price - b.rate * b.w * b.h
        for k in range(1, min(MOST_PLATES, parts) + 1):
            rounded = parts if k == MOST_PLATES else k + problem.limits.keep
            out.append(
                Variant(
                    bin=index,
                    plates=k,
                    capacity=single if k == 1 else min(double, (k if k < MOST_PLATES else parts) * single),
                    fixed=base + k * rates.plate + (k - 1) * rates.cut - HALF_CENT * rounded,
                    per_area=(b.rate + rates.process) * ratio,
                )
            )
    return out


def area_bound(problem: Problem, fit: Fit, units: Sequence[int]) -> float:
    """Return the area bound of placing ``units``, 0 where the program cannot be solved."""
    if not units:
        return 0.0
    m = min(min(level.side, level.lead) for level in problem.levels)
    gap = min(problem.limits.gap, 2 * m)
    classes: dict[frozenset[int], float] = defaultdict(float)
    for u in units:
        classes[fit.any_axis(u)] += sum(float(i.w + gap) * (i.h + gap) for i in problem.units[u].items)
    variants = variants_of(problem)
    scale = max((v.capacity for v in variants), default=1.0)
    lp, inf = QuietHighs(mip_rel_gap=0.0, mip_abs_gap=1e-6, mip_max_nodes=MOST_NODES), highspy.kHighsInf
    whole = highspy.HighsVarType.kInteger
    capacity = [add_row(lp, -inf, 0.0) for _ in variants]
    cover = [add_row(lp, area / scale, inf) for _, area in sorted(classes.items(), key=lambda item: sorted(item[0]))]
    limited = {i: add_row(lp, -inf, float(b.stock)) for i, b in enumerate(problem.bins) if b.stock < len(units)}
    # a sheet drawn holds a unit at least; without this a sheet that costs nothing would be drawn without end
    drawn = add_row(lp, -inf, float(len(units)))
    for v, variant in enumerate(variants):
        rows = {capacity[v]: -variant.capacity / scale, drawn: 1.0}
        if variant.bin in limited:
            rows[limited[variant.bin]] = 1.0
        add_column(lp, variant.fixed, rows)
        lp.changeColIntegrality(lp.getNumCol() - 1, whole)
        for c, (bins, _) in enumerate(sorted(classes.items(), key=lambda item: sorted(item[0]))):
            if variant.bin in bins:
                add_column(lp, variant.per_area * scale, {capacity[v]: 1.0, cover[c]: 1.0})
    lp.run()
    if lp.getModelStatus() not in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kSolutionLimit):
        return 0.0
    return max(0.0, float(lp.getInfo().mip_dual_bound))


def add_row(lp: QuietHighs, low: float, high: float) -> int:
    """Add an empty row; return its index."""
    lp.addRow(low, high, 0, np.zeros(0, np.int32), np.zeros(0))
    return int(lp.getNumRow()) - 1


def add_column(lp: QuietHighs, cost: float, rows: dict[int, float]) -> None:
    """Add a variable from 0 upward with its coefficients by row."""
    index, value = np.array(list(rows), np.int32), np.array(list(rows.values()), np.float64)
    lp.addCol(cost, 0.0, highspy.kHighsInf, len(rows), index, value)


def earned(data: Data, rate: float, w: int, h: int) -> float:
    """Return the credit of a rest of w x h, 0 where it may not be kept."""
    return max(0.0, float(credit(data.lim, data.rate, rate, w, h)))


def most_credit(problem: Problem, data: Data, b: int, w: int, h: int, keep: int) -> float:
    """Return what the rests of a sheet beside a plate of at least w x h can earn at most.

    A rest does not meet the plate, so it is at most as wide as what is left beside the plate, or at most as high as
    what is left above it; rests of any number hold no more than the area left.
    """
    sheet, lim, rates = problem.bins[b], problem.limits, problem.rates
    beside, above = sheet.w - w, sheet.h - h
    one = max(earned(data, sheet.rate, beside, sheet.h), earned(data, sheet.rate, sheet.w, above))
    if keep < 2 or one == 0.0:
        return one if keep else 0.0
    short = max(min(beside, sheet.h), min(sheet.w, above))
    share = 1.0 if short >= lim.full_side else short / lim.full_side
    left = float(sheet.w) * sheet.h - float(w) * h
    return min(keep * one, max(one, sheet.rate * left * share - 2 * rates.handling + keep * HALF_CENT))


def sole_sheet(problem: Problem, data: Data, b: int, used: tuple[int, int], level: int) -> float:
    """Return a least cost of a sheet with a plate around a used area (w, h), whatever else lies on it.

    With no cut the plate is the whole sheet, with one cut it takes a whole side; with more, plate and rests are judged
    apart, each at its best. The machines' least long side is left aside.
    """
    sheet, lim, rates, keeps = problem.bins[b], problem.limits, problem.rates, problem.levels[level]
    best = math.inf

    def cost(w: int, h: int, cuts: int, credits: float) -> float:
        process = float(cents(rates.process * w * h))
        return sheet.price + rates.plate + process + cuts * rates.cut - credits

    for lead in (0, 1):
        low_w, low_h = (lim.min_across, lim.min_around) if lead == 0 else (lim.min_around, lim.min_across)
        w = max(used[0] + keeps.side + (keeps.lead if lead == 1 else keeps.side), low_w, lim.min_short)
        h = max(used[1] + keeps.side + (keeps.lead if lead == 0 else keeps.side), low_h, lim.min_short)
        if w > sheet.w or h > sheet.h:
            continue
        if loadable(data.lim, sheet.w, sheet.h, lead):
            best = min(best, cost(sheet.w, sheet.h, 0, 0.0))
        w, h = max(w, lim.strip), max(h, lim.strip)
        keep = min(lim.keep, lim.parts - 1)
        if lim.parts > 1:
            for pw, ph, rest in ((w, sheet.h, (sheet.w - w, sheet.h)), (sheet.w, h, (sheet.w, sheet.h - h))):
                if min(rest) > 0:
                    best = min(best, cost(pw, ph, 1, earned(data, sheet.rate, *rest) if keep else 0.0))
        if lim.parts > 2:
            best = min(best, cost(w, h, 2, most_credit(problem, data, b, w, h, keep)))
    return best


def single_bound(problem: Problem, data: Data, fit: Fit, units: Sequence[int]) -> float:
    """Return the least cost of a sheet that holds the unit dearest to place; only one-item units count."""
    dearest, known = 0.0, set()
    for u in units:
        unit = problem.units[u]
        if len(unit.items) != 1 or int(data.typ[u]) in known:
            continue
        known.add(int(data.typ[u]))
        item = unit.items[0]
        cheapest = math.inf
        for used, bins in (((item.w, item.h), fit.along[u]), ((item.h, item.w), fit.across[u])):
            for b in bins:
                cheapest = min(cheapest, sole_sheet(problem, data, b, used, unit.level))
        if math.isfinite(cheapest):
            dearest = max(dearest, cheapest)
    return dearest


def lower_bound(problem: Problem, data: Data, fit: Fit, units: Sequence[int]) -> tuple[float, str]:
    """Return the best proven bound in cents' precision and the name of its proof."""
    area = floor_cents(area_bound(problem, fit, units))
    single = single_bound(problem, data, fit, units)
    # a sum of rounded figures: nearest cent undoes binary noise, no rounding up of a true fraction
    single = round(single, 2) if abs(single - round(single, 2)) < 1e-6 else floor_cents(single)
    return (single, SINGLE_PROOF) if single > area else (area, AREA_PROOF)
