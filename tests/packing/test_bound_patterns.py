"""The pattern bound against optima found by complete enumeration, against published optima and against itself.

Published optima: see ``tests/test_classics.py`` (Berkey & Wang 1987, Martello & Vigo 1998, Hopper & Turton 2001).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Together, Turn
from nest.domain.room import Cutting
from nest.packing.arrays import data_of
from nest.packing.bound_area import area_bound
from nest.packing.bound_patterns import pattern_bound
from nest.packing.bounds import PATTERN_PROOF, lower_bound
from nest.packing.fits import fits_of
from nest.plates.pieces import piece_of
from nest.works import prepare
from tests.brute import optimum
from tests.brute_weeks import week
from tests.packing.shop import costs, imager, offcut, planned, problem_of, room, row, sheet
from tests.test_classics import CLASSICS, ZERO_WASTE, Classic

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room

FULL = costs(
    plate=12.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6, offcut_handling=2.0, offcut_full_side_mm=400.0,
    offcut_min_side_mm=250.0, offcut_min_area_m2=0.12, raw_min_strip_mm=50.0,
)  # fmt: skip


def bound(rows: list[Row], at: Room, effort: float = 1.0) -> tuple[float, float]:
    """Return the pattern bound and the area bound of placing everything."""
    problem = problem_of(rows, at).problem
    fit, units = fits_of(problem, 0), range(len(problem.units))
    return pattern_bound(problem, data_of(problem), fit, units, effort), area_bound(problem, fit, units)


def mixed() -> list[Row]:
    sizes = [(310, 420), (280, 365), (150, 610), (235, 198)]
    return [
        row(f"c{colour}", w, h, job=f"31{at:02d}", turn=Turn.FREE if at == 3 else Turn.SET)
        for at, (w, h) in enumerate(sizes)
        for colour in range(3)
    ]


def store() -> Room:
    held = imager(clamp_mm=12.0, drum_tape_mm=10.0, max_across_mm=1067.0, max_around_mm=1524.0)
    sheets = (sheet(635, 762, price=35.81, on_hand=2), sheet(900, 1200, price=70.62, on_hand=3))
    return room(*sheets, imager=held, costs=FULL, offcuts=(offcut(400, 640, value=8.0),))


@pytest.mark.parametrize("seed", [*range(16), *range(204, 212)])
def test_no_bound_is_above_the_optimum_of_a_small_week(seed: int) -> None:
    shop = week(seed, pieces=4)
    best = optimum(shop.rows, shop.room)
    pieces = [piece_of(r, shop.room) for r in sorted(shop.rows, key=lambda r: r.key)]
    work = prepare(shop.room, pieces[0].row.material, pieces)
    if best.unplaced_m2 > 1e-9 or len(work.demand.must) < len(work.material.problem.units):
        pytest.skip("the optimum leaves pieces out")
    problem = work.material.problem
    proven, _ = lower_bound(problem, data_of(problem), work.fit, work.demand.must)
    patterns = pattern_bound(problem, data_of(problem), work.fit, work.demand.must)
    assert max(proven, patterns) <= best.cost + 0.005


@pytest.mark.parametrize("cutting", list(Cutting))
@pytest.mark.parametrize("classic", [*CLASSICS, *ZERO_WASTE], ids=lambda one: one.name)
def test_published_optima_are_never_passed(classic: Classic, cutting: Cutting) -> None:
    for turn in classic.turns:
        rows = [row("a", float(w), float(h), job=f"{at:02d}", turn=turn) for at, (w, h) in enumerate(classic.items)]
        shop = room(sheet(float(classic.bin[0]), float(classic.bin[1]), price=1.0), cutting=cutting)
        patterns, area = bound(rows, shop, effort=0.3)
        assert area - 0.01 <= patterns <= classic.optimum + 1e-6


def test_pieces_above_half_a_sheet_need_a_sheet_each() -> None:
    # 5 pieces of 600 x 600 on sheets of 1000 x 1000: two by area, five in fact
    rows = [row("a", 600, 600, copies=5)]
    for cutting in Cutting:
        patterns, area = bound(rows, room(sheet(1000, 1000, price=40.0), cutting=cutting))
        assert area < 85.0
        assert patterns <= 200.0
        assert patterns == pytest.approx(200.0, abs=0.01) if cutting is Cutting.GUILLOTINE else patterns > area


def test_a_set_lies_along_one_axis() -> None:
    patterns, _ = bound([row("a", 300, 900, copies=3)], room(sheet(900, 900, price=10.0)))
    assert patterns == pytest.approx(10.0, abs=0.01)
    patterns, _ = bound([row("a", 300, 900), row("b", 900, 600)], room(sheet(900, 1000, price=10.0)))
    # one axis for both: 300 wide and 900 wide do not go side by side, 900 + 600 not above each other
    assert patterns == pytest.approx(20.0, abs=0.01)


def test_whole_sheets_and_credits_are_proven_together_and_never_beat_a_plan() -> None:
    rows, shop = mixed(), store()
    patterns, area = bound(rows, shop)
    plan = planned(rows, shop, work_limit=60)
    assert plan.unplaced == ()
    assert area < patterns <= plan.totals.cost + 1e-6
    problem = problem_of(rows, shop).problem
    proven, proof = lower_bound(problem, data_of(problem), fits_of(problem, 0), range(len(problem.units)))
    assert proof == PATTERN_PROOF
    assert proven == pytest.approx(patterns, abs=0.011)


def test_the_bound_is_the_same_every_time_and_grows_from_the_area_program() -> None:
    rows, shop = mixed(), store()
    first, area = bound(rows, shop)
    assert bound(rows, shop)[0] == first
    assert bound(rows, shop, effort=0.0)[0] == 0.0
    assert bound(rows, shop, effort=0.05)[0] >= area - 0.2


def test_money_in_another_currency_changes_nothing_but_the_unit() -> None:
    rows, shop = mixed(), store()
    ten = costs(
        plate=120.0, process_per_m2=140.0, cut=15.0, offcut_value=0.6, offcut_handling=20.0,
        offcut_full_side_mm=400.0, offcut_min_side_mm=250.0, offcut_min_area_m2=0.12, raw_min_strip_mm=50.0,
    )  # fmt: skip
    dear = replace(
        shop, costs=ten, sheets=tuple(replace(s, price=10 * s.price) for s in shop.sheets),
        offcuts=tuple(replace(o, value=10 * o.value) for o in shop.offcuts),
    )  # fmt: skip
    assert bound(rows, dear)[0] / 10 == pytest.approx(bound(rows, shop)[0], rel=0.01)


def test_less_stock_and_more_pieces_do_not_cost_less() -> None:
    """The bound is a search for good prices, so it is monotone only up to what that search leaves open."""
    rows, shop = mixed(), store()
    whole = bound(rows, shop)[0]
    assert bound(rows, replace(shop, offcuts=()))[0] >= whole - 0.01 * whole
    assert bound([*rows, row("more", 300, 300, job="3990")], shop)[0] >= whole - 0.01 * whole


def test_bundles_groups_and_lone_jobs_are_bounded_too() -> None:
    pair = [row(c, 380, 300, job="3201", together=Together.PLATE) for c in ("Cyan", "Black")]
    lone = [row(c, 260, 260, job="3202", alone=True, relief=0.6) for c in ("Cyan", "Black")]
    rows, shop = [*pair, *lone, *mixed()], store()
    patterns, area = bound(rows, shop)
    plan = planned(rows, shop, work_limit=60)
    assert plan.unplaced == ()
    assert area - 0.01 <= patterns <= plan.totals.cost + 1e-6


def test_pieces_with_gaps_on_a_guillotine_plate_are_not_inflated() -> None:
    """Edge-to-edge cuts may pass a piece closer than the gap, so an inflated pattern need not be cut edge to edge."""
    shop = room(sheet(500, 500, price=40.0), gap_mm=20.0)
    patterns, _ = bound([row("a", 240, 240, copies=4)], shop)
    assert patterns == pytest.approx(40.0, abs=0.1)
