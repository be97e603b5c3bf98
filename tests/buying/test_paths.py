from __future__ import annotations

import threading
from dataclasses import replace

import numpy as np
import pytest

from nest.buying.checks import NONE, Ratios
from nest.buying.crew import Crew
from nest.buying.past import Wishes
from nest.buying.paths import ASSUMED_REMAKES, past_demand, remake_rate, simulate
from tests.buying.test_cluster import same
from tests.buying.weeks import small

WISHES = Wishes(weeks=3, paths=4, seed=2, checks=0)


def test_two_processes_give_what_one_gives() -> None:
    # two spawned processes load the compiled loops: some seconds
    history, room = small()
    wishes = replace(WISHES, checks=2)
    assert same(simulate(history, room, wishes, Crew(cores=1)), simulate(history, room, wishes, Crew(cores=2)))


def test_a_path_is_the_same_among_few_and_many_and_another_seed_gives_others() -> None:
    history, room = small()
    few = simulate(history, room, replace(WISHES, paths=2), Crew())
    many = simulate(history, room, WISHES, Crew())
    other = simulate(history, room, replace(WISHES, seed=3), Crew())
    assert (few.cost == many.cost[:2]).all()
    assert not (many.cost == other.cost).all()


def test_an_interrupt_keeps_the_paths_that_are_done() -> None:
    history, room = small()
    stop = threading.Event()

    def told(done: int, _count: int) -> None:
        if done == 2:
            stop.set()

    whole = simulate(history, room, WISHES, Crew())
    cut = simulate(history, room, WISHES, Crew(interrupt=stop, told=told))
    assert (cut.paths, cut.wanted_paths) == (2, 4)
    assert (cut.sheets == whole.sheets[:2]).all()


def test_areas_and_money_add_up() -> None:
    history, room = small()
    demand = simulate(history, room, WISHES, Crew(), NONE)
    assert demand.first_week == history.next_monday
    assert (demand.pieces_m2 <= demand.drawn_m2 - demand.kept_m2 + 1e-9).all()
    areas = np.array([size.across_mm * size.around_mm / 1e6 for size in demand.sizes])
    # what is drawn is new sheets and offcuts
    assert (demand.drawn_m2 >= demand.sheets @ areas - 1e-6).all()
    assert (demand.sheets.sum(axis=2)[demand.pieces_m2 > 0] >= 0).all()
    assert demand.sheets.sum() > 0


def test_ratios_given_are_used_for_the_figures_and_said() -> None:
    history, room = small()
    plain = simulate(history, room, WISHES, Crew(), NONE)
    half = Ratios(sheets=(0.0,) * len(plain.sizes), cost=0.5, used=0.5, weeks=9)
    found = simulate(history, room, WISHES, Crew(), half)
    assert found.sheets.sum() == 0
    assert found.cost == pytest.approx(np.round(plain.cost / 2, 2))
    assert (found.kept_m2 == plain.kept_m2).all()
    assert found.drawn_m2 - found.kept_m2 == pytest.approx((plain.drawn_m2 - plain.kept_m2) / 2, abs=1e-5)
    assert "by 9 of them nested longer" in found.basis[-1]


def test_the_past_weeks_are_one_path_from_the_first_monday_on() -> None:
    history, room = small()
    past = past_demand(history, room, replace(WISHES, remake_rate=0.0))
    assert (past.paths, past.weeks, past.first_week) == (1, len(history.weeks), history.weeks[0].monday)
    assert ((past.pieces_m2[0] > 0) == [bool(week.rows) for week in history.weeks]).all()


def test_the_remake_rate_is_the_wish_else_the_history_else_an_assumption() -> None:
    history, room = small()
    made = sum(week.pieces for week in history.weeks)
    assert remake_rate(history, Wishes(remake_rate=0.0)) == 0.0
    assert remake_rate(replace(history, remade=1), Wishes()) == 1 / made
    assert remake_rate(history, Wishes()) == ASSUMED_REMAKES
    none = simulate(history, room, replace(WISHES, remake_rate=0.0), Crew(), NONE)
    many = simulate(history, room, replace(WISHES, remake_rate=0.5), Crew(), NONE)
    assert many.pieces_m2.sum() > 1.3 * none.pieces_m2.sum()


def test_little_history_is_said_to_be_little() -> None:
    history, room = small()
    few = replace(history, weeks=history.weeks[:1])
    basis = simulate(few, room, WISHES, Crew(), NONE).basis
    assert basis[0].startswith("1 past week from 2026-08-31 to 2026-09-06, 1 with work")
    assert any("the spread may be far too small" in sentence for sentence in basis)
    assert any("assumed, since nothing tells" in sentence for sentence in basis)
