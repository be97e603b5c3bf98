"""What the check asks of a plan that stands in part from an earlier one."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from nest.check.opinion import check_plan
from nest.domain.job import Need, Row
from nest.domain.plan import Unplaced
from nest.domain.standing import Standing
from tests.packing.shop import costs, planned, room, row, sheet

SHOP = room(sheet(600, 400, on_hand=1), costs=costs(raw_parts_max=1))
FIVE = row("a", 200, 200, copies=5)


def left(of: Row, copies: int = 1) -> Unplaced:
    return Unplaced(
        job=of.job, separation=of.separation, part=of.part, copies=copies, need=of.need, reason="no room left"
    )


def rules(rows: tuple[Row, ...], more: tuple[Unplaced, ...], standing: Standing) -> set[str]:
    plan = replace(planned([FIVE], SHOP), unplaced=more)
    return {found.rule for found in check_plan(plan, rows, SHOP, standing=standing)}


def test_a_standing_sheet_takes_no_piece_though_it_has_room() -> None:
    for need in Need:
        rush = row("b", 200, 200, need=need)
        assert rules((FIVE, rush), (left(rush),), Standing()) == {"unplaced-free"}
        assert rules((FIVE, rush), (left(rush),), Standing(sheets=frozenset({"S01"}))) == set()
        assert rules((FIVE, rush), (left(rush),), Standing(sheets=frozenset({"S02"}))) == {"unplaced-free"}


def test_a_rest_of_a_standing_sheet_takes_no_plate() -> None:
    shop = replace(SHOP, costs=costs(process_per_m2=10.0))
    plan = replace(planned([row("a", 600, 200)], shop), unplaced=(left(row("b", 100, 100, relief=0.5)),))
    rows = (row("a", 600, 200), row("b", 100, 100, relief=0.5))
    found = [
        {one.rule for one in check_plan(plan, rows, shop, standing=standing)}
        for standing in (Standing(), Standing(sheets=frozenset({"S01"})))
    ]
    assert found == [{"unplaced-rest"}, set()]


def test_a_piece_on_a_standing_sheet_gives_way_to_none_due_earlier() -> None:
    late = replace(FIVE, copies=6, due=datetime(2027, 3, 9))
    rush = row("b", 200, 200, due=datetime(2027, 3, 1))
    plan = replace(planned([late], SHOP), unplaced=(left(rush),))
    found = [
        {one.rule for one in check_plan(plan, (late, rush), SHOP, standing=standing)}
        for standing in (Standing(), Standing(sheets=frozenset({"S01"})))
    ]
    assert found == [{"due-order"}, set()]


def test_withdrawn_copies_are_neither_placed_nor_unplaced() -> None:
    seven = replace(FIVE, copies=7)
    assert rules((seven,), (), Standing()) == {"copies"}
    assert rules((seven,), (), Standing(withdrawn={FIVE.key: 2})) == set()
    assert rules((seven,), (), Standing(withdrawn={FIVE.key: 1})) == {"copies"}
    assert rules((FIVE,), (), Standing(withdrawn={FIVE.key: 1})) == {"copies"}
