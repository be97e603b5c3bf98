"""The least cost of a sheet with a plate around one unit: a proven lower bound from the unit dearest to place.

No solution is cheaper than the cheapest sheet with a plate around any one of its units: other plates
add cost and take room from rests. The plate is priced at its least size and the rests at the most they can earn, each
for itself, since a larger plate may be what makes a rest wide enough to keep.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from nest.packing.bound_loops import beside
from nest.packing.kernels.plate import cents, credit, loadable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.fits import Fit
    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem


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
                    value = max(0.0, float(credit(data.lim, data.rate, sheet.rate, *rest))) if keep else 0.0
                    best = min(best, cost(pw, ph, 1, value))
        if lim.parts > 2:
            best = min(best, cost(w, h, 2, beside(data.lim, data.rate, sheet.rate, sheet.w, sheet.h, w, h, keep)))
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
