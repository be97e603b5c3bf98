from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nest.packing.arrays import data_of
from nest.packing.bound_area import area_bound, single_plate
from nest.packing.bound_single import single_bound
from nest.packing.bounds import AREA_PROOF, PATTERN_PROOF, SINGLE_PROOF, lower_bound, safe_cents, whole_cents
from nest.packing.fits import fits_of
from tests.packing.shop import costs, imager, offcut, planned, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room

MM = 10_000


def bounds(rows: list[Row], at: Room) -> tuple[float, float]:
    """Return the area bound and the single-unit bound of placing everything."""
    problem = problem_of(rows, at).problem
    fit, units = fits_of(problem, 0), range(len(problem.units))
    return area_bound(problem, fit, units), single_bound(problem, data_of(problem), fit, units)


@pytest.mark.parametrize(
    ("amount", "down", "up"),
    [(1.239, 1.23, 1.24), (1.2300001, 1.22, 1.23), (1.23, 1.22, 1.23), (1.2302, 1.23, 1.23), (1.2315, 1.23, 1.24),
     (-5.0, 0.0, 0.0), (0.0, 0.0, 0.0)],
)  # fmt: skip
def test_a_bound_is_rounded_with_a_hair_off(amount: float, down: float, up: float) -> None:
    assert safe_cents(amount, whole=False) == down
    assert safe_cents(amount, whole=True) == up


def test_costs_are_whole_cents_where_prices_and_rates_are() -> None:
    for price, plate, whole in ((40.0, 12.5, True), (40.005, 12.5, False), (40.0, 1 / 3, False)):
        problem = problem_of([row("a", 100, 100)], room(sheet(500, 500, price=price), costs=costs(plate=plate))).problem
        assert whole_cents(problem) is whole


def test_whole_sheets_full_of_pieces_cost_their_prices() -> None:
    # 8 pieces of a quarter sheet need two sheets; the free rounding allowance of half a cent a figure is taken off
    area, _ = bounds([row("a", 250, 250, copies=8)], room(sheet(500, 500, price=40.0)))
    assert area == pytest.approx(80.0, abs=0.1)


def test_area_needs_whole_sheets() -> None:
    # 5 quarters need two sheets too, although 1.25 would hold their area
    area, _ = bounds([row("a", 250, 250, copies=5)], room(sheet(500, 500, price=40.0)))
    assert area == pytest.approx(80.0, abs=0.1)


def test_credits_count_for_all_that_holds_no_piece() -> None:
    # half of 0.25 m2 at 40 is credited at half the price: 40 - 10
    area, _ = bounds([row("a", 500, 250)], room(sheet(500, 500, price=40.0), costs=costs(offcut_value=0.5)))
    assert area == pytest.approx(30.0, abs=0.1)


def test_the_cheaper_size_is_taken_as_far_as_its_stock_goes() -> None:
    shop = room(sheet(500, 500, price=40.0, name="dear"), sheet(500, 500, price=30.0, name="cheap", on_hand=2))
    area, _ = bounds([row("a", 500, 500, copies=3)], shop)
    assert area == pytest.approx(30 + 30 + 40, abs=0.1)


def test_pieces_count_on_the_sheets_that_serve_them_only() -> None:
    shop = room(sheet(500, 500, price=40.0), offcuts=(offcut(500, 500, value=1.0, relief=0.5),))
    assert bounds([row("a", 500, 500, relief=0.5)], shop)[0] == pytest.approx(1.0, abs=0.1)
    assert bounds([row("a", 500, 500, relief=0.6)], shop)[0] == pytest.approx(40.0, abs=0.1)


def test_gaps_and_keep_outs_count() -> None:
    # keep-outs 10, gap 20: four pieces of 230 x 230 fill the 480 x 480 inside only as far as gaps leave room
    held = imager(clamp_mm=10.0, drum_tape_mm=10.0)
    shop = room(sheet(500, 500, price=40.0), imager=held, gap_mm=20.0)
    area, _ = bounds([row("a", 230, 230, copies=4)], shop)
    assert area == pytest.approx(40.0, abs=0.1)
    assert bounds([row("a", 230, 230, copies=5)], shop)[0] == pytest.approx(80.0, abs=0.1)


def test_plates_and_process_are_counted() -> None:
    shop = room(sheet(500, 500, price=40.0), costs=costs(plate=12.0, process_per_m2=100.0))
    # one plate, and at least the pieces' own 0.125 m2 are processed
    assert bounds([row("a", 500, 250)], shop)[0] == pytest.approx(40 + 12 + 12.5, abs=0.1)


def test_the_dearest_single_piece_needs_its_cheapest_sheet() -> None:
    shop = room(sheet(500, 500, price=40.0), sheet(100, 100, price=3.0))
    rows = [row("a", 90, 90), row("b", 300, 300)]
    assert bounds(rows, shop)[1] == 40.0
    problem = problem_of(rows, shop).problem
    proof = lower_bound(problem, data_of(problem), fits_of(problem, 0), [0, 1])[1]
    assert proof in (SINGLE_PROOF, AREA_PROOF, PATTERN_PROOF)
    assert lower_bound(problem, data_of(problem), fits_of(problem, 0), [])[0] == 0.0


def test_a_single_piece_on_its_cheapest_part_of_a_sheet() -> None:
    # 0.06 m2 plate at 14, one cut at 1.50, rest of 500 x 400 credited at 0.6 * 80 / 0.25 m2 * 0.2 = 38.40
    shop = room(
        sheet(500, 500, price=80.0), costs=costs(process_per_m2=14.0, cut=1.5, offcut_value=0.6, raw_parts_max=2)
    )
    assert bounds([row("a", 500, 100)], shop)[1] == pytest.approx(80 + 0.7 + 1.5 - 38.4)


