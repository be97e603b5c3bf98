from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.plan import Areas, KeepOut, Yields
from nest.domain.room import Costs
from nest.domain.totals import areas_of, cost_parts, m2, sheet_cost, totals_of, usable_m2, yields_of
from tests.domain.hand_made import cut_sheet, hand_sheet, rect
from tests.packing.shop import room

SHOP = room(costs=Costs(plate=12.0, process_per_m2=14.0, cut=1.5))
SHEET = cut_sheet()


def test_areas_come_in_square_metres() -> None:
    assert m2(rect(3.0, 4.0, 900.0, 1200.0)) == pytest.approx(1.08, abs=1e-12)


def test_the_usable_area_is_inside_the_keep_outs() -> None:
    # (800 - 10 - 10) * (700 - 20 - 10) = 780 * 670
    assert usable_m2(SHEET.plates[0]) == pytest.approx(0.5226, abs=1e-12)


def test_keep_outs_larger_than_the_plate_leave_nothing() -> None:
    plate = replace(SHEET.plates[0], keep_out=KeepOut(x0=500, x1=500, y0=20, y1=10))
    assert usable_m2(plate) == 0.0


def test_a_sheet_costs_price_plates_process_and_raw_cuts_less_credits() -> None:
    # 60 + 12 + 7.84 + 2 * 1.5 - 7.5; the finish cut is free
    assert sheet_cost(SHEET, SHOP) == pytest.approx(75.34, abs=1e-9)


def test_cost_parts_add_up_to_the_sheets_costs() -> None:
    parts = cost_parts([SHEET, SHEET], SHOP)
    assert (parts.sheets, parts.credit, parts.plates, parts.process, parts.cuts) == (120.0, 15.0, 24.0, 15.68, 6.0)
    assert parts.sheets - parts.credit + parts.plates + parts.process + parts.cuts == pytest.approx(
        2 * sheet_cost(SHEET, SHOP)
    )


def test_every_square_metre_is_accounted_for_once() -> None:
    areas, pieces = areas_of([SHEET])
    assert pieces == pytest.approx(0.12)
    assert areas.drawn == pytest.approx(1.0)
    assert areas.image == pytest.approx(2 * 0.19 * 0.29)
    assert areas.border == pytest.approx(0.12 - 2 * 0.19 * 0.29)
    assert areas.keep_out == pytest.approx(0.56 - 0.5226)
    assert areas.unused == pytest.approx(0.5226 - 0.12)
    assert areas.kept == pytest.approx(0.3)
    assert areas.scrap == pytest.approx(0.14)
    parts = areas.image + areas.border + areas.keep_out + areas.unused + areas.kept + areas.scrap
    assert parts == pytest.approx(areas.drawn, abs=1e-12)


def test_yields_are_nothing_where_nothing_is_drawn() -> None:
    areas, pieces = areas_of([])
    assert yields_of(areas, pieces) == Yields(gross=0.0, image=0.0, credited=0.0)


def test_credited_yield_leaves_out_what_is_kept() -> None:
    areas = Areas(drawn=2.0, image=0.5, border=0.1, keep_out=0.1, unused=0.3, kept=0.8, scrap=0.2)
    got = yields_of(areas, 0.6)
    assert (got.gross, got.image, got.credited) == pytest.approx((0.3, 0.25, 0.5))


def test_totals_count_and_sum_the_whole_plan() -> None:
    got = totals_of([SHEET, SHEET], SHOP, bound=100.0)
    assert (got.sheets, got.plates, got.raw_cuts, got.pieces) == (2, 2, 4, 4)
    assert got.cost == 150.68
    assert got.bound_gap == pytest.approx(50.68 / 150.68)


@pytest.mark.parametrize("bound", [-3.0, -1e-9])
def test_a_bound_is_never_negative(bound: float) -> None:
    assert totals_of([SHEET], SHOP, bound).bound == 0.0


def test_a_plan_that_costs_nothing_has_no_gap() -> None:
    free = replace(hand_sheet((100, 100), 1, (50, 50), (50, 50)), cost=0.0)
    got = totals_of([free], room(), bound=0.0)
    assert (got.cost, got.bound_gap) == (0.0, 0.0)
    assert totals_of([], room(), bound=0.0).cost == 0.0
