from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

import pytest

from nest.domain.job import Need, Together, Turn
from nest.domain.room import Cutting, Material, Station
from nest.packing.translate import (
    AREA_UNIT,
    NO_LIMIT,
    bundles,
    earliness,
    keep_out_units,
    keep_outs,
    levels_of,
    limits_of,
    rates_of,
    serving,
    stock_of,
)
from nest.plates.pieces import piece_of
from tests.packing.shop import MATERIAL, costs, imager, offcut, problem_of, room, row, sheet

MM = 10_000
SHOP = room(sheet(500, 500))
HELD = imager(clamp_mm=12.0, drum_tape_mm=10.0, trim_mm=8.0)


@pytest.mark.parametrize(
    ("under", "border", "bar", "want"),
    [
        (False, 0.0, 0.0, (12.0, 10.0)),
        (False, 5.0, 0.0, (12.0, 10.0)),
        (False, 5.0, 25.0, (25.0, 10.0)),  # the bar is at the lead edge only
        (False, 5.0, 11.0, (12.0, 10.0)),
        (True, 0.0, 0.0, (12.0, 10.0)),
        (True, 1.5, 0.0, (10.5, 8.5)),
        (True, 3.0, 0.0, (9.0, 8.0)),  # never below the trim
        (True, 50.0, 25.0, (8.0, 8.0)),
    ],
)
def test_keep_outs_follow_hold_trim_and_least_border(
    under: bool, border: float, bar: float, want: tuple[float, float]
) -> None:
    # design, section 3: max(hold, trim); with border_under_hold max(trim, hold - least border)
    shop = room(imager=replace(HELD, border_under_hold=under), stations=(Station(name="punch", bar_mm=bar),))
    assert keep_outs(shop, MATERIAL, border) == want
    assert keep_out_units(shop, MATERIAL, round(border * MM)) == tuple(round(w * MM) for w in want)


def test_a_material_s_trim_goes_before_the_imager_s() -> None:
    own = {MATERIAL: Material(name=MATERIAL, thickness_mm=1.7, base_mm=0.125, trim_mm=20.0)}
    assert keep_outs(room(imager=HELD, materials=own), MATERIAL, 0.0) == (20.0, 20.0)


def test_levels_are_the_different_keep_outs_from_the_least_border_up() -> None:
    shop = room(imager=replace(HELD, border_under_hold=True))
    levels = levels_of(shop, MATERIAL, [5 * MM, 0, 20_000, 6 * MM, 0])
    assert [(level.border, level.lead, level.side) for level in levels] == [
        (0, 12 * MM, 10 * MM),
        (20_000, 10 * MM, 8 * MM),
        (5 * MM, 8 * MM, 8 * MM),
    ]
    assert len(levels_of(room(imager=HELD), MATERIAL, [0, MM, 2 * MM])) == 1
    assert len(levels_of(room(imager=HELD), MATERIAL, [])) == 1


def test_station_limits_are_told_by_shorter_and_longer_side() -> None:
    stations = (
        Station(name="washer", max_a_mm=600.0, max_b_mm=900.0, min_a_mm=100.0, min_b_mm=300.0),
        Station(name="dryer", max_a_mm=1000.0, min_a_mm=150.0, min_b_mm=150.0),
        Station(name="light"),
    )
    lim = limits_of(room(stations=stations), MATERIAL)
    assert (lim.max_short, lim.max_long) == (600 * MM, 900 * MM)
    assert (lim.min_short, lim.min_long) == (150 * MM, 300 * MM)
    free = limits_of(room(), MATERIAL)
    assert (free.max_short, free.max_long, free.min_short, free.min_long) == (NO_LIMIT, NO_LIMIT, 0, 0)


def test_rates_are_per_squared_unit() -> None:
    rates = rates_of(room(costs=costs(process_per_m2=14.0, offcut_min_area_m2=0.12, plate=3.0, cut=1.0)))
    assert rates.process * 10_000 * 10_000 * 1e6 == pytest.approx(14.0)
    assert rates.min_area == 0.12 * AREA_UNIT
    assert (rates.plate, rates.cut, rates.zero_credit) == (3.0, 1.0, True)
    assert not rates_of(room(costs=costs(offcut_value=0.1))).zero_credit


