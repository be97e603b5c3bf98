"""Problems of more units than one search handles well.

Bins are filled one by one from a wide choice of units (greedy.py), a share of them, the dear ones first, is emptied
and filled anew, again and again (iterated greedy, Ruiz & Stützle 2007, doi 10.1016/j.ejor.2005.12.009); at the end
dear bins are gathered from anywhere and searched together (POPMUSIC, Taillard & Voss 2002,
doi 10.1007/978-1-4615-1507-4_27).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bench import Bench
from nest.packing.control import Silent, Voice
from nest.packing.greedy import Greedy
from nest.packing.search import Search
from nest.packing.state import State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.control import Stop
    from nest.packing.means import Means
    from nest.packing.problem import BinLayout, Problem

CHUNK_UNITS = 50
GATHER_UNITS = 60
GATHERS, REFILLS = 2, 2
"""So many are made from one state, at once where there are cores."""
FIRST_SHARE = 0.85
GATHER_WORK = 0.3
LAST_WORK = 60
PART_ROUNDS = 400
NOISE = 0.12
PARTS_APART = 10_000_000
"""Where the random streams of searches of parts begin."""
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


def by_badness(state: State, noise: float, random: np.random.Generator) -> list[int]:
    """Return the filled bins, the dearest for the area they hold first, with noise."""
    costs = np.array([layout.cost for layout in state.layouts])
    area = np.array([float(state.area[list(units)].sum()) for units in state.units])
    dear = costs / area * float(area.sum() / costs.sum())
    order = np.argsort(-(dear + random.gumbel(0.0, noise, len(costs))), kind="stable")
    return [int(at) for at in order]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A better packing of part of a state: filled bins to take out, those to put in, all axes and lots after it."""

    picked: tuple[int, ...]
    layouts: tuple[BinLayout, ...]
    axes: np.ndarray
    lots: np.ndarray


class Worker:
    """Works on one state with its own random numbers."""

    def __init__(self, state: State, bendable: frozenset[int], stop: Stop, stream: int, means: Means) -> None:
        """``stream`` and the seed make the random numbers, also those of the searches of parts."""
        self.problem, self.state, self.bendable, self.stop = state.problem, state, bendable, stop
        self.seed, self.stream, self.methods = means.seed, stream, means.methods
        self.random = np.random.default_rng([means.seed, stream])
        self.work = 0
        self.parts = 0

    def refill(self, share: float, work: int) -> None:
        """Empty a share of the bins and fill them anew; ``work`` was done before."""
        self.ruin(share)
        greedy = Greedy(self.problem, self.state, self.bendable, self.seed, self.stream)
        self.work += 1 + greedy.run(self.stop, work)
        for chunk in self.chunks():
            self.apply(self.search([], chunk, self.stop.part(LAST_WORK, 1.0)))

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

    def ruin(self, share: float) -> None:
        """Empty a share of the filled bins, the dear ones first, with noise."""
        state = self.state
        if state.layouts:
            dear = by_badness(state, NOISE, self.random)
            state.exchange(dear[: max(1, round(share * len(dear)))], [], state.axes, state.lots)

    def search(self, picked: Sequence[int], left: Sequence[int], stop: Stop) -> Part | None:
        """Search the units of some filled bins and some left-over ones together; return what is better, or None."""
        state = self.state
        inside = [u for at in picked for u in state.units[at]]
        units = [*inside, *left]
        if not units:
            self.work += 1
            return None
        small, axis_sets, lot_sets = part_of(self.problem, units, state.stock_without(picked))
        axis_free, lot_free = state.free_sets(inside)
        axes, lots = np.zeros(max(1, len(axis_sets)), np.int64), np.zeros(max(1, len(lot_sets)), np.int64)
        axes[list(axis_sets.values())] = state.axes[list(axis_sets)]
        lots[list(lot_sets.values())] = state.lots[list(lot_sets)]
        bench = Bench(small, self.seed, PARTS_APART + 1000 * self.stream + self.parts)
        self.parts += 1
        bendable = frozenset(axis_sets[s] for s in axis_free if s in axis_sets and s in self.bendable)
        search = Search(bench, range(len(units)), axes, bendable, stop, Voice(Silent(), ""), self.methods)
        search.lot_bendable = frozenset(lot_sets[s] for s in lot_free if s in lot_sets)
        own = {u: n for n, u in enumerate(units)}
        search.begin(renumbered([state.layouts[at] for at in picked], own), lots)
        search.cycle(stop, PART_ROUNDS)
        self.work += max(1, bench.work)
        self.stop.learn([stop])
        best = search.best
        before = sum(state.layouts[at].cost for at in picked)
        if len(best.left) > len(left) or (len(best.left) == len(left) and best.cost >= before - 1e-6 and picked):
            return None
        new_axes, new_lots = state.axes.copy(), state.lots.copy()
        new_axes[list(axis_sets)] = best.axes[list(axis_sets.values())]
        new_lots[list(lot_sets)] = best.lots[list(lot_sets.values())]
        return Part(
            picked=tuple(picked), layouts=tuple(renumbered(best.layouts, units)), axes=new_axes, lots=new_lots
        )

    def apply(self, part: Part | None) -> None:
        """Put a better packing of a part into the state."""
        if part is not None:
            self.state.exchange(part.picked, part.layouts, part.axes, part.lots)


