from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from nest.packing.arrays import limits_tuple, rates_tuple
from nest.packing.kernels.plate import NO_PLATE, cents, cheapest_plate, credit, loadable, widest
from nest.packing.problem import Limits, Rates

NO = 1 << 50
FREE = Limits(
    gap=0, max_across=NO, max_around=NO, min_across=0, min_around=0, max_short=NO, max_long=NO, min_short=0, min_long=0,
    strip=0, full_side=0, min_side=0, parts=6, keep=2, free_cutting=False,
)  # fmt: skip
NOTHING = Rates(plate=0.0, process=0.0, cut=0.0, handling=0.0, min_area=0.0, zero_credit=False)


def cheapest(
    rect: tuple[int, int], used: tuple[int, int], limits: Limits = FREE, rates: Rates = NOTHING, *,
    keeps: tuple[int, int] = (0, 0), rate: float = 0.0, parts: int = 5,
) -> tuple[float, tuple[int, int, int, int]]:
    """Return the cost of the cheapest plate round a used area and (w, h, lead, order of cuts)."""
    size = np.zeros(4, np.int64)
    cost = cheapest_plate(
        limits_tuple(limits), rates_tuple(rates), *rect, *used, 0, 0, *keeps, parts, limits.keep, rate, 0.0, -1, size
    )
    w, h, lead, order = (int(q) for q in size)
    return float(cost), (w, h, lead, order)


@pytest.mark.parametrize(("amount", "want"), [(0.125, 0.12), (0.375, 0.38), (1.004, 1.0), (0.0, 0.0)])
def test_cents_are_rounded_half_even(amount: float, want: float) -> None:
    assert float(cents(amount)) == want


@pytest.mark.parametrize(
    ("limits", "takes"),
    [
        ({}, (True, True)),
        ({"max_across": 300}, (True, False)),
        ({"max_around": 300}, (False, True)),
        ({"max_across": 299}, (False, False)),
        ({"min_around": 400}, (True, False)),
        ({"min_across": 400}, (False, True)),
        ({"max_short": 299}, (False, False)),
        ({"max_short": 300, "max_long": 400}, (True, True)),
        ({"max_long": 399}, (False, False)),
        ({"min_short": 301}, (False, False)),
        ({"min_long": 400, "min_short": 300}, (True, True)),
        ({"min_long": 401}, (False, False)),
    ],
)
def test_machines_take_a_plate_of_300_by_400_by_its_lead_edge(limits: dict[str, Any], takes: tuple[bool, bool]) -> None:
    # lead edge at y0 (0): 300 across, 400 around; at x0 (1) the other way round
    lim = limits_tuple(replace(FREE, **limits))
    assert tuple(bool(loadable(lim, 300, 400, lead)) for lead in (0, 1)) == takes


@pytest.mark.parametrize(
    ("w", "h", "want"),
    [
        (300, 200, 30.0 - 2.0),  # 0.0005 a unit: 30.00, less handling
        (200, 300, 30.0 - 2.0),
        (100, 600, 15.0 - 2.0),  # short side 100 of 200: half the rate
        (99, 700, -1.0),  # short side below the minimum
        (100, 100, -1.0),  # below the least area
        (0, 600, -1.0),
    ],
)
def test_a_credit_follows_area_short_side_and_handling(w: int, h: int, want: float) -> None:
    lim = limits_tuple(replace(FREE, full_side=200, min_side=100))
    money = rates_tuple(replace(NOTHING, handling=2.0, min_area=10_001.0))
    assert float(credit(lim, money, 0.0005, w, h)) == pytest.approx(want)


@pytest.mark.parametrize(("zero_credit", "want"), [(False, -1.0), (True, 0.0)])
def test_a_rest_worth_nothing_is_kept_only_where_credits_are_nothing(zero_credit: bool, want: float) -> None:
    money = rates_tuple(replace(NOTHING, zero_credit=zero_credit))
    assert float(credit(limits_tuple(FREE), money, 0.0, 100, 100)) == want


