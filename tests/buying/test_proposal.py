"""What to buy today, on demand made up so that the answer can be worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from nest.buying.demand import Demand, SizeKey
from nest.buying.holding import Due, Holding, Lots, drawn_of, from_room
from nest.buying.proposal import by_policy, order_at, propose, rule_at, size_of
from nest.buying.rolling import Opening, roll
from nest.domain.room import Buying, Imager, Material, OrderPolicy, PriceBreak, Room, Service, Sheet

if TYPE_CHECKING:
    from nest.domain.proposal import Proposal

MONDAY = date(2027, 3, 1)
KEY = SizeKey(material="QF170", across_mm=900.0, around_mm=1200.0)


def demand_of(sheets: np.ndarray, seed: int = 1) -> Demand:
    """Return demand for one size from sheets (paths, weeks)."""
    none = np.zeros(sheets.shape)
    return Demand(sizes=(KEY,), sheets=sheets[:, :, None], cost=none, drawn_m2=none, kept_m2=none, pieces_m2=none,
                  first_week=MONDAY, seed=seed, wanted_paths=len(sheets))  # fmt: skip


def sheet(**more: Any) -> Sheet:
    usual: dict[str, Any] = {"id": "QF170 900x1200", "material": "QF170", "across_mm": 900.0, "around_mm": 1200.0,
                             "price": 86.4, "per_box": 10, "delivery_days": 5}  # fmt: skip
    return Sheet(**{**usual, **more})


def room_of(one: Sheet, **buying: Any) -> Room:
    return Room(imager=Imager(max_across_mm=1300.0, max_around_mm=1600.0), sheets=(one,), buying=Buying(**buying),
                materials={"QF170": Material(name="QF170", thickness_mm=1.7, base_mm=0.125)})  # fmt: skip


def proposed(sheets: np.ndarray, holding: Holding, one: Sheet | None = None, *, day: date = MONDAY,
             planned: bool = False, **buying: Any) -> Proposal:  # fmt: skip
    one = one or sheet()
    room = room_of(one, **buying)
    found = propose(demand_of(sheets), room, {KEY: one}, {KEY: holding}, day, planned=planned)
    return found.sizes[0]


def even(weekly: int, weeks: int = 13, paths: int = 4) -> np.ndarray:
    return np.full((paths, weeks), weekly)


def test_steady_demand_is_bought_for_review_and_delivery_time() -> None:
    one = proposed(even(5), Holding(lots=(Lots(sheets=6, expiry=None),)))
    # reviewed every 5 days, delivered in 5: ten days take 10 sheets; 6 are there, so one box
    assert (one.cover.days, one.cover.until) == (10, date(2027, 3, 15))
    assert (one.cover.low, one.cover.high, one.cover.enough) == (10, 10, 10)
    assert (one.sheets, one.boxes, one.cost) == (10, 1, 864.0)
    assert one.comes == date(2027, 3, 8)
    assert (one.risk_with, one.risk_without, one.risk_before) == (0.0, 1.0, 0.0)
    # 16 - 5 a week: below 10 on 15 March
    assert one.next_order == one.next_from == one.next_to == date(2027, 3, 15)


def test_what_is_there_on_order_kept_back_and_committed_is_counted() -> None:
    holding = Holding(lots=(Lots(sheets=12, expiry=None),), orders=(Due(sheets=10, due=date(2027, 3, 3)),),
                      kept_back=2, committed=5)  # fmt: skip
    one = proposed(even(5), holding)
    assert (one.stand.on_hand, one.stand.kept_back, one.stand.on_order, one.stand.committed) == (12, 2, 10, 5)
    assert one.stand.position == 15
    assert one.sheets == 0
    assert one.risk_with == one.risk_without == 0.0
    # 15 now, 10 on 8 March, 5 on 15 March
    assert one.next_order == date(2027, 3, 15)


def test_a_plan_stands_in_for_the_simulation_of_its_week() -> None:
    holding = Holding(lots=(Lots(sheets=6, expiry=None),), committed=6)
    one = proposed(even(5), holding, planned=True)
    assert one.stand.position == 0
    # this week is the plan's, next week takes 5
    assert one.cover.enough == 5
    assert one.sheets == 10
    assert one.risk_without == 1.0


def test_the_quantile_of_the_paths_sets_the_level_and_the_risk() -> None:
    weekly = np.repeat(np.arange(1, 21)[:, None], 13, axis=1)
    one = proposed(weekly, Holding(), sheet(per_box=1), level=0.9)
    # 20 futures of 1 to 20 a week: over two weeks 2 to 40, nine in ten at most 36
    assert (one.cover.low, one.cover.enough, one.cover.high) == (2, 36, 40)
    assert one.sheets == 36
    # nothing is there for the first week whatever is ordered
    assert (one.risk_with, one.risk_before) == (1.0, 1.0)
    stocked = proposed(weekly, Holding(lots=(Lots(sheets=20, expiry=None),)), sheet(per_box=1), level=0.9)
    assert (stocked.sheets, stocked.risk_before) == (16, 0.0)
    assert stocked.risk_with == pytest.approx(2 / 20)
    assert stocked.risk_without == pytest.approx(10 / 20)


def test_weeks_that_go_together_are_kept_together() -> None:
    chance = np.random.default_rng(5)
    alone = chance.poisson(5, (4000, 13))
    together = np.repeat(alone[:, :1], 13, axis=1)
    apart = proposed(alone, Holding(), sheet(per_box=1)).cover
    joined = proposed(together, Holding(), sheet(per_box=1)).cover
    assert joined.enough > apart.enough + 1


def test_stock_that_expires_before_it_is_used_does_not_count() -> None:
    lots = (Lots(sheets=8, expiry=date(2027, 3, 2)), Lots(sheets=4, expiry=date(2027, 12, 31)),
            Lots(sheets=7, expiry=date(2027, 2, 26)))  # fmt: skip
    one = proposed(even(5), Holding(lots=lots))
    # two working days take 2 of the 8; the 7 are past their date already
    assert (one.stand.on_hand, one.stand.expiring, one.stand.position) == (12, 6, 6)
    assert one.sheets == 10
    assert "7 more lie there past their use-by date and do not count" in one.notes
    assert one.outlook.expired == 6
    assert one.outlook.expired_value == pytest.approx(6 * 86.4)


def test_orders_end_where_they_would_outlast_their_shelf_life() -> None:
    slow = np.zeros((10, 26), dtype=np.int64)
    slow[:, ::13] = 1
    one = proposed(slow, Holding(), sheet(shelf_life_days=90))
    assert one.cover.enough == 1
    assert one.sheets == 0
    assert one.risk_with == one.risk_without == 1.0
    assert one.notes[0].startswith("10 are wanted, but only 2.0 are likely to be used before")
    assert one.notes[1].startswith("the least order is 10")
    many = proposed(even(5, 26), Holding(), sheet(per_box=1, min_order=100, shelf_life_days=90))
    # delivery of 5 and 64 working days of life take 69: less than the least order of 100
    assert many.sheets == 0


def test_minimum_order_and_price_break_raise_an_order_and_say_so() -> None:
    least = proposed(even(5), Holding(), sheet(min_order=25))
    assert least.sheets == 30
    assert least.notes == ("raised from 10 by the minimum order",)
    broken = sheet(price_breaks=(PriceBreak(sheets=30, price=80.0),))
    cheap = proposed(even(5), Holding(), broken, holding_per_year=0.2)
    assert (cheap.sheets, cheap.price, cheap.cost) == (30, 80.0, 2400.0)
    assert cheap.notes == ("raised from 10 by the price of larger orders",)
    dear = proposed(even(5), Holding(), broken, holding_per_year=5.0)
    assert (dear.sheets, dear.price) == (10, 86.4)


def test_a_late_order_is_told_and_counted_as_coming_next() -> None:
    late = Due(sheets=10, due=date(2027, 2, 22))
    one = proposed(even(5), Holding(lots=(Lots(sheets=1, expiry=None),), orders=(late,)))
    assert one.stand.on_order == 10
    assert any(note.startswith("10 on order are late") for note in one.notes)
    assert one.risk_before == 0.0


def test_the_order_point_policy_orders_whole_lots() -> None:
    one = proposed(even(5), Holding(lots=(Lots(sheets=9, expiry=None),)), policy=OrderPolicy.ORDER_POINT,
                   order_cost=25.0, holding_per_year=0.2)  # fmt: skip
    # 260 a year: sqrt(2 × 25 × 260 / (0.2 × 86.4)) = 27.4, three boxes
    assert one.sheets == 30
    assert one.outlook.ordering == pytest.approx(25 * one.outlook.orders)


def test_a_fill_rate_is_met_when_rolled_forward() -> None:
    chance = np.random.default_rng(6)
    weekly = chance.poisson(5, (400, 40))
    buying = Buying(service=Service.FILL_RATE, level=0.98)
    size = size_of(demand_of(weekly), 0, sheet(per_box=1), buying, MONDAY)
    start = rule_at(size, 0).level
    course = roll(size.windows.days, Opening(lots=((start, None),)), size.supply, by_policy(size), size.draws())
    # served share over 16,000 weeks: its standard error is below 0.001
    assert course.served == pytest.approx(0.98, abs=0.006)
    assert course.served >= 0.978


def test_delivery_times_that_spread_ask_for_more() -> None:
    chance = np.random.default_rng(7)
    weekly = chance.poisson(8, (2000, 13))
    sure = proposed(weekly, Holding(), sheet(per_box=1)).cover
    unsure = proposed(weekly, Holding(), sheet(per_box=1, delivery_spread_days=3.0)).cover
    # closed form: sd² of 10 days 16, with the spread 16 + (1.6 × 3)² = 39
    assert unsure.enough - sure.enough == pytest.approx(1.645 * (39**0.5 - 4), abs=1.2)


def test_the_same_demand_gives_the_same_proposal() -> None:
    weekly = np.random.default_rng(8).poisson(5, (50, 13))
    one = sheet(delivery_spread_days=2.0)
    assert proposed(weekly, Holding(), one) == proposed(weekly, Holding(), one)


def test_a_day_in_mid_week_counts_what_is_left_of_it() -> None:
    one = proposed(even(5), Holding(), sheet(per_box=1), day=date(2027, 3, 4))
    assert one.cover.enough == 10
    later = proposed(even(5), Holding(), sheet(per_box=1), day=MONDAY - timedelta(days=7))
    # a week ahead of the first one simulated: only five of the ten days have demand
    assert later.cover.enough == 5


def test_a_size_that_no_week_draws_is_never_bought() -> None:
    one = proposed(even(0), Holding(lots=(Lots(sheets=3, expiry=None),)))
    assert (one.sheets, one.next_order, one.risk_without) == (0, None, 0.0)
    assert one.outlook.served == 1.0


def test_orders_of_the_rule_do_not_depend_on_how_positions_are_grouped() -> None:
    size = size_of(demand_of(even(5)), 0, sheet(), Buying(), MONDAY)
    at = np.array([9.0, -3.0, 12.0, 9.0])
    rule = rule_at(size, 0)
    assert by_policy(size)(0, at).tolist() == [order_at(size, rule, 0, one) for one in at]


def test_what_a_room_file_lists_is_added_up_by_size() -> None:
    lots = (sheet(id="A", on_hand=4, keep_back=1, expiry=date(2027, 9, 30)), sheet(id="B", on_hand=6, keep_back=1))
    room = Room(imager=Imager(max_across_mm=1300.0, max_around_mm=1600.0), sheets=lots,
                materials={"QF170": Material(name="QF170", thickness_mm=1.7, base_mm=0.125)})  # fmt: skip
    (holding,) = from_room(room).values()
    assert sum(lot.sheets for lot in holding.lots) == 10
    assert holding.kept_back == 2
    # the reserve is kept of the lot that lasts longest
    assert holding.opening(MONDAY).lots == ((4, 154), (4, None))
    assert drawn_of([]) == {}
