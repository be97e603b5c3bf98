"""A classical instance through the plate room's engine: no keep-outs, no process, no credits, price = bin cost."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.packing.control import Silent, Stop, Voice
from nest.packing.fits import fits_of
from nest.packing.means import Means
from nest.packing.problem import Bin, Item, Level, Limits, Problem, Rates, Unit
from nest.packing.solve import Demand, solve
from nest.packing.team import Team
from nest.units import UNITS_PER_MM
from tests.bench.one import NO_WORK_LIMIT, warm
from tests.bench.packing_check import Filled

if TYPE_CHECKING:
    from nest.packing.problem import Solution
    from tests.bench.instances import Instance, Variant

NO_LIMIT = 1 << 50
HAIR = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A packing with the engine's bound; costs of classical bins are whole numbers, so the bound is rounded up."""

    filled: tuple[Filled, ...]
    left: int
    cost: float
    bound: float
    seconds: float


def problem_of(instance: Instance, variant: Variant) -> Problem:
    """Return an instance as the engine's problem, a unit of length as one mm; an item size is a job of its own."""
    axes = 3 if variant.rotated else 1
    everywhere = tuple(range(len(instance.bins)))
    units = [
        Unit(
            items=(Item(row=row, w=w * UNITS_PER_MM, h=h * UNITS_PER_MM, axes=axes, apart=False),),
            group=0, job=row, alone=False, level=0, axis_set=-1, lot_set=-1, bins=everywhere, early=0.0,
        )
        for row, (w, h, n) in enumerate(instance.items) for _ in range(n)
    ]  # fmt: skip
    bins = [
        Bin(name=str(at), w=b.w * UNITS_PER_MM, h=b.h * UNITS_PER_MM, price=float(b.cost), rate=0.0,
            stock=NO_LIMIT if b.count is None else b.count, lot=-1)
        for at, b in enumerate(instance.bins)
    ]  # fmt: skip
    return Problem(
        units=tuple(units),
        bins=tuple(bins),
        levels=(Level(border=0, lead=0, side=0),),
        # a bin is one plate: parts of it would save nothing
        limits=Limits(
            gap=0, max_across=NO_LIMIT, max_around=NO_LIMIT, min_across=0, min_around=0, max_short=NO_LIMIT,
            max_long=NO_LIMIT, min_short=0, min_long=0, strip=0, full_side=0, min_side=0, parts=1, keep=0,
            free_cutting=not variant.guillotine,
        ),
        rates=Rates(plate=0.0, process=0.0, cut=0.0, handling=0.0, min_area=0.0, zero_credit=False),
        axis_sets=0,
        lot_sets=0,
        lots=0,
    )  # fmt: skip


def no_keep_out(_border: int) -> tuple[int, int]:
    """Return the keep-outs of a classical bin."""
    return 0, 0


def filled_of(problem: Problem, solution: Solution) -> tuple[Filled, ...]:
    """Return the engine's bins as boxes in the instance's own lengths."""
    out = []
    for layout in solution.bins:
        boxes = []
        for placed in (p for plate in layout.plates for p in plate.placed):
            item = problem.units[placed.unit].items[placed.item]
            sides = (item.w, item.h) if placed.axis == 0 else (item.h, item.w)
            x, y, w, h = (exact(length) for length in (placed.x, placed.y, *sides))
            boxes.append((placed.unit, (x, y, w, h)))
        out.append(Filled(bin=layout.bin, boxes=tuple(boxes)))
    return tuple(out)


def exact(length: int) -> int:
    """Return an engine length in whole units of the instance.

    Raises
    ------
    ValueError
        If it is not whole: rounding here could hide an overlap.
    """
    whole, rest = divmod(length, UNITS_PER_MM)
    if rest:
        raise ValueError(f"{length / UNITS_PER_MM} is no whole unit")
    return whole


def pack(instance: Instance, variant: Variant, seconds: float, seed: int, cores: int) -> Packed:
    """Return the engine's packing of an instance within a time limit."""
    warm()
    problem = problem_of(instance, variant)
    count = len(problem.units)
    begun = time.perf_counter()
    stop = Stop.after(NO_WORK_LIMIT, seconds)
    fit = fits_of(problem, seed)
    demand = Demand(must=tuple(range(count)), fill=(), borders=(0,) * count, beside={}, keep_out=no_keep_out)
    with Team(cores) as team:
        solution = solve(problem, demand, fit, stop, 0, Voice(Silent(), ""), Means(seed=seed, team=team))
    spent = time.perf_counter() - begun
    return Packed(
        filled=filled_of(problem, solution),
        left=len(solution.left),
        cost=sum(layout.cost for layout in solution.bins),
        bound=math.ceil(solution.bound - HAIR),
        seconds=spent,
    )
