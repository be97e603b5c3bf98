"""Proven lower bounds of the cost of placing given units: the best of several proofs, each in a module of its own.

- ``bound_area``: a small mixed-integer program on areas, sheets, plates and stock;
- ``bound_single``: the least cost of a sheet that holds the unit dearest to place;
- ``bound_patterns``: relaxed patterns priced exactly, with whole numbers of sheets and whole axes of sets.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from nest.packing.bound_area import area_bound
from nest.packing.bound_patterns import pattern_bound
from nest.packing.bound_single import single_bound

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.fits import Fit
    from nest.packing.kernels.data import Data
    from nest.packing.problem import Problem

AREA_PROOF = "area program"
SINGLE_PROOF = "dearest single piece"
PATTERN_PROOF = "relaxed patterns on whole sheets"


def whole_cents(problem: Problem) -> bool:
    """Return whether every plan costs whole cents: credits and process costs always do, prices and rates mostly."""
    amounts = [problem.rates.plate, problem.rates.cut, *(b.price for b in problem.bins)]
    return all(abs(100.0 * a - round(100.0 * a)) < 1e-7 for a in amounts)


def safe_cents(amount: float, whole: bool) -> float:
    """Return a proven amount in cents, never below zero, a hair taken off first for solver tolerance.

    Rounded down, or up where every cost is ``whole`` cents: a cost above the last cent is at least the next.
    """
    hair = 1e-4 * max(1.0, abs(amount))
    if whole:
        return max(0.0, math.ceil(amount * 100.0 - max(0.1, hair)) / 100.0)
    return max(0.0, math.floor(amount * 100.0 - hair) / 100.0)


def lower_bound(
    problem: Problem, data: Data, fit: Fit, units: Sequence[int], effort: float = 1.0
) -> tuple[float, str]:
    """Return the best proven bound in cents' precision and the name of its proof.

    ``effort`` scales the steps of the pattern bound, 0 leaves it out; the same effort gives the same bound.
    """
    whole = whole_cents(problem)
    area = safe_cents(area_bound(problem, fit, units), whole)
    # a sum of rounded figures: nearest cent undoes binary noise
    single = single_bound(problem, data, fit, units)
    single = round(single, 2) if abs(single - round(single, 2)) < 1e-6 else safe_cents(single, whole)
    patterns = safe_cents(pattern_bound(problem, data, fit, units, effort), whole)
    best = max((area, 2, AREA_PROOF), (single, 1, SINGLE_PROOF), (patterns, 0, PATTERN_PROOF))
    return best[0], best[2]
