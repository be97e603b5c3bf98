"""Problems of more units than one search handles well.

Bins are filled one by one from a wide choice of units (greedy.py), a share of them, the dear ones first, is emptied
and filled anew, again and again (iterated greedy, Ruiz & Stützle 2007, doi 10.1016/j.ejor.2005.12.009); at the end
dear bins are gathered from anywhere and searched together (POPMUSIC, Taillard & Voss 2002,
doi 10.1007/978-1-4615-1507-4_27).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bench import Bench
from nest.packing.control import Silent
from nest.packing.greedy import Greedy
from nest.packing.search import Search
from nest.packing.state import State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.control import Listener, Stop
    from nest.packing.problem import BinLayout, Problem

CHUNK_UNITS = 50
GATHER_UNITS = 60
FIRST_SHARE = 0.85
GATHER_WORK = 0.3
LAST_WORK = 60
AFRESH = 0.3
"""How often everything is emptied."""


def part_of(
    problem: Problem, units: Sequence[int], stock: np.ndarray
) -> tuple[Problem, dict[int, int], dict[int, int]]:
    """Return the problem of some units on a stock, and the new number of each axis set and lot set in it."""
    axis_sets: dict[int, int] = {}
    lot_sets: dict[int, int] = {}
    own = []
    for u in units:
        spec = problem.units[u]
        axis = axis_sets.setdefault(spec.axis_set, len(axis_sets)) if spec.axis_set >= 0 else -1
        lot = lot_sets.setdefault(spec.lot_set, len(lot_sets)) if spec.lot_set >= 0 else -1
        own.append(replace(spec, axis_set=axis, lot_set=lot))
    bins = tuple(replace(b, stock=int(n)) for b, n in zip(problem.bins, stock, strict=True))
    small = replace(problem, units=tuple(own), bins=bins, axis_sets=len(axis_sets), lot_sets=len(lot_sets))
    return small, axis_sets, lot_sets


def renumbered(layouts: Sequence[BinLayout], number: dict[int, int] | Sequence[int]) -> list[BinLayout]:
    """Return layouts with their units renumbered."""
    return [
        replace(
            layout,
            plates=tuple(
                replace(plate, placed=tuple(replace(p, unit=number[p.unit]) for p in plate.placed))
                for plate in layout.plates
            ),
        )
        for layout in layouts
    ]


class Decomposed:
    """The search for one large problem."""

    def __init__(
        self,
        problem: Problem,
        wanted: Sequence[int],
        axes: np.ndarray,
        bendable: frozenset[int],
        stop: Stop,
        seed: int,
        stream: int,
        listener: Listener,
        bound: float,
    ) -> None:
        """Take the same arguments as ``Search``; ``seed`` and ``stream`` make the random states of all parts."""
        self.problem, self.bendable, self.stop = problem, bendable, stop
        self.seed, self.stream, self.listener, self.bound = seed, stream, listener, bound
        self.state = State(problem, wanted, axes)
        self.random = np.random.default_rng([seed, stream])
        self.work = 0
        self.parts = 0

    def chunks(self) -> list[list[int]]:
        """Return the left-over units in runs of jobs: at least ``CHUNK_UNITS`` or three of the largest bin's area."""
        problem = self.problem
        wide = 3.0 * max(float(b.w) * b.h for b in problem.bins)
        order = sorted(self.state.left, key=lambda u: (-problem.units[u].early, problem.units[u].job, u))
        out: list[list[int]] = [[]]
        area = 0.0
        for u in order:
            last = out[-1]
            full = len(last) >= CHUNK_UNITS and area >= wide
            if full and problem.units[last[-1]].job != problem.units[u].job:
                out.append([])
                area = 0.0
            out[-1].append(u)
            area += float(self.state.area[u])
        return out

    def run(self) -> State:
        """Search until a limit is reached; return the best state."""
        state, limit, total = self.state, self.stop.work_limit, len(self.state.wanted)
        best, tries = state, 0
        while not tries or (self.stop.progress(self.work) < FIRST_SHARE and not self.stop.reached(self.work)):
            self.state = best.copy()
            self.ruin(1.0 if self.random.random() < AFRESH else float(self.random.uniform(0.1, 0.5)))
            greedy = Greedy(self.problem, self.state, self.bendable, self.seed, 10_000 * (1 + self.stream) + tries)
            self.work += 1 + greedy.run(self.stop, self.work)
            for chunk in self.chunks():
                self.search([], chunk, self.stop.part(LAST_WORK, 1.0), cycles=1)
            if not tries or self.state.rank < best.rank:
                best = self.state
                self.report("bin by bin" if tries else "first plan")
            tries += 1
        state = self.state = best
        share = GATHER_WORK * GATHER_UNITS / total
        while not self.stop.reached(self.work):
            left = sorted(state.left)[: GATHER_UNITS // 2]
            time_share = min(1.0, share / max(1e-9, 1.0 - self.stop.progress(self.work)))
            self.search(self.gather(), left, self.stop.part(limit * share, time_share), cycles=1)
            self.report("gathered")
        return state

    def report(self, phase: str) -> None:
        """Tell the listener."""
        self.listener.report(phase, self.state.cost, self.bound)

    def by_badness(self, noise: float) -> list[int]:
        """Return the filled bins, the dearest for the area they hold first, with noise."""
        state = self.state
        costs = np.array([layout.cost for layout in state.layouts])
        area = np.array([float(state.area[list(units)].sum()) for units in state.units])
        dear = costs / area * float(area.sum() / costs.sum())
        order = np.argsort(-(dear + self.random.gumbel(0.0, noise, len(costs))), kind="stable")
        return [int(at) for at in order]

    def gather(self) -> list[int]:
        """Return filled bins to redo together: the dearest for what they hold, with noise, up to so many units."""
        state = self.state
        picked: list[int] = []
        total = 0
        for at in self.by_badness(0.12):
            if picked and total + len(state.units[at]) > GATHER_UNITS:
                break
            picked.append(at)
            total += len(state.units[at])
        return picked

    def ruin(self, share: float) -> None:
        """Empty a share of the filled bins, the dear ones first, with noise."""
        state = self.state
        if state.layouts:
            dear = self.by_badness(0.12)
            state.exchange(dear[: max(1, round(share * len(dear)))], [], state.axes, state.lots)

    def search(self, picked: list[int], left: Sequence[int], stop: Stop, cycles: int) -> None:
        """Search the units of some filled bins and some left-over ones together; take the outcome if it is better."""
        state = self.state
        units = [u for at in picked for u in state.units[at]] + list(left)
        if not units:
            self.work += 1
            return
        small, axis_sets, lot_sets = part_of(self.problem, units, state.stock_without(picked))
        inside = [u for at in picked for u in state.units[at]]
        axis_free, lot_free = state.free_sets(inside)
        own = {u: n for n, u in enumerate(units)}
        axes = np.zeros(max(1, len(axis_sets)), np.int64)
        for s, n in axis_sets.items():
            axes[n] = state.axes[s]
        bench = Bench(small, self.seed, 1000 * (1 + self.stream) + self.parts)
        self.parts += 1
        bendable = frozenset(axis_sets[s] for s in axis_free if s in axis_sets and s in self.bendable)
        search = Search(bench, range(len(units)), axes, bendable, stop, Silent(), 0.0, cycles)
        lots = np.zeros(max(1, len(lot_sets)), np.int64)
        for s, n in lot_sets.items():
            lots[n] = state.lots[s]
        search.lot_bendable = frozenset(lot_sets[s] for s in lot_free if s in lot_sets)
        before = sum(state.layouts[at].cost for at in picked)
        search.run(renumbered([state.layouts[at] for at in picked], own), lots)
        self.work += max(1, bench.work)
        self.stop.reason = stop.reason
        best = search.best
        if len(best.left) > len(left) or (len(best.left) == len(left) and best.cost >= before - 1e-6 and picked):
            return
        chosen_axes, chosen_lots = state.axes.copy(), state.lots.copy()
        for s, n in axis_sets.items():
            chosen_axes[s] = best.axes[n]
        for s, n in lot_sets.items():
            chosen_lots[s] = best.lots[n]
        state.exchange(picked, renumbered(best.layouts, units), chosen_axes, chosen_lots)
