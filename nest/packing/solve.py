"""Solve one problem: judge what fits, bound, search, then put left-over and fill units into free areas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.arrays import data_of
from nest.packing.bench import Bench
from nest.packing.bounds import lower_bound
from nest.packing.complete import Completion, swap_earlier_in
from nest.packing.decompose import Decomposed
from nest.packing.insert import Inserter
from nest.packing.portfolio import Portfolio
from nest.packing.problem import Solution
from nest.packing.tidy import tidied
from nest.packing.windows import without_windows

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.packing.control import Stop, Voice
    from nest.packing.fits import Fit
    from nest.packing.kernels.data import Data
    from nest.packing.means import Means
    from nest.packing.problem import BinLayout, Problem

MOST_AT_ONCE = 150
"""Units one search handles well; larger problems are decomposed."""
BOUND_SECONDS = ((4.0, 0.2), (7.0, 0.4), (16.0, 1.0))
"""Seconds a material must have for so much effort for its bound; twice as many on one core, where the search waits."""
SEARCH_SHARE = 0.97
"""Share of a time limit for the search; the rest is for tidying."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Which units of a problem to place and how.

    ``must`` are searched for, ``fill`` only take free area. ``borders`` is each unit's least floor border. ``beside``
    names, for a fill unit, the must unit whose plate it has to share. ``keep_out`` gives the keep-outs (lead edge,
    other edges) of a plate with a least border.
    """

    must: tuple[int, ...]
    fill: tuple[int, ...]
    borders: tuple[int, ...]
    beside: dict[int, int]
    keep_out: Callable[[int], tuple[int, int]]


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
    problem: Problem, demand: Demand, fit: Fit, stop: Stop, stream: int, voice: Voice, means: Means
) -> Solution:
    """Return the best solution found within the limits, with its proven bound.

    ``stop.reason`` tells afterwards what ended the search.
    """
    if not demand.must or not problem.bins:
        return Solution(
            bins=(), left=(*demand.must, *demand.fill), axes=(), lots=(), bound=0.0, proof="nothing to place", work=0
        )
    data = data_of(problem)
    # bounds hold whatever the batches; windows would only make more types of units
    timeless = without_windows(problem)
    timeless_data = data_of(timeless)
    effort = bound_effort(len(demand.must), stop, means)
    proofs = [lower_bound(timeless, timeless_data, fit, demand.must, effort=0.0)]
    voice.bound = proofs[0][0]

    def prove() -> float:
        if effort > 0.0:
            proofs.append(lower_bound(timeless, timeless_data, fit, demand.must, effort=effort))
        return proofs[-1][0]

    axes, bendable = axis_choices(problem, fit, demand.must)
    search = stop.part(stop.work_limit, SEARCH_SHARE)
    if len(demand.must) > MOST_AT_ONCE:
        large = Decomposed(problem, demand.must, axes, bendable, search, stream, voice, means)
        best, work = large.run(), large.work
    else:
        portfolio = Portfolio(problem, demand.must, axes, bendable, search, stream, voice, means)
        best, work = portfolio.run(prove), portfolio.work
    stop.learn([search])
    best = tidied(Bench(problem, means.seed, stream), best, stop)
    bound, proof = max(proofs, key=lambda one: one[0])
    settled = settle(problem, data, demand, best.layouts, sorted(best.left), best.axes, best.lots)
    layouts, left, axis_of, lot_of = settled
    gone = set(left)
    placed_must = [u for u in demand.must if u not in gone]
    if len(placed_must) < len(demand.must):
        bound, proof = lower_bound(timeless, timeless_data, fit, placed_must, effort=effort)
    return Solution(
        bins=tuple(layouts),
        left=tuple(left),
        axes=tuple(axis_of.get(s, -1) for s in range(problem.axis_sets)),
        lots=tuple(lot_of.get(s, -1) for s in range(problem.lot_sets)),
        bound=bound,
        proof=proof,
        work=work,
    )


def bound_effort(units: int, stop: Stop, means: Means) -> float:
    """Return how hard to work for the bound: its costly part only where it gains, and where there is time for it."""
    if units > MOST_AT_ONCE:
        return 0.0
    seconds = stop.seconds_left()
    if seconds is None:
        return means.proof
    seconds *= means.team.at_once(2) / 2
    return max((effort for least, effort in BOUND_SECONDS if seconds >= least), default=0.0)


def settle(
    problem: Problem,
    data: Data,
    demand: Demand,
    layouts: Sequence[BinLayout],
    left: Sequence[int],
    axes: np.ndarray,
    lots: np.ndarray,
) -> tuple[list[BinLayout], list[int], dict[int, int], dict[int, int]]:
    """Place left-over must units wherever there is room at all, then fill units in free areas.

    Returns the bins, what is still left over, and the axis and lot of each set that is placed.
    """
    units = problem.units
    placed = [u for layout in layouts for u in sorted(layout.units)]
    axis_of = {units[u].axis_set: int(axes[units[u].axis_set]) for u in placed if units[u].axis_set >= 0}
    lot_of = {units[u].lot_set: int(lots[units[u].lot_set]) for u in placed if units[u].lot_set >= 0}
    if not left and not demand.fill:
        return list(layouts), [], axis_of, lot_of

    def area(u: int) -> int:
        return sum(item.w * item.h for item in units[u].items)

    bins, still = list(layouts), sorted(left, key=lambda u: (-area(u), -units[u].early, u))
    for _ in range(2):
        inserter = Inserter(problem, bins, demand.borders, demand.keep_out, axis_of, lot_of)
        still = [u for u in still if not inserter.insert(u)]
        completion = Completion(problem, data, inserter.result(), inserter.axes, inserter.lots)
        still = [u for u in still if not completion.add(u)]
        bins, axis_of, lot_of = completion.layouts, completion.axes, completion.lots
    swap_earlier_in(problem, bins, still, axis_of)
    inserter = Inserter(problem, bins, demand.borders, demand.keep_out, axis_of, lot_of)
    home = {p.unit: (b, i) for b, layout in enumerate(bins) for i, plate in enumerate(layout.plates)
            for p in plate.placed}  # fmt: skip
    # the smaller first, so that as many as can be go in
    for u in sorted(demand.fill, key=lambda u: (area(u), u)):
        only = None
        if u in demand.beside:
            only = [home[demand.beside[u]]] if demand.beside[u] in home else []
        if not inserter.insert(u, only):
            still.append(u)
    return inserter.result(), still, inserter.axes, inserter.lots
