from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest

from nest.domain.job import Together
from nest.packing.bench import Outcome
from nest.packing.problem import BinLayout, Placed, PlateLayout
from nest.packing.state import State
from tests.packing.shop import problem_of, room, row, sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.problem import Problem

MM = 10_000


def layout(*units: int, cost: float = 50.0) -> BinLayout:
    placed = tuple(Placed(unit=u, item=0, x=0, y=0, axis=0) for u in units)
    plate = PlateLayout(x=0, y=0, w=MM, h=MM, lead=0, level=0, placed=placed)
    return BinLayout(bin=0, cost=cost, plates=(plate,), rests=(), cuts=())


def outcome(*layouts: BinLayout, axes: Sequence[int] = (0, 0)) -> Outcome:
    return Outcome(
        left_area=0, left_early=0.0, cost=sum(one.cost for one in layouts), layouts=layouts,
        axes=np.array(axes, np.int64), lots=np.zeros(1, np.int64),
    )


@pytest.fixture
def problem() -> Problem:
    rows = [row("a", 1, 1, job="A"), row("b", 1, 1, job="A"), row("c", 2, 1, job="B", due=datetime(2027, 3, 1))]
    return problem_of(rows, room(sheet(500, 500, on_hand=2))).problem


def start(problem: Problem) -> State:
    return State(problem, range(3), np.zeros(2, np.int64))


def test_nothing_is_placed_at_first(problem: Problem) -> None:
    state = start(problem)
    assert state.left == {0, 1, 2}
    assert state.cost == 0.0
    # area 1 + 1 + 2 of which 2 are due
    area, early, cost = state.rank
    assert (area, cost) == (4 * MM * MM, 0.0)
    assert early == pytest.approx(2.0 * MM * MM)


def test_filled_bins_are_exchanged_with_stock_and_axes(problem: Problem) -> None:
    state = start(problem)
    state.replace([], outcome(layout(0, 1), layout(2, cost=30.0), axes=(1, 0)))
    assert (state.left, state.cost, state.stock.tolist(), state.axes.tolist()) == (set(), 80.0, [0], [1, 0])
    state.replace([0], outcome(layout(1, cost=20.0)))
    assert (state.left, state.cost, state.stock.tolist(), state.axes.tolist()) == ({0}, 50.0, [0], [0, 0])
    assert [sorted(units) for units in state.units] == [[2], [1]]
    assert state.rank[0] == MM * MM


def test_a_copy_does_not_change_with_the_state(problem: Problem) -> None:
    state = start(problem)
    state.replace([], outcome(layout(0, 1)))
    kept = state.copy()
    state.replace([0], outcome(layout(2), axes=(1, 1)))
    assert (kept.left, kept.units, kept.stock.tolist(), kept.axes.tolist()) == ({2}, [(0, 1)], [1], [0, 0])


def test_stock_is_given_back_for_bins_taken_out(problem: Problem) -> None:
    state = start(problem)
    state.replace([], outcome(layout(0), layout(1)))
    assert state.stock_without([0, 1]).tolist() == [2]
    assert state.stock.tolist() == [0]


def test_a_set_is_free_only_with_all_its_units_at_hand(problem: Problem) -> None:
    state = start(problem)
    assert state.free_sets([]) == ([0, 1], [])
    state.replace([], outcome(layout(0), layout(1), layout(2)))
    assert state.free_sets([0])[0] == []
    assert state.free_sets([0, 1])[0] == [0]
    assert state.free_sets([2])[0] == [1]


def test_lot_sets_are_free_by_the_same_rule() -> None:
    shop = room(sheet(500, 500, lot="7"))
    lots = problem_of([row("a", 1, 1, copies=2, together=Together.LOT)], shop).problem
    state = State(lots, range(2), np.zeros(1, np.int64))
    state.replace([], outcome(layout(0), axes=(0,)))
    assert state.free_sets([]) == ([], [])
    assert state.free_sets([0]) == ([0], [0])


def test_stock_without_limit_is_as_much_as_there_are_units() -> None:
    free = problem_of([row("a", 1, 1, copies=3)], room(sheet(500, 500))).problem
    assert State(free, range(3), np.zeros(1, np.int64)).stock.tolist() == [3]
