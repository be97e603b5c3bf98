"""Proven lower bounds of the cost of placing given units.

Area bound. With keep-outs s (sides) and l (lead edge) and gap g, a plate of w x h holds items whose inflated areas
(a = (w_i + g)(h_i + g)) sum to at most (w - 2s + g)(h - s - l + g). Of a sheet drawn, all that is no plate can at most be
credited at its rate, so a sheet with k plates that holds inflated area x costs at least

    price - rate*W*H + k*plate + (k - 1)*cut + (rate + process) * ratio * x,      ratio = plate area / usable area,

where ratio is least for the largest plate. A small mixed-integer program chooses how many sheets of each type (with
one, two, three or more plates) are drawn and how the area of each class of units is spread over the types it fits.
Half a cent per rounded figure is taken off, since credits and process costs are rounded. Source: derived here; the same
argument for one bin type is the continuous bound of Martello & Vigo (1998, doi 10.1287/mnsc.44.3.388).

Single-unit bound. No solution is cheaper than the cheapest sheet that holds any one of its units alone.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from ortools.linear_solver import pywraplp

from nest.packing.kernels.plate import NO_PLATE, cheapest_plate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.fits import Fit
    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

AREA_PROOF = "area program"
SINGLE_PROOF = "dearest single piece"
HALF_CENT = 0.005
MOST_PLATES = 3


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
    solver = pywraplp.Solver.CreateSolver("SCIP")
    solver.SetTimeLimit(20_000)
    number = [solver.IntVar(0, solver.infinity(), "") for _ in variants]
    flow: dict[tuple[int, int], object] = {}
    ordered = sorted(classes.items(), key=lambda item: sorted(item[0]))
    for c, (bins, area) in enumerate(ordered):
        for v, variant in enumerate(variants):
            if variant.bin in bins:
                flow[c, v] = solver.NumVar(0, solver.infinity(), "")
        solver.Add(sum(x for (cc, _), x in flow.items() if cc == c) >= area / scale)
    for v, variant in enumerate(variants):
        inside = [x for (_, vv), x in flow.items() if vv == v]
        if inside:
            solver.Add(sum(inside) <= variant.capacity / scale * number[v])
        else:
            solver.Add(number[v] == 0)
    for index, b in enumerate(problem.bins):
        if b.stock < len(units):
            solver.Add(sum(number[v] for v, variant in enumerate(variants) if variant.bin == index) <= b.stock)
    cost = sum(variant.fixed * number[v] for v, variant in enumerate(variants))
    cost += sum(variants[v].per_area * scale * x for (_, v), x in flow.items())
    solver.Minimize(cost)
    status = solver.Solve()
    if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return 0.0
    return max(0.0, float(solver.Objective().BestBound()))


def single_bound(problem: Problem, data: Data, fit: Fit, units: Sequence[int]) -> float:
    """Return the cost of the unit that is dearest to place alone on its cheapest sheet.

    Only one-item units count, and only where the machines' least long side does not bind, so that the plate priced
    is the cheapest there is.
    """
    size = np.zeros(4, np.int64)
    lim = problem.limits
    dearest, known = 0.0, set()
    for u in units:
        unit = problem.units[u]
        if len(unit.items) != 1 or int(data.typ[u]) in known:
            continue
        known.add(int(data.typ[u]))
        item = unit.items[0]
        cheapest = math.inf
        for axis, bins in ((0, fit.along[u]), (1, fit.across[u])):
            w, h = (item.w, item.h) if axis == 0 else (item.h, item.w)
            for b in bins:
                if max(w, h) < lim.min_long:
                    cheapest = 0.0
                    continue
                cost = cheapest_plate(
                    data, data.bin_w[b], data.bin_h[b], w, h, 0, 0, unit.level, lim.parts - 1, lim.keep,
                    data.bin_rate[b], 0.0, size,
                )  # fmt: skip
                if cost < NO_PLATE:
                    cheapest = min(cheapest, problem.bins[b].price + float(cost))
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
