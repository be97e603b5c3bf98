from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.job import Need, Together, Turn
from nest.domain.room import Cutting
from nest.packing.insert import Inserter, item_box, least_border
from nest.packing.problem import BinLayout, Placed, PlateLayout
from nest.packing.translate import keep_out_units
from nest.units import to_units
from tests.packing.shop import MATERIAL, imager, problem_of, room, row, sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room

MM = 10_000
Spot = tuple[int, float, float, int]
"""Unit, x, y in mm, axis."""


def opened(
    rows: Sequence[Row], at: Room, *spots: Spot, axes: dict[int, int] | None = None, lots: dict[int, int] | None = None
) -> Inserter:
    """Return an inserter for one plate that is the whole first sheet and holds one-item units at those spots."""
    made = problem_of(rows, at)
    b = made.problem.bins[0]
    placed = tuple(Placed(unit=u, item=0, x=to_units(x), y=to_units(y), axis=axis) for u, x, y, axis in spots)
    plate = PlateLayout(x=0, y=0, w=b.w, h=b.h, lead=0, level=0, placed=placed)
    layout = BinLayout(bin=0, cost=b.price, plates=(plate,), rests=(), cuts=())
    borders = [min(piece.least_border for piece in members) for members in made.members]
    return Inserter(made.problem, [layout], borders, partial(keep_out_units, at, MATERIAL), axes or {0: 0}, lots or {})


def spots(inserter: Inserter) -> list[Spot]:
    return [(p.unit, p.x / MM, p.y / MM, p.axis) for p in inserter.result()[0].plates[0].placed]


def test_an_item_s_box_is_turned_with_its_axis() -> None:
    problem = problem_of([row("a", 30, 20)], room(sheet(100, 100))).problem
    assert item_box(problem, Placed(unit=0, item=0, x=5, y=7, axis=0)) == (5, 7, 5 + 30 * MM, 7 + 20 * MM)
    assert item_box(problem, Placed(unit=0, item=0, x=5, y=7, axis=1)) == (5, 7, 5 + 20 * MM, 7 + 30 * MM)


def test_the_least_border_of_a_plate_is_its_smallest() -> None:
    inserter = opened([row("a", 10, 10, border_mm=3.0), row("b", 10, 10, border_mm=2.0)], room(sheet(100, 100)),
                      (0, 0, 0, 0), (1, 50, 0, 0))  # fmt: skip
    plate = inserter.result()[0].plates[0]
    assert least_border(inserter.problem, inserter.borders, plate) == 2 * MM


def test_a_unit_goes_to_the_lowest_then_leftmost_place() -> None:
    inserter = opened([row("a", 60, 50), row("b", 40, 50), row("c", 100, 50)], room(sheet(100, 100)), (0, 0, 0, 0))
    assert inserter.insert(1)
    assert inserter.insert(2)
    assert spots(inserter)[1:] == [(1, 60.0, 0.0, 0), (2, 0.0, 50.0, 0)]


def test_what_fits_exactly_fits_and_a_little_more_does_not() -> None:
    rows = [row("a", 60, 100), row("b", 40, 100), row("c", 40.0001, 100)]
    shop = room(sheet(100, 100))
    assert opened(rows, shop, (0, 0, 0, 0)).insert(1)
    assert not opened(rows, shop, (0, 0, 0, 0)).insert(2)


@pytest.mark.parametrize(("gap", "fits"), [(5.0, True), (5.1, False)])
def test_the_gap_is_kept_to_both_neighbours(gap: float, fits: bool) -> None:
    rows = [row("a", 40, 100), row("b", 30, 100), row("c", 20, 100)]
    shop = room(sheet(100, 100), gap_mm=gap, cutting=Cutting.FREE)
    # a from 0 to 40, b from 70 to 100: c needs 20 + 2 gaps of the 30 between
    inserter = opened(rows, shop, (0, 0, 0, 0), (1, 70, 0, 0))
    assert inserter.insert(2) is fits


def test_a_hole_between_pieces_is_found() -> None:
    #  pinwheel with a free middle of 10 x 10
    rows = [row(name, *size, turn=Turn.FIXED) for name, size in
            (("a", (10, 20)), ("b", (20, 10)), ("c", (10, 20)), ("d", (20, 10)), ("e", (10, 10)))]
    around = ((0, 0, 0, 0), (1, 10, 0, 0), (2, 20, 10, 0), (3, 0, 20, 0))
    free = opened(rows, room(sheet(30, 30), cutting=Cutting.FREE), *around)
    assert free.insert(4)
    assert spots(free)[-1] == (4, 10.0, 10.0, 0)


