"""Kinds of plates and how many of each there are at least, by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.packing.arrays import data_of
from nest.packing.bound_kinds import Kind, kinds_of, least_plates
from nest.packing.bounds import lower_bound
from nest.packing.fits import fits_of
from tests.packing.shop import costs, planned, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room

SHOP = room(sheet(1000, 1000, price=40.0), costs=costs(plate=10.0))


def plates(rows: list[Row], at: Room = SHOP) -> list[int]:
    problem = problem_of(rows, at).problem
    units = range(len(problem.units))
    return least_plates(problem, kinds_of(problem, units), units)


def proven(rows: list[Row], at: Room = SHOP) -> float:
    problem = problem_of(rows, at).problem
    return lower_bound(problem, data_of(problem), fits_of(problem, 0), range(len(problem.units)))[0]


def test_a_group_has_a_common_kind_and_one_for_each_job_that_is_alone() -> None:
    rows = [
        row("a", 100, 100, job="1"), row("b", 100, 100, job="1", alone=True), row("a", 100, 100, job="2"),
        row("a", 100, 100, job="3", relief=0.5),
    ]  # fmt: skip
    problem = problem_of(rows, SHOP).problem
    kinds = kinds_of(problem, range(4))
    assert len(kinds) == 3
    assert sum(kind.job >= 0 for kind in kinds) == 1
    at_home = [[kind.takes(unit) for kind in kinds] for unit in problem.units]
    # the job's row that is not alone may lie on either of two kinds, all others on one
    assert sorted(map(sum, at_home)) == [1, 1, 1, 2]
    assert not Kind(group=7, job=-1).takes(problem.units[0])


def test_plates_are_counted_by_area() -> None:
    # 9 pieces of a quarter sheet: three plates; together with another group's piece one more
    assert plates([row("a", 500, 500, copies=9)]) == [3]
    assert plates([row("a", 500, 500, copies=8), row("b", 500, 500, relief=0.5)]) == [2, 1]


def test_copies_that_lie_apart_need_a_plate_each() -> None:
    assert plates([row("a", 100, 100, copies=4, apart=True), row("b", 100, 100, copies=9)]) == [4]


def test_units_of_two_kinds_count_for_neither() -> None:
    assert plates([row("a", 900, 900, job="1"), row("b", 900, 900, job="1", alone=True)]) == [0, 1]


@pytest.mark.parametrize(
    ("rows", "cost"),
    [
        # three jobs alone: a plate each, on one sheet with two cuts (free here)
        ([row("a", 300, 300, job=str(j), alone=True) for j in range(3)], 40.0 + 3 * 10.0),
        # four copies apart: a plate each on one sheet
        ([row("a", 300, 300, copies=4, apart=True)], 40.0 + 4 * 10.0),
        # two groups of two quarters: two plates on one sheet
        ([row("a", 500, 500, copies=2), row("b", 500, 500, copies=2, relief=0.5)], 40.0 + 2 * 10.0),
    ],
)
def test_plates_of_several_kinds_are_proven_to_the_cent(rows: list[Row], cost: float) -> None:
    assert proven(rows) == pytest.approx(cost)
    assert planned(rows, SHOP, work_limit=20).totals.cost == pytest.approx(cost)
