"""Solve one problem: judge what fits, bound, search, then put left-over and fill units into free areas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bench import Bench
from nest.packing.bounds import lower_bound
from nest.packing.insert import Inserter
from nest.packing.problem import Solution
from nest.packing.search import Search

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.control import Listener, Stop
    from nest.packing.fits import Fit
    from nest.packing.problem import BinLayout, Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Which units of a problem to place and how.

    ``must`` are searched for, ``fill`` only take free area. ``borders`` is each unit's least floor border. ``beside``
    names, for a fill unit, the must unit whose plate it has to share.
    """

    must: tuple[int, ...]
    fill: tuple[int, ...]
    borders: tuple[int, ...]
    beside: dict[int, int]


def axis_choices(problem: Problem, fit: Fit, units: Sequence[int]) -> tuple[np.ndarray, frozenset[int]]:
    """Return a first axis for every set, and the sets whose units fit along both axes."""
    sides = [[True, True] for _ in range(max(1, problem.axis_sets))]
    for u in units:
        s = problem.units[u].axis_set
        if s >= 0:
            sides[s][0] &= bool(fit.along[u])
            sides[s][1] &= bool(fit.across[u])
    start = np.array([0 if along or not across else 1 for along, across in sides], np.int64)
    # where neither axis takes all units of a set, the search decides which to leave out
    return start, frozenset(s for s, (along, across) in enumerate(sides) if along == across)


def solve(
    problem: Problem, demand: Demand, fit: Fit, stop: Stop, seed: int, stream: int, listener: Listener
) -> Solution:
    """Return the best solution found within the limits, with its proven bound.

    ``stop.reason`` tells afterwards what ended the search.
    """
    if not demand.must or not problem.bins:
        return Solution(
            bins=(), left=(*demand.must, *demand.fill), axes=(), lots=(), bound=0.0, proof="nothing to place", work=0
        )
    bench = Bench(problem, seed, stream)
    bound, proof = lower_bound(problem, bench.data, fit, demand.must)
    axes, bendable = axis_choices(problem, fit, demand.must)
    search = Search(bench, demand.must, axes, bendable, stop, listener, bound)
    search.run()
    best = search.best
    layouts, left, axis_of, lot_of = settle(problem, demand, best.layouts, sorted(best.left), best.axes, best.lots)
    placed_must = [u for u in demand.must if u not in left]
    if len(placed_must) < len(demand.must):
        bound, proof = lower_bound(problem, bench.data, fit, placed_must)
    return Solution(
        bins=tuple(layouts),
        left=tuple(left),
        axes=tuple(axis_of.get(s, -1) for s in range(problem.axis_sets)),
        lots=tuple(lot_of.get(s, -1) for s in range(problem.lot_sets)),
        bound=bound,
        proof=proof,
        work=bench.work,
    )


def settle(
    problem: Problem,
    demand: Demand,
    layouts: Sequence[BinLayout],
    left: Sequence[int],
    axes: np.ndarray,
    lots: np.ndarray,
) -> tuple[list[BinLayout], list[int], dict[int, int], dict[int, int]]:
    """Put left-over must units, then fill units, into free areas; return bins, what is still left, axes and lots."""
    placed = {u for layout in layouts for u in layout.units}
    axis_of = {problem.units[u].axis_set: int(axes[problem.units[u].axis_set]) for u in placed
               if problem.units[u].axis_set >= 0}
    lot_of = {problem.units[u].lot_set: int(lots[problem.units[u].lot_set]) for u in placed
              if problem.units[u].lot_set >= 0}
    if not left and not demand.fill:
        return list(layouts), [], axis_of, lot_of
    inserter = Inserter(problem, layouts, demand.borders, axis_of, lot_of)

    def area(u: int) -> int:
        return sum(item.w * item.h for item in problem.units[u].items)

    still = []
    for u in sorted(left, key=lambda u: (-area(u), u)):
        if not inserter.insert(u):
            still.append(u)
    home = {u: (b, p) for b, layout in enumerate(layouts) for p, plate in enumerate(layout.plates)
            for u in {placed.unit for placed in plate.placed}}
    # the smaller first, so that as many as can be go in
    for u in sorted(demand.fill, key=lambda u: (area(u), u)):
        only = None
        if u in demand.beside:
            only = [home[demand.beside[u]]] if demand.beside[u] in home else []
        if not inserter.insert(u, only):
            still.append(u)
    return inserter.result(), still, inserter.axes, inserter.lots
