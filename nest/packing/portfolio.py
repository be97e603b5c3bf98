"""A few searches of one problem side by side, which share what they find at fixed points of work.

However many of them run at the same time, each does the same steps with its own random state and hears of the others
only between cycles, so the result does not depend on the number of cores. The scheme is a cooperating portfolio
(Gomes & Selman 2001, doi 10.1016/S0004-3702(00)00081-3, with exchange as in Crainic & Toulouse 2010,
doi 10.1007/978-1-4419-1665-5_17; both from memory).
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from nest.packing.bench import Bench
from nest.packing.search import Search

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import numpy as np

    from nest.packing.control import Stop, Voice
    from nest.packing.means import Means
    from nest.packing.problem import Problem
    from nest.packing.state import State

SEARCHES = 2
CYCLES = 5
FIRST_ROUNDS, LATER_ROUNDS = 400, 40
STREAMS_APART = 100_000
"""Distance of the random streams of the searches of one problem."""


class Portfolio:
    """The searches of one problem and what they share."""

    def __init__(
        self,
        problem: Problem,
        wanted: Sequence[int],
        axes: np.ndarray,
        bendable: frozenset[int],
        stop: Stop,
        stream: int,
        voice: Voice,
        means: Means,
    ) -> None:
        """Take the same arguments as ``Search``; ``stream`` and the seed make the random states."""
        self.stop, self.voice, self.team = stop, voice, means.team
        # where the clock ends the search the plan may differ from run to run anyway, so one core takes one search
        count = SEARCHES if stop.deadline is None else means.team.at_once(SEARCHES)
        benches = [Bench(problem, means.seed, stream + STREAMS_APART * k) for k in range(count)]
        self.searches = [
            Search(bench, wanted, axes.copy(), bendable, stop, voice, means.methods) for bench in benches
        ]
        self._shared = [0] * count

    def run(self, prove: Callable[[], float]) -> State:
        """Search until a limit is reached and return the best solution; ``prove`` is called beside the first cycle."""
        self.searches[0].begin()
        self.share()
        for cycle in range(CYCLES):
            if self.over():
                break
            calls: list[Callable[[], float]] = [partial(self.turn, k, cycle) for k in range(len(self.searches))]
            if cycle == 0:
                # the proof takes the place of the last search's first cycle: about as long, and it loses little by it
                calls = [*calls[: max(1, len(calls) - 1)], prove]
            bounds = self.team.each(calls)
            # heard of here and not before, so that no search stops earlier where the proof happens to be quick
            self.voice.bound = max(self.voice.bound, *bounds)
            self.share()
        self.stop.learn(search.stop for search in self.searches)
        return self.best().best

    def turn(self, k: int, cycle: int) -> float:
        """Run one cycle of one search on its share of the limits; it proves nothing."""
        count = len(self.searches)
        turns = count * (CYCLES - cycle)
        at_once = self.team.at_once(count)
        if at_once == 1:
            turns -= k
        part = self.stop.part(self.stop.work_limit / (count * CYCLES), at_once / turns)
        self.searches[k].cycle(part, LATER_ROUNDS if cycle else FIRST_ROUNDS)
        return 0.0

    def over(self) -> bool:
        """Return whether the best is proven, or the clock or an interrupt ends all."""
        return self.best().proven or self.stop.reached(0)

    def best(self) -> Search:
        """Return the search with the best solution."""
        top = self.searches[0]
        for search in self.searches[1:]:
            if search.best.layouts and search.best.beats(top.best):
                top = search
        return top

    def share(self) -> None:
        """Let every search know what the others found since they last shared, and the best solution of all."""
        fresh = []
        for k, search in enumerate(self.searches):
            fresh.append(search.pool.layouts[self._shared[k] :])
        best = self.best()
        for k, search in enumerate(self.searches):
            for j, layouts in enumerate(fresh):
                if j != k:
                    for layout in layouts:
                        search.pool.add(layout)
            self._shared[k] = len(search.pool)
            search.take_over(best)

    @property
    def work(self) -> int:
        """Work of all searches so far."""
        return sum(search.bench.work for search in self.searches)