def test_the_smallest_plate_leaves_the_largest_rests() -> None:
    rates = replace(NOTHING, process=0.001)
    cost, (w, h, _, _) = cheapest((1000, 800), (300, 200), rates=rates)
    assert (w, h) == (300, 200)
    assert cost == 60.0


def test_a_plate_stays_whole_where_cuts_cost_more_than_they_save() -> None:
    cost, (w, h, _, _) = cheapest((1000, 800), (300, 200), rates=replace(NOTHING, cut=5.0, plate=3.0))
    assert (cost, w, h) == (3.0, 1000, 800)


def test_the_lead_edge_goes_where_its_keep_out_fits() -> None:
    # keep-outs 40 at the lead edge, 10 elsewhere; 300 x 200 used in 320 x 250: only y0 takes it
    cost, (_, _, lead, _) = cheapest((320, 250), (300, 200), keeps=(40, 10))
    assert cost < NO_PLATE
    assert lead == 0
    cost, (_, _, lead, _) = cheapest((350, 220), (300, 200), keeps=(40, 10))
    assert lead == 1
    assert cheapest((320, 220), (300, 200), keeps=(40, 10))[0] >= NO_PLATE


def test_no_part_is_narrower_than_the_raw_strip() -> None:
    limits = replace(FREE, strip=250)
    rates = replace(NOTHING, process=0.001)
    # 300 of 500 would leave 200: the whole width is taken; 200 in height grows to 250
    cost, (w, h, _, _) = cheapest((500, 800), (300, 200), limits, rates)
    assert (w, h) == (500, 250)
    assert cost == 125.0


@pytest.mark.parametrize(("parts", "cuts"), [(0, 0), (1, 1), (2, 2)])
def test_no_more_cuts_are_made_than_parts_are_left(parts: int, cuts: int) -> None:
    _, (w, h, _, _) = cheapest((1000, 800), (300, 200), rates=replace(NOTHING, process=0.001), parts=parts)
    assert (w < 1000) + (h < 800) == cuts


def test_the_order_of_cuts_makes_the_better_rests() -> None:
    # one rest kept: beside first gives 700 x 800, above first 1000 x 600
    limits = replace(FREE, keep=1)
    rates = replace(NOTHING, process=0.0001)
    cost, (w, h, _, order) = cheapest((1000, 800), (300, 200), limits, rates, rate=0.001)
    assert (cost, w, h, order) == (6.0 - 600.0, 300, 200, 1)
    cost, (_, _, _, order) = cheapest((800, 1000), (200, 300), limits, rates, rate=0.001)
    assert (cost, order) == (6.0 - 600.0, 0)


def test_the_machines_least_sizes_grow_a_plate() -> None:
    rates = replace(NOTHING, process=0.001)
    _, (w, h, lead, _) = cheapest((1000, 800), (100, 100), replace(FREE, min_across=300, min_around=200), rates)
    assert (w, h) == ((300, 200) if lead == 0 else (200, 300))
    _, (w, h, _, _) = cheapest((1000, 800), (100, 100), replace(FREE, min_long=350, min_short=120), rates)
    assert sorted((w, h)) == [120, 350]


def test_a_used_area_larger_than_the_rectangle_gives_no_plate() -> None:
    assert cheapest((299, 800), (300, 200))[0] >= NO_PLATE


@pytest.mark.parametrize(
    ("rect", "limits", "halve", "want"),
    [
        ((900, 700), {}, 0, (900, 700)),
        ((900, 700), {"max_across": 600}, 0, (600, 700)),
        ((900, 700), {"max_across": 600}, 1, (450, 700)),  # equal halves instead of 600 and 300
        ((900, 700), {"max_short": 500}, 0, (900, 500)),
        ((900, 700), {"max_short": 500}, 2, (500, 700)),
        ((620, 700), {"max_across": 600, "strip": 50}, 0, (570, 700)),  # leave a strip that can be cut
    ],
)
def test_the_widest_plate_of_a_rectangle(
    rect: tuple[int, int], limits: dict[str, Any], halve: int, want: tuple[int, int]
) -> None:
    size = np.zeros(4, np.int64)
    assert widest(limits_tuple(replace(FREE, **limits)), *rect, 0, halve, size)
    assert (int(size[0]), int(size[1])) == want
