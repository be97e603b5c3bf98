"""Why a unit is not placed, in the plate room's words."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from nest.domain.room import Unit as LengthUnit
from nest.packing.bench import Bench
from nest.units import MM_PER_INCH, UNITS_PER_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.problem import Problem, Unit
    from nest.packing.translate import MaterialProblem


def told(units: float, told_in: LengthUnit) -> str:
    """Return a length in units of 0.0001 mm in mm to 0.1 or inches to 0.01, rounded up so that it is never too little.

    Examples
    --------
    >>> told(2_113_100, LengthUnit.MM), told(254_001, LengthUnit.INCH)
    ('211.4 mm', '1.01 in')
    """
    if told_in is LengthUnit.MM:
        return f"{math.ceil(units / UNITS_PER_MM * 10 - 1e-6) / 10:.1f} mm"
    return f"{math.ceil(units / UNITS_PER_MM / MM_PER_INCH * 100 - 1e-6) / 100:.2f} in"


def shortfalls(problem: Problem, unit: Unit, axis: int, lead: int) -> list[tuple[int, str]]:
    """Return by how much a unit's plate is too large for imager, stations and bins along one axis and lead edge."""
    item, lim = unit.items[0], problem.limits
    keep = problem.levels[unit.level]
    w, h = (item.w, item.h) if axis == 0 else (item.h, item.w)
    pw = w + keep.side + (keep.lead if lead == 1 else keep.side)
    ph = h + keep.side + (keep.lead if lead == 0 else keep.side)
    across, around = (pw, ph) if lead == 0 else (ph, pw)
    out = [
        (across - lim.max_across, "too wide for the imager"),
        (around - lim.max_around, "too long for the imager"),
        (max(min(pw, ph) - lim.max_short, max(pw, ph) - lim.max_long), "too large for a station of the line"),
    ]
    bins = [problem.bins[b] for b in unit.bins]
    if bins:
        near = min(bins, key=lambda b: (max(pw - b.w, ph - b.h), b.name))
        way = "across" if pw - near.w >= ph - near.h else "around"
        out.append((max(pw - near.w, ph - near.h), f"too long {way} for {near.name}"))
    return out


def never_fits(material: MaterialProblem, index: int) -> str:
    """Return why no bin takes a unit at all: by what it is too large, or that nothing serves it."""
    problem = material.problem
    unit = problem.units[index]
    if not problem.bins:
        return f"no sheet of {material.material} in stock"
    if not unit.bins:
        row = material.members[index][0].row
        if row.due is not None and all(s.entry.expiry and s.entry.expiry < row.due.date() for s in material.stock):
            return f"every sheet of {material.material} expires before {row.due.date().isoformat()}"
        return f"no sheet of {material.material} serves it (lot, expiry or relief)"
    if len(unit.items) > 1:
        return f"no plate found that holds its {len(unit.items)} pieces together"
    item = unit.items[0]
    mask = item.axes or 3
    faults = [
        shortfalls(problem, unit, axis, lead) for axis in (0, 1) if mask & (1 << axis) for lead in (0, 1)
    ]
    # the way of laying it that is nearest to fitting tells most
    nearest = min(faults, key=lambda ways: sum(max(0, over) for over, _ in ways))
    over = [(excess, words) for excess, words in nearest if excess > 0]
    if not over:
        return "no plate around it keeps the least plate size, the raw strip and the parts per sheet"
    excess, words = max(over, key=lambda o: o[0])
    held = "" if mask == 3 else ", turned as its row says"
    return f"{told(excess, material.told_in)} {words} with its keep-outs{held}"


def stock_short(material: MaterialProblem, left: Sequence[int], axes: Sequence[int], seed: int) -> str:
    """Return what more stock the left-over units need, planned on sheets without limit."""
    problem = material.problem
    bench = Bench(problem, seed, 99)
    start = np.array([max(0, a) for a in axes] or [0], np.int64)
    stock = np.array([0 if s.is_offcut else len(problem.units) for s in material.stock], np.int64)
    value = bench.data.area * 1e-3
    free = sorted({problem.units[u].axis_set for u in left} - {-1} - {s for s, a in enumerate(axes) if a >= 0})
    lots = np.zeros(max(1, problem.lot_sets), np.int64)
    lot_free = sorted({problem.units[u].lot_set for u in left} - {-1})
    outcome = bench.repack(left, start, free, lots, lot_free, stock, value)
    count = Counter(problem.bins[layout.bin].name for layout in outcome.layouts)
    if not count:
        return f"no sheet of {material.material} left that takes it"
    words = [f"{n} more sheet{'s' if n > 1 else ''} of {name}" for name, n in sorted(count.items())]
    return f"stock used up: needs {' and '.join(words)}"
