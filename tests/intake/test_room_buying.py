"""The buyer's keys of the room file: read, and each fault with its line and remedy."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.domain.room import OrderPolicy, PriceBreak, Service
from nest.errors import InputError
from nest.intake.room import read_room

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.room import Room

HEAD = """[imager]
max_across = 1200
max_around = 1600
[materials.QF170]
thickness = 1.7
base = 0.125
[[sheets]]
material = "QF170"
across = 900
around = 1200
price = 86.40
"""


def read(tmp_path: Path, text: str) -> Room:
    path = tmp_path / "room.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    return read_room(path).room


def faults(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    return [f"{one.line} {one.where}: {one.rule}" for one in caught.value.faults]


def test_terms_of_a_size_and_settings_are_read(tmp_path: Path) -> None:
    room = read(
        tmp_path,
        """delivery_days = 5
delivery_spread_days = 1.5
min_order = 20
shelf_life_days = 365
price_breaks = [{ sheets = 20, price = 84 }, { sheets = 50, price = 80.5 }]
[buying]
policy = "order-point"
service = "fill-rate"
level = 0.98
review_days = 10
order_cost = 20
holding_per_year = 0.2
shelf_life_days = 540
""",
    )
    (sheet,) = room.sheets
    assert (sheet.delivery_spread_days, sheet.min_order, sheet.shelf_life_days) == (1.5, 20, 365)
    assert sheet.price_breaks == (PriceBreak(sheets=20, price=84.0), PriceBreak(sheets=50, price=80.5))
    assert (room.buying.policy, room.buying.service) == (OrderPolicy.ORDER_POINT, Service.FILL_RATE)
    assert (room.buying.level, room.buying.review_days, room.buying.shelf_life_days) == (0.98, 10, 540)


def test_a_room_without_them_has_the_usual(tmp_path: Path) -> None:
    room = read(tmp_path, "")
    assert (room.buying.policy, room.buying.level, room.buying.review_days) == (OrderPolicy.FILL_UP, 0.95, 5)
    assert room.sheets[0].price_breaks == ()


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[buying]\nlevel = 1\n", "13 buying.level: must be at most 0.9999"),
        ("[buying]\nreview_days = 0\n", "13 buying.review_days: must be 1 or more"),
        ("[buying]\npolicy = 'weekly'\n", "13 buying.policy: must be one of fill-up, order-point"),
        ("[buying]\nreview = 5\n", "13 buying.review: unknown key"),
        ("delivery_spread_days = 1\n",
         "12 sheets[1].delivery_spread_days: delivery_days is missing beside it"),
        ("price_breaks = [{ sheets = 20, price = 90 }]\n",
         "12 sheets[1].price_breaks[1].price: must be below 86.4, the price of fewer sheets"),
        ("price_breaks = [{ sheets = 20, price = 80 }, { sheets = 10, price = 70 }]\n",
         "12 sheets[1].price_breaks[2].sheets: must rise from break to break"),
        ("price_breaks = [{ sheets = 20 }]\n",
         "12 sheets[1].price_breaks[1]: the required key 'price' is missing"),
        ("price_breaks = [{ sheets = 20, cost = 3, price = 80 }]\n",
         "12 sheets[1].price_breaks[1].cost: unknown key"),
    ],
)  # fmt: skip
def test_each_fault_is_named_with_its_line(tmp_path: Path, text: str, fault: str) -> None:
    assert fault in faults(tmp_path, text)


def test_the_order_point_policy_needs_what_sets_its_lot(tmp_path: Path) -> None:
    found = faults(tmp_path, '[buying]\npolicy = "order-point"\norder_cost = 0\n')
    assert found == [
        "12 buying: order-point needs holding_per_year above 0: it sets the lot",
        "14 buying.order_cost: order-point needs order_cost above 0: it sets the lot",
    ]
