"""One test per fault found and fixed, written before the fix."""

from __future__ import annotations

from datetime import datetime

import pytest

from nest.domain.plan import StoppedBy
from nest.packing.complete import swap_earlier_in
from nest.packing.problem import BinLayout, Placed, PlateLayout
from tests.packing.shop import costs, imager, planned, problem_of, room, row, sheet


def test_the_bound_of_one_piece_was_above_the_optimum() -> None:
    # a plate of 250 x 240 keeps both rests (cost 100 - 75 - 19 = 6), one of 240 x 240 only one of them (24): the bound
    # took 24 for the least and the plan called itself optimal
    shop = room(
        sheet(1000, 1000, price=100.0), imager=imager(clamp_mm=20.0, drum_tape_mm=20.0),
        costs=costs(offcut_value=1.0, offcut_min_side_mm=250.0),
    )
    plan = planned([row("a", 200, 200)], shop)
    assert plan.totals.bound <= 6.0
    assert plan.stopped_by is not StoppedBy.OPTIMAL or plan.totals.cost == 6.0


def test_the_bound_was_above_the_cost_of_a_larger_plate() -> None:
    # found at random: the check refused the plan, since the search had met a plate that the bound thought too large
    shop = room(
        sheet(300.0375, 508.0, price=5.0), imager=imager(max_across_mm=500.0625, max_around_mm=500.0625),
        costs=costs(offcut_value=0.6, offcut_min_side_mm=254.0, raw_parts_max=4),
    )
    plan = planned([row("a", 39.6875, 39.6875, apart=True, alone=True)], shop, work_limit=10)
    assert plan.totals.bound <= plan.totals.cost


@pytest.mark.parametrize("credited", [0.9, 1.0])
def test_sheets_that_are_credited_in_full_had_no_bound(credited: float) -> None:
    # a sheet that costs nothing until a piece lies on it was drawn without end by the bound's program
    shop = room(sheet(500, 500, price=40.0), costs=costs(offcut_value=credited))
    plan = planned([row("a", 250, 250, copies=3)], shop)
    assert plan.totals.bound == pytest.approx(40.0 - credited * 10.0, abs=0.2)


def test_plates_of_several_groups_did_not_share_a_sheet_where_rests_earn_nothing() -> None:
    # without credit and processing cost the first plate took the whole sheet, and every group drew one of its own
    rows = [row(name, 100, 300, relief=relief) for name, relief in (("a", 0.5), ("b", 0.6), ("c", ""))]
    assert planned(rows, room(sheet(300, 300))).totals.sheets == 1
    apart = [row("a", 100, 300, copies=3, apart=True)]
    assert planned(apart, room(sheet(300, 300), costs=costs(plate=1.0, cut=0.5))).totals.cost == 50 + 3 + 2 * 0.5


def test_a_unit_due_earlier_was_swapped_onto_a_plate_where_another_job_is_alone() -> None:
    rows = [
        row("A1", 50, 100, job="A", alone=True), row("A2", 50, 100, job="A"),
        row("B1", 50, 100, job="B", due=datetime(2027, 3, 1)),
    ]
    problem = problem_of(rows, room(sheet(100, 100, on_hand=1))).problem
    placed = tuple(Placed(unit=u, item=0, x=u * 500_000, y=0, axis=0) for u in (0, 1))
    plate = PlateLayout(x=0, y=0, w=1_000_000, h=1_000_000, lead=0, level=0, placed=placed)
    layouts, left = [BinLayout(bin=0, cost=50.0, plates=(plate,), rests=(), cuts=())], [2]
    swap_earlier_in(problem, layouts, left, {0: 0})
    assert left == [2]
    assert layouts[0].units == {0, 1}
