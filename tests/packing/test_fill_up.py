"""Units of a job kept on one plate of 600 x 400 mm: part of them lies there, the others come to it or not."""

from __future__ import annotations

from dataclasses import replace

from nest.domain.job import Together, Turn
from nest.packing.fill_up import filled_up
from nest.packing.problem import BinLayout, Placed, PlateLayout
from nest.packing.solve import Demand
from nest.packing.translate import keep_out_units
from tests.packing.shop import problem_of, room, row, sheet

MM = 10_000
SHOP = room(sheet(600, 400))
ROWS = [row(name, 300, 190, together=Together.PLATE) for name in "abc"]
PROBLEM = problem_of(ROWS, SHOP).problem
DEMAND = Demand(
    must=(0,), fill=(), borders=(0, 0), beside={}, keep_out=lambda border: keep_out_units(SHOP, "KV170", border)
)


def lying(*spots: tuple[int, int, int], axis: int = 0) -> BinLayout:
    """Return a sheet with items of unit 0 at (item, x, y)."""
    placed = tuple(Placed(unit=0, item=i, x=x * MM, y=y * MM, axis=axis) for i, x, y in spots)
    plate = PlateLayout(x=0, y=0, w=600 * MM, h=400 * MM, lead=0, level=0, placed=placed)
    return BinLayout(bin=0, cost=1.0, plates=(plate,), rests=(), cuts=())


def test_what_is_missing_comes_beside_what_lies_there() -> None:
    part = lying((0, 0, 0), (2, 300, 0))
    full = filled_up(PROBLEM, DEMAND, part, 0)
    assert full is not None
    placed = full.plates[0].placed
    assert placed[:2] == part.plates[0].placed
    assert [(p.item, p.axis, p.x, p.y) for p in placed[2:]] == [(1, 0, 0, 190 * MM)]


def test_a_set_keeps_the_axis_of_what_lies_there() -> None:
    # upright, 190 x 300 mm: a second and a third stand beside the first
    full = filled_up(PROBLEM, DEMAND, lying((0, 0, 0), axis=1), 0)
    assert full is not None
    assert {p.axis for p in full.plates[0].placed} == {1}
    free = problem_of([replace(one, turn=Turn.FREE) for one in ROWS], SHOP).problem
    mixed = filled_up(free, DEMAND, lying((0, 0, 0), axis=1), 0)
    assert mixed is not None
    assert len(mixed.plates[0].placed) == 3


def test_where_one_finds_no_place_nothing_is_done() -> None:
    middle = lying((0, 150, 100))
    assert filled_up(PROBLEM, DEMAND, middle, 0) is None
    apart = replace(lying((0, 0, 0)), plates=(*lying((0, 0, 0)).plates, *lying((1, 0, 0)).plates))
    assert filled_up(PROBLEM, DEMAND, apart, 0) is None