class Decomposed:
    """The search for one large problem."""

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
        """Take the same arguments as ``Portfolio``."""
        self.bendable, self.stop, self.stream, self.voice, self.means = bendable, stop, stream, voice, means
        self.state = State(problem, wanted, axes)
        self.random = np.random.default_rng([means.seed, stream])
        self.work = 0
        self.workers = 0

    def run(self) -> State:
        """Search until a limit is reached; return the best state."""
        tries = 0
        while not tries or (self.stop.progress(self.work) < FIRST_SHARE and not self.stop.reached(self.work)):
            shares = [self.share() for _ in range(REFILLS)]
            for worker in self.means.team.each([partial(self.refilled, self.worker(), share) for share in shares]):
                self.work += worker.work
                if not tries or worker.state.beats(self.state):
                    self.state = worker.state
                    self.voice.tell("bin by bin" if tries else "first plan", self.state.rank)
                tries += 1
        while not self.stop.reached(self.work):
            self.gather()
            self.voice.tell("gathered", self.state.rank)
        return self.state

    def share(self) -> float:
        """Return which share of the bins to empty."""
        return 1.0 if self.random.random() < AFRESH else float(self.random.uniform(0.1, 0.5))

    def worker(self) -> Worker:
        """Return a worker on a copy of the best state."""
        self.workers += 1
        return Worker(
            self.state.copy(), self.bendable, self.stop, 1000 * (1 + self.stream) + self.workers, self.means
        )

    def refilled(self, worker: Worker, share: float) -> Worker:
        """Have a worker fill a share of the bins anew."""
        worker.refill(share, self.work)
        return worker

    def gather(self) -> None:
        """Search dear bins from anywhere together, several such sets at once; take what is cheaper."""
        picked = self.picked()
        share = GATHER_WORK * GATHER_UNITS / len(self.state.wanted)
        at_once = self.means.team.at_once(len(picked))
        time_share = min(1.0, at_once * share / max(1e-9, 1.0 - self.stop.progress(self.work)))
        left = sorted(self.state.left)[: GATHER_UNITS // 2]
        workers = [self.worker() for _ in picked]
        parts = self.means.team.each([
            partial(worker.search, bins, left, self.stop.part(self.stop.work_limit * share, time_share))
            for worker, bins in zip(workers, picked, strict=True)
        ])
        self.work += sum(worker.work for worker in workers)
        self.take(parts)

    def picked(self) -> list[list[int]]:
        """Return sets of filled bins to redo: the dearest for what they hold, with noise, up to so many units each."""
        state = self.state
        order = by_badness(state, NOISE, self.random)
        out: list[list[int]] = []
        # left-over units may belong to a set in any of the bins, so they go to one search alone
        for _ in range(1 if state.left else GATHERS):
            picked: list[int] = []
            total = 0
            while order and (not picked or total + len(state.units[order[0]]) <= GATHER_UNITS):
                total += len(state.units[order[0]])
                picked.append(order.pop(0))
            if picked:
                out.append(picked)
        return out or [[]]

    def take(self, parts: Sequence[Part | None]) -> None:
        """Take over better parts, each only while stock lasts."""
        state = self.state
        axes, lots, stock = state.axes.copy(), state.lots.copy(), state.stock.copy()
        gone: list[int] = []
        made: list[BinLayout] = []
        for part in parts:
            if part is None:
                continue
            after = stock.copy()
            for at in part.picked:
                after[state.layouts[at].bin] += 1
            for layout in part.layouts:
                after[layout.bin] -= 1
            if (after < 0).any():
                continue
            stock = after
            gone += part.picked
            made += part.layouts
            axes = np.where(part.axes != state.axes, part.axes, axes)
            lots = np.where(part.lots != state.lots, part.lots, lots)
        state.exchange(gone, made, axes, lots)