def test_a_piece_that_no_sheet_takes_bounds_nothing() -> None:
    assert bounds([row("a", 600, 600)], room(sheet(500, 500)))[1] == 0.0


def test_the_largest_plate_of_a_sheet_is_the_machines_or_the_sheet_s() -> None:
    problem = problem_of(
        [row("a", 10, 10)], room(sheet(1000, 800), imager=imager(max_across_mm=600.0, max_around_mm=700.0))
    ).problem
    capacity, ratio = single_plate(problem, 1000 * MM, 800 * MM, 0, 0, 0)
    assert capacity == 700 * 600 * MM * MM
    assert ratio == 1.0
    capacity, ratio = single_plate(problem, 1000 * MM, 800 * MM, 10 * MM, 20 * MM, 0)
    # 600 across, 700 around: (600 - 20) x (700 - 30)
    assert capacity == pytest.approx(580 * 670 * MM * MM)
    assert ratio == pytest.approx(600 * 700 / (580 * 670))


def test_a_larger_plate_may_be_what_makes_a_rest_worth_keeping() -> None:
    """The bound of one piece holds even where its plate is best made larger than needed.

    ::

        1000 +------+-------------+   plate needs 240 x 240 (keep-outs 20); rests below 250 are scrap
             | rest |             |   250 x 240: both rests are kept, 100 - 75 - 19 = 6
         240 +------+    rest     |   240 x 240: one is scrap, 100 - 76 = 24
             |plate |             |
             +------+-------------+
    """
    shop = room(
        sheet(1000, 1000, price=100.0),
        imager=imager(clamp_mm=20.0, drum_tape_mm=20.0),
        costs=costs(offcut_value=1.0, offcut_min_side_mm=250.0),
    )
    area, single = bounds([row("a", 200, 200)], shop)
    assert max(area, single) <= 6.0


def test_what_is_too_narrow_to_keep_earns_nothing() -> None:
    # 200 of 1000 are left beside the piece, a rest needs 300: no credit, so the whole price, at full value too;
    # a second plate would cost more than its rest could earn
    shop = room(sheet(1000, 1000, price=100.0), costs=costs(plate=30.0, offcut_value=1.0, offcut_min_side_mm=300.0))
    area, _ = bounds([row("a", 1000, 800)], shop)
    assert area == pytest.approx(130.0, abs=0.1)


def test_the_handling_of_a_rest_and_its_cut_are_charged_once_a_rest_is_kept() -> None:
    shop = room(sheet(1000, 1000, price=100.0), costs=costs(offcut_value=0.5, offcut_handling=2.0, cut=1.5))
    assert bounds([row("a", 1000, 400)], shop)[0] == pytest.approx(100 - 30 + 2 + 1.5, abs=0.1)
    assert bounds([row("a", 1000, 999)], shop)[0] == pytest.approx(100, abs=0.1)


@pytest.mark.parametrize("value", [0.5, 1.0])
def test_a_room_without_plate_costs_is_bounded_too(value: float) -> None:
    # with full credit a sheet costs what its pieces take of it
    shop = room(sheet(500, 500, price=40.0), costs=costs(offcut_value=value))
    area, _ = bounds([row("a", 250, 250)], shop)
    assert area == pytest.approx(40.0 - value * 30.0, abs=0.1)


sizes = st.lists(st.tuples(st.integers(40, 380), st.integers(40, 380)), min_size=1, max_size=5)
rates = st.fixed_dictionaries({
    "plate": st.sampled_from((0.0, 8.0)), "process_per_m2": st.sampled_from((0.0, 14.0)),
    "cut": st.sampled_from((0.0, 1.5)), "offcut_value": st.sampled_from((0.0, 0.6, 1.0)),
    "offcut_handling": st.sampled_from((0.0, 1.0)), "offcut_full_side_mm": st.sampled_from((0.0, 300.0)),
    "offcut_min_side_mm": st.sampled_from((0.0, 200.0)), "offcuts_per_sheet": st.integers(0, 3),
    "raw_min_strip_mm": st.sampled_from((0.0, 60.0)), "raw_parts_max": st.integers(1, 6),
})  # fmt: skip


@settings(deadline=None, derandomize=True, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(sizes, rates)
def test_more_pieces_never_lower_area_and_single_bounds_and_no_plan_beats_any(
    pieces: list[tuple[int, int]], charged: dict[str, Any]
) -> None:
    held = imager(max_across_mm=600.0, max_around_mm=500.0, clamp_mm=12.0, drum_tape_mm=10.0)
    shop = room(sheet(500, 700, price=40.0), sheet(400, 400, price=25.0), imager=held, costs=costs(**charged))
    rows = [row(f"c{at}", w, h) for at, (w, h) in enumerate(pieces)]
    made = problem_of(rows, shop).problem
    data, fit = data_of(made), fits_of(made, 0)
    counts = range(len(rows) + 1)
    found = [max(area_bound(made, fit, range(n)), single_bound(made, data, fit, range(n))) for n in counts]
    placed = all(fit.any_axis(u) for u in range(len(rows)))
    assert found[0] == 0.0
    if placed:
        assert all(b >= a - 0.011 for a, b in pairwise(found))
        best = lower_bound(made, data, fit, range(len(rows)))[0]
        assert found[-1] - 0.011 <= best
        assert best <= planned(rows, shop, work_limit=3).totals.cost + 1e-9
