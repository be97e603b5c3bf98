"""A solution in a fraction of a second: one short search, no proof, nothing laid out neatly.

For thousands of problems of which only what they draw matters. What it gives is whole and keeps every rule; it is a
little dearer than what a long search finds (``python -m tests.bench.demand`` measures by how much).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.packing.bench import Bench
from nest.packing.control import Silent, Voice
from nest.packing.means import Methods
from nest.packing.search import Search
from nest.packing.solve import axis_choices, settle

if TYPE_CHECKING:
    from nest.packing.control import Stop
    from nest.packing.fits import Fit
    from nest.packing.problem import BinLayout, Problem
    from nest.packing.solve import Demand

METHODS = Methods(columns=False, dives=False)
"""Column generation needs more work than there is before it pays (measured)."""


def sketched(
    problem: Problem, demand: Demand, fit: Fit, stop: Stop, seed: int, stream: int
) -> tuple[tuple[BinLayout, ...], tuple[int, ...]]:
    """Return filled bins and the units left over, after one search within the limits."""
    if not demand.must or not problem.bins:
        return (), (*demand.must, *demand.fill)
    # a bin too small for a unit would be tried in vain again and again: old offcuts are many and small
    units = tuple(replace(u, bins=tuple(sorted(fit.any_axis(n)))) for n, u in enumerate(problem.units))
    problem = replace(problem, units=units)
    axes, bendable = axis_choices(problem, fit, demand.must)
    bench = Bench(problem, seed, stream)
    search = Search(bench, demand.must, axes, bendable, stop, Voice(Silent(), ""), METHODS)
    search.begin()
    search.cycle(stop, 0)
    best = search.best
    layouts, left, _, _ = settle(problem, bench.data, demand, best.layouts, sorted(best.left), best.axes, best.lots)
    return tuple(layouts), tuple(left)
