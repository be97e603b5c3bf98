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


def floor_cents(amount: float) -> float:
    """Return an amount rounded down to cents and never below zero; a hair is taken off for solver tolerance."""
    return max(0.0, math.floor(amount * 100.0 - 1e-4 * max(1.0, abs(amount))) / 100.0)


def lower_bound(
    problem: Problem, data: Data, fit: Fit, units: Sequence[int], effort: float = 1.0
) -> tuple[float, str]:
    """Return the best proven bound in cents' precision and the name of its proof.

    ``effort`` scales the steps of the pattern bound, 0 leaves it out; the same effort gives the same bound.
    """
    area = floor_cents(area_bound(problem, fit, units))
    single = single_bound(problem, data, fit, units)
    # a sum of rounded figures: nearest cent undoes binary noise, no rounding up of a true fraction
    single = round(single, 2) if abs(single - round(single, 2)) < 1e-6 else floor_cents(single)
    patterns = floor_cents(pattern_bound(problem, data, fit, units, effort))
    best = max((area, 2, AREA_PROOF), (single, 1, SINGLE_PROOF), (patterns, 0, PATTERN_PROOF))
    return best[0], best[2]