def test_on_a_guillotine_plate_boxes_stay_partable() -> None:
    # three arms of a pinwheel can be parted, the fourth would close it
    #  +------+---+
    #  |  d   |   |
    #  +--+---+ c |
    #  |a |   |   |
    #  |  +---+---+
    #  +--+   b   |
    rows = [row(name, *size, turn=Turn.FIXED) for name, size in
            (("a", (10, 20)), ("b", (20, 10)), ("c", (10, 20)), ("d", (20, 10)))]
    arms = ((0, 0, 0, 0), (1, 10, 0, 0), (2, 20, 10, 0))
    assert not opened(rows, room(sheet(30, 30)), *arms).insert(3)
    assert opened(rows, room(sheet(30, 30), cutting=Cutting.FREE), *arms).insert(3)


@pytest.mark.parametrize(
    ("change", "goes"),
    [
        ({}, True),
        ({"relief": 0.5}, False),  # another group
        ({"job": "9", "alone": True}, False),
        ({"alone": True}, True),  # alone with its own job
        ({"together": Together.LOT}, False),  # the sheet has no lot
        ({"turn": Turn.FIXED}, True),
    ],
)
def test_the_rules_of_rows_say_who_joins(change: dict[str, Any], goes: bool) -> None:
    rows = [row("a", 50, 50), row("b", 20, 20, **change)]
    assert opened(rows, room(sheet(100, 100)), (0, 0, 0, 0)).insert(1) is goes


def test_copies_that_are_apart_do_not_meet() -> None:
    assert not opened([row("a", 20, 20, copies=2, apart=True)], room(sheet(100, 100)), (0, 0, 0, 0)).insert(1)


def test_a_set_that_is_placed_keeps_its_axis_and_another_gets_one() -> None:
    # 30 x 100 beside a goes upright only; a set that lies along axis 1 cannot
    rows = [row("a", 70, 100), row("b", 30, 100), row("c", 100, 30, job="9")]
    shop = room(sheet(100, 100))
    assert not opened(rows, shop, (0, 0, 0, 0), axes={0: 1}).insert(1)
    inserter = opened(rows, shop, (0, 0, 0, 0))
    assert inserter.insert(2)
    assert spots(inserter)[-1][3] == 1
    assert inserter.axes == {0: 0, 1: 1}


def test_a_lot_set_joins_sheets_of_its_lot_only() -> None:
    rows = [row("a", 50, 50, job="9"), row("b", 20, 20, together=Together.LOT)]
    shop = room(sheet(100, 100, lot="7"), sheet(50, 50, lot="8"))
    assert opened(rows, shop, (1, 0, 0, 0)).problem.units[0].lot_set >= 0
    inserter = opened(rows, shop, (1, 0, 0, 0))
    assert inserter.insert(0)
    assert inserter.lots == {0: 0}
    assert not opened(rows, shop, (1, 0, 0, 0), lots={0: 1}).insert(0)


def test_a_bundle_goes_in_whole_or_leaves_no_trace() -> None:
    rows = [row("a", 100, 60), row("b", 50, 40, copies=2, together=Together.COPIES, need=Need.FILL),
            row("c", 50, 40, copies=3, together=Together.COPIES, need=Need.FILL)]
    inserter = opened(rows, room(sheet(100, 100)), (0, 0, 0, 0))
    assert not inserter.insert(2)
    assert len(spots(inserter)) == 1
    assert inserter.insert(1)
    assert len(spots(inserter)) == 3


def test_a_smaller_border_joins_only_where_the_others_stay_out_of_the_wider_keep_out() -> None:
    shop = room(sheet(100, 100), imager=imager(clamp_mm=5.0, drum_tape_mm=5.0, border_under_hold=True))
    rows = [row("a", 50, 50, border_mm=5.0), row("b", 20, 20)]
    # a's border of 5 may lie in the tape; b without border makes the keep-out 5 all round
    assert not opened(rows, shop, (0, 0, 0, 0)).insert(1)
    inserter = opened(rows, shop, (0, 5, 5, 0))
    assert inserter.insert(1)
    x, y = spots(inserter)[-1][1:3]
    assert min(x, y) >= 5.0


def test_units_go_to_the_plates_named_only() -> None:
    inserter = opened([row("a", 50, 50), row("b", 20, 20)], room(sheet(100, 100)), (0, 0, 0, 0))
    assert not inserter.insert(1, only=[])
    assert inserter.insert(1, only=[(0, 0)])
