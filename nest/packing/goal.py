"""Search with a goal: all units in a given cheaper mix of bins, the area left over driven to nothing.

Costs come in lumps of a bin, which a search that lets costs rise a little cannot cross. Here some bins are taken away,
or exchanged for others with less fixed cost, and the units left over are worked in by ruin and recreate. A unit that is
left over again and again counts for more. Source of the scheme: goal-driven ruin and recreate (Gardeyn & Wauters 2022,
doi 10.1016/j.ejor.2021.11.031).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bound_area import variants_of
from nest.packing.control import ATTEMPTS_PER_UNIT

if TYPE_CHECKING:
    from nest.packing.bench import Bench
    from nest.packing.control import Stop
    from nest.packing.problem import Problem
    from nest.packing.state import State

IDLE_STEPS = 40
MOST_UNITS = 60
MOST_PICKED = 3
WEIGHT = 2.5
"""How much more than by cost a unit counts: full bins matter here, not cheap ones."""
LEFT_AGAIN = 1.1
TRIES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """Filled bins to take away (indices) and bin types to have instead."""

    out: tuple[int, ...]
    into: tuple[int, ...]


class Goals:
    """Chooses goals near a solution and works on them."""

    def __init__(self, bench: Bench, bendable: frozenset[int], lot_bendable: frozenset[int]) -> None:
        """``bendable`` and ``lot_bendable`` are the sets that may change axis or lot."""
        self.bench, self.bendable, self.lot_bendable = bench, bendable, lot_bendable
        problem: Problem = bench.problem
        self.fixed = np.full(len(problem.bins), np.inf)
        self.room = np.zeros(len(problem.bins))
        for variant in variants_of(problem):
            self.fixed[variant.bin] = min(self.fixed[variant.bin], variant.fixed)
            self.room[variant.bin] = max(self.room[variant.bin], variant.capacity)

    def choose(self, state: State) -> Move | None:
        """Return a move that would save fixed cost and may leave room for everything, or None."""
        bench = self.bench
        m, types = len(state.layouts), len(self.fixed)
        need = float(state.area[list(state.wanted)].sum())
        room = sum(float(self.room[layout.bin]) for layout in state.layouts)
        for _ in range(TRIES):
            out = {bench.below(m) for _ in range(1 + bench.below(2))}
            into = [bench.below(types) for _ in range(bench.below(len(out) + 1))]
            gone = [state.layouts[at].bin for at in out]
            saving = float(self.fixed[gone].sum() - self.fixed[into].sum())
            after = room + float(self.room[into].sum() - self.room[gone].sum())
            if saving <= 0.01 or need > after or sorted(gone) == sorted(into):
                continue
            stock = state.stock_without(sorted(out))
            if all(stock[b] >= into.count(b) for b in into):
                return Move(out=tuple(sorted(out)), into=tuple(into))
        return None

    def attempt(self, state: State, value: np.ndarray, stop: Stop, work_start: int) -> bool:
        """Try to place everything in a cheaper mix; return whether that was done, in ``state``.

        ``value`` is each unit's share of cost; work is counted from ``work_start``.
        """
        move = self.choose(state)
        if move is None:
            self.bench.charge(ATTEMPTS_PER_UNIT)
            return False
        before = state.stock_without(move.out)
        state.exchange(move.out, [], state.axes, state.lots)
        state.stock[:] = 0
        for b in move.into:
            state.stock[b] += 1
        spare = before - state.stock
        weight = WEIGHT * value
        idle, least = 0, self.left_area(state)
        while state.left and idle < IDLE_STEPS and not stop.reached(self.bench.work - work_start):
            idle += 1
            self.step(state, weight, (1.0 - idle / IDLE_STEPS) * 0.25 * least)
            left = self.left_area(state)
            if left < least:
                least, idle = left, 0
        state.stock += spare
        return not state.left

    def left_area(self, state: State) -> int:
        """Return the area of what is left over."""
        return sum(int(state.area[u]) for u in state.left)

    def step(self, state: State, weight: np.ndarray, threshold: float) -> None:
        """Free some bins and pack their units and those left over anew; accept where little more area is left."""
        bench = self.bench
        picked = self.pick(state)
        left = sorted(state.left)
        while len(left) > MOST_UNITS // 2:
            left.pop(bench.below(len(left)))
        inside = [u for at in picked for u in state.units[at]]
        units = inside + left
        axis_free, lot_free = state.free_sets(inside)
        own = {bench.problem.units[u].axis_set for u in units} & self.bendable
        outcome = bench.repack(
            units, state.axes, [s for s in axis_free if s in own], state.lots,
            [s for s in lot_free if s in self.lot_bendable], state.stock_without(picked), weight,
        )  # fmt: skip
        before = sum(int(state.area[u]) for u in left)
        if outcome.left_area <= before + threshold * bench.chance():
            state.replace(picked, outcome)
            weight[sorted(state.left)] *= LEFT_AGAIN

    def pick(self, state: State) -> list[int]:
        """Return filled bins to free: at random, or such as share a job with what is left over."""
        bench = self.bench
        m = len(state.layouts)
        if m == 0:
            return []
        want = 1 + bench.below(min(MOST_PICKED, m))
        near = []
        if bench.chance() < 0.3:
            jobs = {bench.problem.units[u].job for u in state.left}
            near = [at for at in range(m) if any(bench.problem.units[u].job in jobs for u in state.units[at])]
        picked: list[int] = []
        total = 0
        for _ in range(4 * want):
            if len(picked) == want:
                break
            at = near.pop(bench.below(len(near))) if near else bench.below(m)
            if at not in picked and (not picked or total + len(state.units[at]) <= MOST_UNITS):
                picked.append(at)
                total += len(state.units[at])
        return picked
