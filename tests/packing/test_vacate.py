"""Sheet of 600 x 400 in units of 1: plates A (left), B (right bottom), C (right top).

    +-----+-----+
    |     |  C  |
    |  A  +-----+
    |     |  B  |
    +-----+-----+
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from nest.packing.arrays import data_of
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout
from nest.packing.vacate import joined, unfit, vacated
from tests.packing.shop import costs, problem_of, room, row, sheet

MM = 10_000
ROWS = [row("a", 300, 400), row("b", 300, 200), row("c", 300, 200)]
SHOP = room(sheet(600, 400, price=24.0), costs=costs(plate=1.0, cut=0.5, offcut_value=0.5))
PROBLEM = problem_of(ROWS, SHOP).problem
DATA = data_of(PROBLEM)


def plate(unit: int, x: int, y: int, w: int, h: int) -> PlateLayout:
    placed = (Placed(unit=unit, item=0, x=x * MM, y=y * MM, axis=0),)
    return PlateLayout(x=x * MM, y=y * MM, w=w * MM, h=h * MM, lead=0, level=0, placed=placed)


def line(*ends: int) -> tuple[int, int, int, int]:
    x1, y1, x2, y2 = (end * MM for end in ends)
    return x1, y1, x2, y2


FULL = BinLayout(
    bin=0, cost=28.0,
    plates=(plate(0, 0, 0, 300, 400), plate(1, 300, 0, 300, 200), plate(2, 300, 200, 300, 200)),
    rests=(), cuts=(line(300, 0, 300, 400), line(300, 200, 600, 200)),
)  # fmt: skip


def rest(x: int, y: int, w: int, h: int) -> RestLayout:
    return RestLayout(x=x * MM, y=y * MM, w=w * MM, h=h * MM, kept=False)


def test_a_bin_without_units_to_go_is_the_same_bin() -> None:
    assert vacated(PROBLEM, DATA, FULL, set(), {0, 1, 2}) == FULL


def test_an_emptied_plate_becomes_a_rest() -> None:
    left = vacated(PROBLEM, DATA, FULL, {1}, {0, 1, 2})
    assert left is not None
    assert left.units == {0, 2}
    assert [(r.x // MM, r.y // MM, r.w // MM, r.h // MM, r.kept) for r in left.rests] == [(300, 0, 300, 200, True)]
    # price, two plates, two cuts, less the credit of a quarter of the sheet at half of its price
    assert left.cost == pytest.approx(24.0 + 2.0 + 1.0 - 3.0)


def test_a_cut_between_two_rests_is_not_made() -> None:
    left = vacated(PROBLEM, DATA, FULL, {1, 2}, {0, 1, 2})
    assert left is not None
    assert left.cuts == (line(300, 0, 300, 400),)
    assert [(r.x // MM, r.y // MM, r.w // MM, r.h // MM) for r in left.rests] == [(300, 0, 300, 400)]
    assert left.cost == pytest.approx(24.0 + 1.0 + 0.5 - 6.0)


def test_a_plate_without_a_must_unit_goes_with_what_else_lies_on_it() -> None:
    left = vacated(PROBLEM, DATA, FULL, set(), {0, 2})
    assert left is not None
    assert left.units == {0, 2}
    assert vacated(PROBLEM, DATA, FULL, {0}, {0}) is None


def test_strips_of_parallel_cuts_join_whatever_their_order() -> None:
    strips = [rest(0, 0, 100, 400), rest(100, 0, 100, 400), rest(200, 0, 400, 400)]
    for cuts in ([line(100, 0, 100, 400), line(200, 0, 200, 400)], [line(200, 0, 200, 400), line(100, 0, 100, 400)]):
        whole, left = joined(strips, cuts)
        assert (whole, left) == ([rest(0, 0, 600, 400)], [])


def test_rests_of_other_heights_stay_apart() -> None:
    rests = [rest(0, 0, 300, 400), rest(300, 0, 300, 200)]
    assert joined(rests, FULL.cuts) == (rests, list(FULL.cuts))


def test_units_that_may_not_stay_are_told() -> None:
    two = replace(FULL, plates=(replace(FULL.plates[0], placed=(*FULL.plates[0].placed, *FULL.plates[1].placed)),))
    assert unfit(PROBLEM, two, {1}, {}, {}) == set()
    alone = replace(PROBLEM, units=(PROBLEM.units[0], replace(PROBLEM.units[1], alone=True, job=9), PROBLEM.units[2]))
    assert unfit(alone, two, {1}, {}, {}) == {1}
    # who does not change does not leave
    assert unfit(alone, two, set(), {}, {}) == set()
    # the set lies the other way; its bin serves it no more
    assert unfit(PROBLEM, two, {1}, {PROBLEM.units[1].axis_set: 1}, {}) == {1}
    other_bin = replace(PROBLEM, units=(PROBLEM.units[0], replace(PROBLEM.units[1], bins=()), PROBLEM.units[2]))
    assert unfit(other_bin, two, {1}, {}, {}) == {1}
