"""The area program: a proven lower bound from areas, sheets, plates and stock.

With keep-outs s (sides) and l (lead edge) and gap g, a plate of w x h holds items whose inflated areas
(a = (w_i + g)(h_i + g)) sum to at most (w - 2s + g)(h - s - l + g). A sheet with k plates that holds inflated area x
has plates of at least ratio * x, ratio = plate area / usable area, which is least for the largest plate. So without a
kept rest it costs at least

    price + k*plate + (k - 1)*cut + process * ratio * x,

and with kept rests, which earn at most their rate on all that is no plate, less the handling of one, after a cut more,

    price - rate*W*H + handling + k*plate + k*cut + (rate + process) * ratio * x,

but then the least rest worth keeping takes its room off the plates. A small mixed-integer program chooses how many
sheets of each type (with one, two, three or more plates, with kept rests or without) are drawn and how the area of each
class of units is spread over the types it fits.
Half a cent per rounded figure is taken off, since credits and process costs are rounded. Source: derived here; the same
argument for one bin type is the continuous bound of Martello & Vigo (1998, doi 10.1287/mnsc.44.3.388).
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import highspy

from nest.packing.linear import QuietHighs, add_column, add_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.fits import Fit
    from nest.packing.problem import Bin, Problem

HALF_CENT = 0.005
MOST_PLATES = 3
MOST_NODES = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """A sheet type used with ``plates`` plates (the last count stands for that many or more), a rest kept or none."""

    bin: int
    plates: int
    kept: bool
    capacity: float
    fixed: float
    per_area: float


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


def least_keep_outs(problem: Problem) -> tuple[int, int]:
    """Return the least keep-outs of any plate: of edges that are no lead edge, and of the lead edge."""
    return min(level.side for level in problem.levels), min(level.lead for level in problem.levels)


def least_rest(problem: Problem, b: Bin) -> tuple[int, int, float] | None:
    """Return the least width, height and area of a strip that holds a rest worth keeping, None where none is.

    A rest worth keeping earns something, so its area at the full rate is worth more than its handling.
    """
    lim, rates = problem.limits, problem.rates
    if lim.keep < 1 or lim.parts < 2 or b.rate <= 0.0 or min(b.w, b.h) < lim.min_side:
        return None
    area = max(rates.min_area, rates.handling / b.rate, float(lim.min_side) ** 2)
    wide, high = max(lim.min_side, math.floor(area / b.h)), max(lim.min_side, math.floor(area / b.w))
    return (wide, high, area * (1.0 - 1e-9)) if wide <= b.w and high <= b.h else None


def variants_of(problem: Problem) -> list[Variant]:
    """Return every use of a sheet type: what it can hold and what it costs at least."""
    side, lead = least_keep_outs(problem)
    m = min(side, lead)
    gap = min(problem.limits.gap, 2 * m)
    out = []
    for index, b in enumerate(problem.bins):
        single, ratio = single_plate(problem, b.w, b.h, side, lead, gap)
        if single == 0.0:
            continue
        wide, high = b.w - 2 * m + gap, b.h - 2 * m + gap
        double = max(float(wide - 2 * m + gap) * high, float(wide) * (high - 2 * m + gap))
        rest = least_rest(problem, b)
        for k in range(1, min(MOST_PLATES, problem.limits.parts) + 1):
            most = single if k == 1 else min(double, (k if k < MOST_PLATES else problem.limits.parts) * single)
            out.append(variant(problem, index, k, None, most, ratio))
            if rest is None or k >= problem.limits.parts:
                continue
            if k > 1:
                most = min(most, (float(b.w) * b.h - rest[2]) / ratio)
                out.append(variant(problem, index, k, rest, most, ratio))
                continue
            # the plate lies beside or below the strip that holds the rest
            beside = single_plate(problem, b.w - rest[0], b.h, side, lead, gap)
            below = single_plate(problem, b.w, b.h - rest[1], side, lead, gap)
            if max(beside[0], below[0]) > 0.0:
                out.append(
                    variant(problem, index, k, rest, max(beside[0], below[0]), min(beside[1], below[1]))
                )
    return out


def variant(
    problem: Problem, index: int, k: int, rest: tuple[int, int, float] | None, capacity: float, ratio: float
) -> Variant:
    """Return a use of a sheet with k plates (or more), with rests kept or with none."""
    b, rates, parts = problem.bins[index], problem.rates, problem.limits.parts
    plates = (parts if k == MOST_PLATES else k) if rates.process > 0 else 0
    fixed = b.price + k * rates.plate + (k - 1) * rates.cut
    if rest is not None:
        fixed += rates.cut + rates.handling - b.rate * b.w * b.h
    rounded = min(parts, plates + (problem.limits.keep if rest is not None else 0))
    return Variant(
        bin=index,
        plates=k,
        kept=rest is not None,
        capacity=capacity,
        fixed=fixed - HALF_CENT * rounded,
        per_area=((b.rate if rest is not None else 0.0) + rates.process) * ratio,
    )


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
