from __future__ import annotations

from dataclasses import replace

from nest.domain.job import Together, Turn
from nest.packing.bound_units import set_choices, tied, tied_part
from nest.packing.fits import fits_of
from nest.packing.problem import BinLayout, Placed, PlateLayout
from tests.packing.shop import problem_of, room, row, sheet

SHOP = room(sheet(600, 400, name="one", lot="L1"), sheet(600, 400, name="two", lot="L2"))
ROWS = [
    row("a", 100, 50, together=Together.LOT), row("b", 90, 50, together=Together.LOT), row("c", 80, 50, job="3102"),
    row("d", 70, 50, job="3103", turn=Turn.FREE),
]  # fmt: skip
PROBLEM = problem_of(ROWS, SHOP).problem
ONE = BinLayout(
    bin=1, cost=0.0, rests=(), cuts=(),
    plates=(PlateLayout(x=0, y=0, w=9, h=9, lead=0, level=0, placed=(Placed(unit=0, item=0, x=0, y=0, axis=1),)),),
)  # fmt: skip


def test_the_sets_of_placed_units_have_an_axis_and_a_lot() -> None:
    assert set_choices(PROBLEM, [ONE]) == ({PROBLEM.units[0].axis_set: 1}, {PROBLEM.units[0].lot_set: 1})
    assert set_choices(PROBLEM, []) == ({}, {})


def test_a_unit_of_a_set_that_lies_elsewhere_is_tied_to_its_axis_and_lot() -> None:
    axes, lots = set_choices(PROBLEM, [ONE])
    b, c, d = (tied(PROBLEM.units[u], PROBLEM.bins, axes, lots) for u in (1, 2, 3))
    assert (b.axis_set, b.lot_set, b.items[0].axes, b.bins) == (-1, -1, 2, (1,))
    assert (c, d) == (PROBLEM.units[2], PROBLEM.units[3])


def test_a_part_numbers_the_sets_that_are_left() -> None:
    axes, lots = set_choices(PROBLEM, [ONE])
    fit = fits_of(PROBLEM, 0)
    small, own = tied_part(PROBLEM, fit, [2, 1], [3, -1], axes, lots)
    assert [unit.axis_set for unit in small.units] == [0, -1]
    assert (small.axis_sets, small.lot_sets, [b.stock for b in small.bins]) == (1, 0, [3, 0])
    assert own.along == (fit.along[2], fit.along[1])
    free, _ = tied_part(PROBLEM, fit, [0, 1], [1, 1], {}, {})
    assert [(unit.axis_set, unit.lot_set) for unit in free.units] == [(0, 0), (0, 0)]
    assert replace(free.units[0], axis_set=PROBLEM.units[0].axis_set) == PROBLEM.units[0]
