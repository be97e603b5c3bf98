"""Published figures of inventory theory as special cases of the general policy code; each names its source."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

from nest.buying.policy import (
    Rule,
    Terms,
    best_lot,
    capped,
    cost_rate,
    economic_lot,
    expected_cost,
    order_level,
    raised,
    rule_of,
)
from nest.buying.spread import Normal, Poisson, Spread, normal_over
from nest.domain.room import OrderPolicy, Service

SNYDER_SHEN = "Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019"


def cycle_level(cover: Spread, level: float) -> float:
    return order_level(cover, service=Service.CYCLE, level=level)


@pytest.mark.parametrize(
    ("over", "under", "mean", "sd", "stock", "cost"),
    [
        # the worked example in the documentation of the library stockpyl (newsvendor_normal), after Snyder and Shen
        (2.0, 18.0, 120.0, 10.0, 132.815515655446, 35.0996663865),
        # Snyder and Shen, Example 4.3; inputs published, result worked out
        (0.18, 0.70, 50.0, 8.0, 56.603956, 1.997605),
    ],
)
def test_the_newsvendor_is_the_policy_for_one_period(
    over: float, under: float, mean: float, sd: float, stock: float, cost: float
) -> None:
    demand = Normal(mean=mean, sd=sd)
    best = cycle_level(demand, under / (under + over))
    assert best == pytest.approx(stock, abs=1e-6)
    assert expected_cost(demand, best, over=over, under=under) == pytest.approx(cost, abs=1e-6)


def test_the_newsvendor_agrees_with_the_library_stockpyl() -> None:
    from stockpyl.newsvendor import newsvendor_normal, newsvendor_poisson

    stock, cost = newsvendor_normal(holding_cost=0.4, stockout_cost=3.1, demand_mean=31, demand_sd=7)
    ours = cycle_level(Normal(mean=31.0, sd=7.0), 3.1 / 3.5)
    assert ours == pytest.approx(stock)
    assert expected_cost(Normal(mean=31.0, sd=7.0), ours, over=0.4, under=3.1) == pytest.approx(cost)
    stock, cost = newsvendor_poisson(holding_cost=1, stockout_cost=19, demand_mean=8)
    ours = cycle_level(Poisson(mean=8.0), 0.95)
    assert ours == stock
    assert expected_cost(Poisson(mean=8.0), ours, over=1, under=19) == pytest.approx(cost)


def test_the_economic_lot_is_example_3_1_of_snyder_and_shen() -> None:
    # K 8, h 0.225, 1300 a year: lot 304.0468, cost 68.4105 beside the sheets themselves
    terms = Terms(price=1.0, box=0, order_cost=8.0, holding=0.225)
    lot = best_lot(1300.0, terms)
    assert lot == pytest.approx(304.0467800264)
    assert cost_rate(lot, 1300.0, terms) - 1300.0 == pytest.approx(68.4105255059)
    assert economic_lot(1300.0, 8.0, 0.225) == pytest.approx(lot)


def test_the_economic_lot_with_price_breaks_agrees_with_the_library_stockpyl() -> None:
    from stockpyl.eoq import economic_order_quantity_with_all_units_discounts

    # Snyder and Shen, Example 3.3, as the library's documentation has it
    lot, region, cost = economic_order_quantity_with_all_units_discounts(
        fixed_cost=8, holding_cost_rate=0.3, demand_rate=1300, breakpoints=[0, 400, 800],
        unit_costs=[0.75, 0.72, 0.68],
    )  # fmt: skip
    terms = Terms(price=0.75, breaks=((400, 0.72), (800, 0.68)), box=0, order_cost=8.0, holding=0.3)
    assert best_lot(1300.0, terms) == pytest.approx(lot)
    assert region == 2
    assert cost_rate(lot, 1300.0, terms) == pytest.approx(cost)


def test_a_reorder_point_covers_the_delivery_time() -> None:
    # inputs of two published exercises, results from s = d L + z sd sqrt(L)
    assert cycle_level(normal_over(50.0, 5.0, 6.0), 0.90) == pytest.approx(315.695737, abs=1e-6)
    assert cycle_level(normal_over(2500.0, 500.0, 6.0), 0.90) == pytest.approx(16569.573707, abs=1e-6)


def test_a_reorder_point_with_uncertain_delivery_time() -> None:
    # sd over the delivery time: sqrt(L sd² + d² sdLT²) = 100.747208 for d 50, sd 5, L 6, sdLT 2
    cover = normal_over(50.0, 5.0, 6.0, 2.0)
    assert cover.sd == pytest.approx(100.747208, abs=1e-6)
    assert cycle_level(cover, 0.90) == pytest.approx(429.112743, abs=1e-6)


@pytest.mark.parametrize(
    ("rate", "sd", "review", "delivery", "position", "z", "order"),
    [
        # two published exercises on periodic review (218.97 and 961)
        (13.70, 5.0, 14, 10, 150, 1.64, 218.9716),
        (50.0, 30.0, 5, 10, 60, 2.33, 960.7215),
        # the trap: safety for the review time of 7 alone would give 940, a wrong answer that can be found
        (120.0, 10.0, 7, 3, 113, 2.053749, 1151.945),
    ],
)
def test_periodic_review_covers_review_and_delivery_time(
    rate: float, sd: float, review: int, delivery: int, position: float, z: float, order: float
) -> None:
    level = cycle_level(normal_over(rate, sd, review + delivery), NormalDist().cdf(z))
    rule = Rule(point=level, level=level, batch=0)
    assert rule.order(position) == pytest.approx(order, abs=1e-3)


def test_safety_for_the_review_time_alone_falls_short_of_the_service() -> None:
    cover = normal_over(120.0, 10.0, 10)
    trap = 120.0 * 10 + NormalDist().inv_cdf(0.98) * 10 * math.sqrt(7)
    assert cover.risk(cycle_level(cover, 0.98)) == pytest.approx(0.02)
    assert cover.risk(trap) > 0.04


def test_sheets_are_ordered_by_the_box() -> None:
    # 4 sheets a week, sd 2.5, reviewed weekly, two weeks' delivery, 95 %: S 19.122425; at 9 it takes 10.122: two boxes
    level = cycle_level(normal_over(4.0, 2.5, 3), 0.95)
    assert level == pytest.approx(19.122425, abs=1e-6)
    rule = Rule(point=level, level=level, batch=8)
    assert rule.order(9) == 16
    assert rule.order(11.2) == 8
    assert rule.order(level) == 0
    assert rule.order(9, least=20) == 24


def test_small_counts_are_poisson() -> None:
    # least S with F(S) >= 0.95: mean 8 gives 13 (F(12) 0.9362, F(13) 0.9658), mean 12 gives 18 (F(17) 0.9370)
    assert 1 - Poisson(mean=8.0).risk(12) == pytest.approx(0.9362, abs=5e-5)
    assert 1 - Poisson(mean=8.0).risk(13) == pytest.approx(0.9658, abs=5e-5)
    assert cycle_level(Poisson(mean=8.0), 0.95) == 13
    assert 1 - Poisson(mean=12.0).risk(17) == pytest.approx(0.9370, abs=5e-5)
    assert 1 - Poisson(mean=12.0).risk(18) == pytest.approx(0.9626, abs=5e-5)
    assert cycle_level(Poisson(mean=12.0), 0.95) == 18


def test_a_fill_rate_allows_its_share_of_a_cycle_to_be_short() -> None:
    cover, before = normal_over(4.0, 2.5, 3), normal_over(4.0, 2.5, 2)
    level = order_level(cover, service=Service.FILL_RATE, level=0.98, cycle=4.0, before=before)
    assert cover.short(level) - before.short(level) == pytest.approx(0.02 * 4.0, abs=1e-6)
    plain = order_level(cover, service=Service.FILL_RATE, level=0.98, cycle=4.0)
    assert plain >= level
    # whole sheets: the least whole number that suffices
    whole = order_level(Poisson(mean=8.0), service=Service.FILL_RATE, level=0.98, cycle=8.0)
    assert Poisson(mean=8.0).short(whole) <= 0.16 < Poisson(mean=8.0).short(whole - 1)


def test_a_level_that_is_no_share_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        cycle_level(Poisson(mean=8.0), 1.0)


def test_the_order_point_policy_buys_lots_of_least_cost() -> None:
    terms = Terms(price=86.4, box=10, order_cost=25.0, holding=0.2)
    rule = rule_of(OrderPolicy.ORDER_POINT, 12.0, 200.0, terms)
    # sqrt(2 × 25 × 200 / (0.2 × 86.4)) = 24.06: three boxes
    assert (rule.point, rule.batch) == (12.0, 30)
    assert rule.order(11) == 30
    assert rule.order(-25) == 60
    assert rule.order(12) == 0


def test_an_order_is_raised_to_a_price_break_only_where_that_pays() -> None:
    cheap_to_keep = Terms(price=86.4, box=10, breaks=((40, 80.0),), holding=0.2, order_cost=20.0)
    dear_to_keep = Terms(price=86.4, box=10, breaks=((40, 86.0),), holding=0.9, order_cost=1.0)
    assert raised(10, 200.0, cheap_to_keep) == 40
    assert raised(10, 200.0, dear_to_keep) == 10
    assert raised(50, 200.0, cheap_to_keep) == 50
    assert raised(0, 200.0, cheap_to_keep) == 0
    assert cheap_to_keep.price_of(39) == 86.4
    assert cheap_to_keep.price_of(40) == 80.0


def test_orders_are_capped_at_what_is_used_before_it_expires() -> None:
    assert capped(40, 5, 36.5, 10) == 30
    assert capped(40, 5, 200.0, 10) == 40
    assert capped(10, 5, 9.0, 10) == 0
    assert capped(10, 5, 9.0, 0) == 4.0
    assert capped(10, 50, 9.0, 10) == 0
