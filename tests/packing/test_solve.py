from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Need, Turn
from nest.packing.control import Silent, Stop, Voice
from nest.packing.fits import fits_of
from nest.packing.means import Means
from nest.packing.solve import Demand, axis_choices, solve
from nest.packing.team import Team
from nest.packing.translate import keep_out_units
from tests.packing.shop import MATERIAL, costs, problem_of, room, row, sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.packing.problem import Solution


def solved(rows: Sequence[Row], at: Room, work: int = 20, seed: int = 0) -> Solution:
    made = problem_of(rows, at)
    units = range(len(made.problem.units))
    fill = {u for u in units if made.members[u][0].row.need is Need.FILL}
    demand = Demand(
        must=tuple(u for u in units if u not in fill),
        fill=tuple(sorted(fill)),
        borders=tuple(min(piece.least_border for piece in members) for members in made.members),
        beside={},
        keep_out=partial(keep_out_units, at, MATERIAL),
    )
    fit = fits_of(made.problem, 0)
    with Team(1) as team:
        means = Means(seed=seed, team=team)
        return solve(made.problem, demand, fit, Stop.after(work, None), 0, Voice(Silent(), ""), means)


def test_every_unit_is_placed_once_or_left() -> None:
    # no strip of 20 may be cut off, so that the plates stay wide enough for the fill pieces
    shop = room(sheet(300, 300, on_hand=2), costs=costs(raw_min_strip_mm=50.0))
    found = solved([row("a", 140, 140, copies=9), row("f", 20, 20, copies=3, need=Need.FILL)], shop)
    placed = [p.unit for layout in found.bins for plate in layout.plates for p in plate.placed]
    assert len(placed) == len(set(placed))
    assert sorted([*placed, *found.left]) == list(range(12))
    assert len(found.left) == 1


def test_the_bound_is_that_of_what_is_placed() -> None:
    found = solved([row("a", 300, 300, copies=5)], room(sheet(300, 300, on_hand=2)))
    assert found.bound == pytest.approx(100.0, abs=0.1)
    assert sum(layout.cost for layout in found.bins) == 100.0


def test_nothing_to_place_is_done_at_once() -> None:
    found = solved([row("f", 20, 20, copies=3, need=Need.FILL)], room(sheet(300, 300)))
    assert (found.bins, found.left, found.bound, found.work) == ((), (0, 1, 2), 0.0, 0)
    assert solved([row("a", 20, 20)], room()).left == (0,)


def test_the_same_seed_gives_the_same_solution_whatever_else_ran_before() -> None:
    rows = [row("a", 140, 90, copies=4), row("b", 70, 120, copies=5, turn=Turn.FREE)]
    shop = room(sheet(300, 300), costs=costs(plate=2.0, process_per_m2=14.0, cut=0.5))
    first = solved(rows, shop, seed=4)
    solved(rows, shop, seed=5)
    assert solved(rows, shop, seed=4) == first


def test_a_set_starts_along_the_axis_that_takes_all_its_pieces() -> None:
    problem = problem_of([row("a", 300, 100, job="A"), row("b", 100, 300, job="B"), row("c", 90, 90, job="C")],
                         room(sheet(300, 100))).problem  # fmt: skip
    start, bendable = axis_choices(problem, fits_of(problem, 0), range(3))
    assert start.tolist() == [0, 1, 0]
    assert bendable == {2}


def test_a_set_that_no_axis_takes_whole_may_choose_which_to_leave_out() -> None:
    problem = problem_of([row("a", 300, 100), row("b", 100, 300)], room(sheet(300, 100))).problem
    assert axis_choices(problem, fits_of(problem, 0), range(2))[1] == {0}