def test_stock_is_ordered_and_the_reserve_held_back() -> None:
    shop = room(
        sheet(500, 500, name="b", on_hand=3, keep_back=2),
        sheet(400, 400, name="a"),
        sheet(300, 300, name="c", on_hand=1, keep_back=5),
        sheet(100, 100, name="other", material="KV284"),
        offcuts=(offcut(200, 100, value=4.0, lot="7"),),
        costs=costs(offcut_value=0.5),
    )
    stocked, bins = stock_of(shop, MATERIAL, False, ["7"])
    assert [b.name for b in bins] == ["a", "b", "c", "R-0101"]
    assert [s.is_offcut for s in stocked] == [False, False, False, True]
    assert [b.stock for b in bins] == [NO_LIMIT, 1, 0, 1]
    assert [b.lot for b in bins] == [-1, -1, -1, 0]
    # a sheet is credited at the room's share of its price, an offcut at its whole value
    assert bins[0].rate * bins[0].w * bins[0].h == pytest.approx(25.0)
    assert bins[3].rate * bins[3].w * bins[3].h == pytest.approx(4.0)
    assert [b.stock for b in stock_of(shop, MATERIAL, True, ["7"])[1]] == [NO_LIMIT, 3, 1, 1]


@pytest.mark.parametrize(
    ("change", "want"),
    [
        ({}, (0, 1, 2)),
        ({"relief": 0.5}, (0, 1, 2, 3)),
        ({"relief": 0.6}, (0, 1, 2)),
        ({"due": datetime(2027, 6, 30, 23)}, (0, 1, 2)),
        ({"due": datetime(2027, 7, 1)}, (0, 1)),
        ({"together": Together.LOT}, (1,)),
        ({"together": Together.BATCH}, (0, 1, 2)),
    ],
)
def test_relief_expiry_and_lot_say_which_stock_serves(change: dict[str, object], want: tuple[int, ...]) -> None:
    shop = room(
        sheet(500, 500, name="a"),
        sheet(500, 500, name="b", lot="7"),
        sheet(500, 500, name="c", expiry=date(2027, 6, 30)),
        offcuts=(offcut(400, 400, relief=0.5),),
    )
    stocked, _ = stock_of(shop, MATERIAL, False, ["7"])
    assert serving(row("a", 1, 1, **change), stocked) == want


def test_earlier_due_dates_weigh_more_and_none_nothing() -> None:
    first, second = datetime(2027, 3, 1), datetime(2027, 3, 2)
    weights = earliness(
        [row("a", 1, 1, due=second), row("b", 1, 1, due=first), row("c", 1, 1), row("d", 1, 1, due=first)]
    )
    assert weights[first] == 1.0
    assert 0 < weights[second] < 1.0
    assert weights[None] == 0.0


def test_bundles_hold_what_is_placed_whole() -> None:
    rows = [
        row("a", 10, 10, copies=2, together=Together.PLATE),
        row("b", 20, 20, together=Together.PLATE),
        row("c", 10, 10, copies=3, together=Together.COPIES),
        row("d", 10, 10, together=Together.COPIES),
        row("e", 10, 10, copies=2),
        row("f", 10, 10, job="9", together=Together.PLATE),
    ]
    made = [[piece.row.separation for piece in bundle] for bundle in bundles([piece_of(r, SHOP) for r in rows])]
    assert sorted(made) == [["b", "a", "a"], ["c", "c", "c"], ["d"], ["e"], ["e"], ["f"]]


def test_sets_share_an_axis_by_job_whatever_their_group() -> None:
    problem = problem_of(
        [row("a", 10, 10, relief=0.5), row("b", 10, 10), row("c", 10, 10, turn=Turn.FREE), row("d", 10, 10, job="9")],
        SHOP,
    ).problem
    assert [u.axis_set for u in problem.units] == [0, 0, -1, 1]
    assert [u.items[0].axes for u in problem.units] == [0, 0, 3, 0]
    assert problem.units[0].group != problem.units[1].group
    assert problem.axis_sets == 2


def test_fill_units_come_last_and_leave_the_levels_alone() -> None:
    shop = room(sheet(500, 500), imager=replace(HELD, border_under_hold=True))
    made = problem_of([row("a", 10, 10, need=Need.FILL), row("b", 10, 10, border_mm=2.0)], shop)
    assert [members[0].row.separation for members in made.members] == ["b", "a"]
    assert len(made.problem.levels) == 1


def test_a_bundle_goes_by_its_smallest_border_and_its_earliest_date() -> None:
    shop = room(sheet(500, 500), imager=replace(HELD, border_under_hold=True))
    rows = [
        row("a", 10, 10, border_mm=4.0, together=Together.PLATE, due=datetime(2027, 3, 1)),
        row("b", 10, 10, border_mm=1.0, together=Together.PLATE, alone=True),
        row("c", 10, 10, job="9", border_mm=4.0),
    ]
    units = problem_of(rows, shop).problem.units
    bundle = next(u for u in units if len(u.items) == 2)
    assert (bundle.level, bundle.early, bundle.alone) == (0, 1.0, True)
    assert next(u for u in units if len(u.items) == 1).level == 1


def test_free_cutting_is_told_to_the_engine() -> None:
    assert limits_of(room(cutting=Cutting.FREE), MATERIAL).free_cutting
    assert not limits_of(room(), MATERIAL).free_cutting
