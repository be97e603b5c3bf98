from __future__ import annotations

from dataclasses import replace

from nest.revise.stand import with_released
from tests.packing.shop import costs, offcut, room, row, sheet
from tests.revise.shop import before

SHOP = room(
    sheet(600, 400, price=50.0, on_hand=5), offcuts=(offcut(600, 400, value=3.0),), costs=costs(raw_parts_max=1)
)


def test_stock_without_what_was_released_gets_it_back() -> None:
    earlier = before([row("a", 600, 400, copies=3)], SHOP, released=["S01", "S03"])
    assert sorted(one.source.ref for one in earlier.plan.sheets) == ["KV170 600x400", "KV170 600x400", "R-0101"]
    now = replace(SHOP, sheets=(replace(SHOP.sheets[0], on_hand=4),), offcuts=())
    assert with_released(now, earlier) == SHOP


def test_a_size_that_is_no_longer_stocked_comes_back_for_the_released_sheets_alone() -> None:
    earlier = before([row("a", 600, 400, copies=3)], SHOP, released=["S01", "S02"])
    back = with_released(replace(SHOP, sheets=()), earlier)
    assert [(one.id, one.on_hand, one.keep_back) for one in back.sheets] == [("KV170 600x400", 2, 0)]


def test_unlimited_stock_stays_unlimited() -> None:
    shop = replace(SHOP, sheets=(replace(SHOP.sheets[0], on_hand=None),))
    earlier = before([row("a", 600, 400)], shop, released=["S01"])
    assert with_released(shop, earlier) == shop
