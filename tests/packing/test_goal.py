from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from nest.packing.bench import Bench
from nest.packing.control import Stop
from nest.packing.goal import Goals
from nest.packing.state import State
from tests.packing.shop import costs, planned, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.room import Room


def start(at: Room, copies: int) -> tuple[Bench, State, Goals]:
    """Return a state in which each of some pieces of 200 x 300 lies on a sheet of its own."""
    problem = problem_of([row("a", 200, 300, copies=copies)], at).problem
    bench = Bench(problem, 0, 0)
    state = State(problem, range(copies), np.zeros(max(1, problem.axis_sets), np.int64))
    for u in range(copies):
        state.replace([], bench.repack([u], state.axes, [], state.lots, [], state.stock, state.area * 1e-9))
    return bench, state, Goals(bench, frozenset(), frozenset())


def test_a_goal_reached_has_everything_on_fewer_sheets() -> None:
    bench, state, goals = start(room(sheet(410, 610, on_hand=8)), 4)
    assert (len(state.layouts), state.cost) == (4, 200.0)
    for _ in range(60):
        trial = state.copy()
        if goals.attempt(trial, state.area * 1e-9, Stop.after(10**6, None), 0):
            state = trial
    assert (len(state.layouts), state.cost, state.left) == (1, 50.0, set())
    assert state.stock[0] == len(bench.problem.units) - 1


def test_no_goal_is_set_that_the_areas_rule_out() -> None:
    _, state, goals = start(room(sheet(200, 300)), 3)
    assert all(goals.choose(state) is None for _ in range(20))


def test_a_goal_keeps_within_stock() -> None:
    at = room(sheet(200, 300, price=90.0), sheet(410, 310, price=100.0, on_hand=1), costs=costs(plate=5.0))
    _, state, goals = start(at, 3)
    reached = 0
    for _ in range(30):
        trial = state.copy()
        if goals.attempt(trial, state.area * 1e-9, Stop.after(10**6, None), 0):
            reached += 1
            assert not trial.left
            assert (trial.stock >= 0).all()
            assert sum(layout.bin == 1 for layout in trial.layouts) <= 1
            assert trial.cost < state.cost
    assert reached


def test_an_attempt_ends_with_its_work() -> None:
    bench, state, goals = start(room(sheet(400, 600, on_hand=8)), 8)
    before = bench.work
    goals.attempt(state, state.area * 1e-9, Stop.after(before, None), 0)
    assert bench.work - before <= 30


def test_a_week_whose_rests_earn_nothing_is_packed_on_fewest_sheets() -> None:
    # each sheet holds two strips that together are nearly as high as it is; by area no fewer than five sheets do
    rows = [row(f"{n}", 990, 120 + 60 * n) for n in range(5)]
    rows += [row(f"{n} beside", 990, 870 - 60 * n) for n in range(5)]
    plan = planned(rows, room(sheet(1000, 1000)), work_limit=400)
    assert plan.totals.sheets == 5
