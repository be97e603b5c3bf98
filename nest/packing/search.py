"""Large-neighbourhood search over filled bins: free a few, pack their units anew, keep what is better or nearly so.

Method: ruin and recreate (Schrimpf et al. 2000, doi 10.1006/jcph.1999.6413) with threshold acceptance (Dueck & Scheuer
1990, doi 10.1016/0021-9991(90)90201-B). A unit's value is a price learnt from the bins it has lain in, after the
sequential value correction of Mukhacheva & Zalgaller (1993) as used by Belov & Scheithauer (2007,
doi 10.1287/ijoc.1060.0198): it steers which fills count as good.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from nest.packing.dive import Diver, Task
from nest.packing.goal import Goals
from nest.packing.pool import Pool
from nest.packing.state import State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.bench import Bench, Outcome
    from nest.packing.control import Stop, Voice
    from nest.packing.dive import Dived
    from nest.packing.master import Relaxed
    from nest.packing.means import Methods
    from nest.packing.problem import BinLayout

MOST_BINS = 5
MOST_UNITS = 130
DIVE_SHARE = 0.4
LUMPS_DIVE_SHARE, GOAL_SHARE = 0.15, 0.6
"""Shares of the limits for dives and for goals where rests earn nothing."""
COLUMNS_SHARE = 0.4
FIRST_THRESHOLD, LAST_THRESHOLD = 0.008, 0.0004
LEARN = 0.04


class Search:
    """One run of the search on one bench."""

    def __init__(
        self,
        bench: Bench,
        wanted: Sequence[int],
        axes: np.ndarray,
        bendable: frozenset[int],
        stop: Stop,
        voice: Voice,
        methods: Methods,
    ) -> None:
        """Search for ``wanted`` units; ``axes`` is where sets start, ``bendable`` the sets that may change axis."""
        self.bench, self.stop, self.voice, self.methods = bench, stop, voice, methods
        self.bendable = bendable
        self.lot_bendable = frozenset(range(bench.problem.lot_sets))
        problem = bench.problem
        self.state = State(problem, wanted, axes)
        rates = [
            (b.price + problem.rates.plate) / (0.85 * b.w * b.h) + problem.rates.process for b in problem.bins
        ]
        self.value = self.state.area * (min(rates) if rates else 0.0)
        self.size = float(np.mean([b.price for b in problem.bins])) + problem.rates.plate if problem.bins else 0.0
        self.work_start = bench.work
        self.pool = Pool(problem, bench.data)
        self.diver: Diver | None = None
        # where rests earn nothing costs come in lumps of a bin: then the mix is what matters, and a threshold is blind
        lumps = all(b.rate == 0.0 for b in problem.bins)
        self.goals = Goals(bench, bendable, self.lot_bendable) if lumps and methods.goals else None
        self.dive_share = DIVE_SHARE if self.goals is None else LUMPS_DIVE_SHARE
        self.best = self.state.copy()
        self.best_rank = self.state.rank

    def construct(self) -> None:
        """Build a first solution: a few random packings of everything."""
        state = self.state
        axis_free, lot_free = state.free_sets([])
        axis_free = [s for s in axis_free if s in self.bendable]
        lot_free = [s for s in lot_free if s in self.lot_bendable]
        outcome = self.bench.repack(
            state.wanted, state.axes, axis_free, state.lots, lot_free, state.stock, self.value, effort=0.4
        )
        state.replace([], outcome)
        self.remember(outcome)
        self.keep_best("first plan")

    def remember(self, outcome: Outcome) -> None:
        """Put an outcome's bins into the pool."""
        for layout in outcome.layouts:
            self.pool.add(layout)

    def sets_of(self, units: list[int]) -> set[int]:
        """Return the axis sets of some units that may change axis."""
        return {self.bench.problem.units[u].axis_set for u in units} & self.bendable

    def keep_best(self, phase: str) -> None:
        """Remember the state if it is the best so far; tell of it."""
        rank = self.state.rank
        if not self.best.layouts or self.state.beats(self.best):
            self.best, self.best_rank = self.state.copy(), rank
            self.voice.tell(phase, rank)

    def badness(self, at: int) -> float:
        """Return how much dearer a filled bin is than its units are worth."""
        layout: BinLayout = self.state.layouts[at]
        return layout.cost - float(self.value[list(self.state.units[at])].sum())

    def pick_bins(self) -> list[int]:
        """Return the bins to free: badly filled ones, ones that share jobs, or all bins of one job."""
        bench, state = self.bench, self.state
        m = len(state.layouts)
        if m == 0:
            return []
        want = 1 + bench.below(min(MOST_BINS, m))
        if state.left and want == 1 and m > 1:
            want = 2

        def tournament() -> int:
            rivals = [bench.below(m) for _ in range(1 + bench.below(3))]
            return max(rivals, key=self.badness)

        mode = bench.chance()
        first = tournament()
        picked = [first]
        jobs = {bench.problem.units[u].job for u in state.units[first]}
        near: list[int] = []
        if mode < 0.5:
            if mode < 0.2:
                one = bench.problem.units[state.units[first][bench.below(len(state.units[first]))]].job
                jobs, want = {one}, MOST_BINS + 1
            near = [
                at for at in range(m)
                if at != first and any(bench.problem.units[u].job in jobs for u in state.units[at])
            ]  # fmt: skip
            while near and len(picked) < want:
                picked.append(near.pop(bench.below(len(near))))
        total = sum(len(state.units[at]) for at in picked)
        for _ in range(4 * want):
            if len(picked) >= want or mode < 0.2:
                break
            at = tournament()
            if at not in picked and total + len(state.units[at]) <= MOST_UNITS:
                picked.append(at)
                total += len(state.units[at])
        return picked

    def step(self, threshold: float) -> None:
        """Free some bins, pack them anew, accept or not."""
        state, bench = self.state, self.bench
        picked = self.pick_bins()
        units = [u for at in picked for u in state.units[at]]
        left = sorted(state.left)
        while len(left) > 40:
            left.pop(bench.below(len(left)))
        units += left
        if not units:
            return
        sets = self.sets_of(units)
        axis_free, lot_free = state.free_sets([u for at in picked for u in state.units[at]])
        axis_free = [s for s in axis_free if s in sets]
        lot_free = [s for s in lot_free if s in self.lot_bendable]
        old_cost = sum(state.layouts[at].cost for at in picked)
        old_left = sum(int(state.area[u]) for u in left)
        old_early = sum(float(state.area[u]) * bench.problem.units[u].early for u in left)
        outcome = bench.repack(
            units, state.axes, axis_free, state.lots, lot_free, state.stock_without(picked), self.value,
            limit=old_cost + 0.03 * self.size if not left else 1e300,
        )  # fmt: skip
        self.remember(outcome)
        if self.accepts(outcome, (old_left, old_early, old_cost), threshold):
            state.replace(picked, outcome)
            self.learn(outcome)
            self.keep_best("search")

    def accepts(self, outcome: Outcome, old: tuple[int, float, float], threshold: float) -> bool:
        """Return whether an outcome is better than what it replaces, or hardly dearer."""
        if outcome.left_area != old[0]:
            return outcome.left_area < old[0]
        if abs(outcome.left_early - old[1]) > 1e-6 * (1.0 + old[1]):
            return outcome.left_early < old[1]
        return outcome.cost < old[2] + threshold

    def learn(self, outcome: Outcome) -> None:
        """Move the value of each unit towards its share of the bin it lies in."""
        for layout in outcome.layouts:
            units = sorted(layout.units)
            area = self.state.area[units].astype(np.float64)
            self.value[units] = (1 - LEARN) * self.value[units] + LEARN * layout.cost * area / float(area.sum())

    @property
    def work(self) -> int:
        """Work since the limits in force began."""
        return self.bench.work - self.work_start

    def ended(self) -> bool:
        """Return whether a limit is reached or the best is proven."""
        return self.proven or self.stop.reached(self.work)

    @property
    def proven(self) -> bool:
        """Whether the best costs no more than the proven bound."""
        return self.best_rank[0] == 0 and self.best_rank[2] <= self.voice.bound + 0.004

    def progress(self) -> float:
        """Return how much of the limits is used up, 0 to 1."""
        return self.stop.progress(self.work)

    def begin(self, start: Sequence[BinLayout] = (), lots: np.ndarray | None = None) -> None:
        """Make a first solution, or begin with filled bins at the axes the search was made for and ``lots``."""
        if start:
            self.state.load(start, self.state.axes, self.state.lots if lots is None else lots)
            for layout in start:
                self.pool.add(layout)
            self.keep_best("start")
        else:
            self.construct()

    def take_over(self, other: Search) -> None:
        """Go on from another search's best solution where it is better than all met here."""
        if other.best.layouts and (not self.best.layouts or other.best.beats(self.best)):
            self.best, self.best_rank = other.best.copy(), other.best_rank
            self.state = other.best.copy()

    def cycle(self, stop: Stop, rounds: int) -> None:
        """Search until the limits of ``stop``: ``rounds`` of column generation at most, dives, then neighbourhoods."""
        self.stop, self.work_start = stop, self.bench.work
        if not self.state.layouts:
            return
        if self.diver is None and not self.state.left and self.methods.columns:
            self.diver = self.new_diver()
        if self.diver is not None:
            self.dives(self.diver, rounds)
        begun, spent = self.progress(), 0
        while self.methods.neighbourhoods and not self.ended():
            before = self.work
            if self.goals is not None and not self.best.left and spent < GOAL_SHARE * before:
                self.aim(self.goals)
                spent += self.work - before
                continue
            done = (self.progress() - begun) / max(1e-9, 1.0 - begun)
            self.step(FIRST_THRESHOLD * (LAST_THRESHOLD / FIRST_THRESHOLD) ** done * self.size)

    def aim(self, goals: Goals) -> None:
        """Try to place everything in a cheaper mix of bins than the best solution has."""
        trial = self.best.copy()
        if goals.attempt(trial, self.value, self.stop, self.work_start):
            for layout in trial.layouts:
                self.pool.add(layout)
            if trial.beats(self.state):
                self.state = trial
            self.keep_best("fewer or cheaper sheets")

    def new_diver(self) -> Diver:
        """Return column generation and dives for all units of this search."""
        state = self.state
        axis_free, lot_free = state.free_sets(state.wanted)
        task = Task(
            units=state.wanted,
            stock=state.stock_without(range(len(state.layouts))),
            axes=state.axes.copy(),
            axis_free=tuple(s for s in axis_free if s in self.bendable),
            lots=state.lots.copy(),
            lot_free=tuple(s for s in lot_free if s in self.lot_bendable),
        )
        rates = self.bench.problem.rates
        dear = 4.0 * max(b.price + rates.plate + rates.process * b.w * b.h for b in self.bench.problem.bins)
        return Diver(self.bench, self.pool, task, dear, self.size, self.value)

    def dives(self, diver: Diver, rounds: int) -> None:
        """Generate columns, learn their prices, then dive up to a share of the limits; go on from the best dive."""
        relaxed = diver.generate(rounds, lambda: self.progress() > COLUMNS_SHARE * self.dive_share or self.ended())
        if relaxed is None:
            return
        self.price_units(relaxed)
        best: Dived | None = None
        share = self.dive_share if self.methods.neighbourhoods else 1.0
        while self.methods.dives and self.progress() < share and not self.ended():
            limit = self.best_rank[2] * 1.01 + 0.01
            found = diver.dive(limit if best is None else min(limit, best.cost), self.ended)
            if found is not None and (best is None or found.cost < best.cost):
                best = found
        if best is not None:
            self.state.load(best.layouts, best.axes, best.lots)
            self.keep_best("dive")

    def price_units(self, relaxed: Relaxed) -> None:
        """Set each unit's value to the mean of its price in the linear program and its share of cost by area."""
        state, problem = self.state, self.bench.problem
        units = list(state.wanted)
        area = state.area[units].astype(np.float64)
        by_area = area * (self.best_rank[2] / float(area.sum()))
        sets = [problem.units[u].axis_set for u in units]
        by_price = [
            relaxed.prices[self.pool.typ[u], state.axes[s] if s >= 0 else 0] for u, s in zip(units, sets, strict=True)
        ]
        self.value[units] = 0.5 * by_area + 0.5 * np.array(by_price)
