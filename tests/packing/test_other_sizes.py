from __future__ import annotations

from nest.domain.job import Need
from tests.packing.shop import offcut, outcome, room, row, sheet


def test_each_other_size_in_the_store_is_priced_and_the_cheapest_comes_first() -> None:
    # 300 x 300 holds the piece at 50; the others at 60 and 90; 100 x 100 does not hold it
    sizes = [sheet(300, 300), sheet(300, 500, price=90.0), sheet(300, 400, price=60.0), sheet(100, 100, price=5.0)]
    made = outcome([row("a", 300, 300)], room(*sizes))
    assert [(one.ref, one.sheets, one.cost) for one in made.others["S01"]] == [
        ("KV170 300x400", 1, 60.0), ("KV170 300x500", 1, 90.0),
    ]  # fmt: skip


def test_pieces_that_need_several_smaller_sheets_are_priced_on_all_of_them() -> None:
    made = outcome([row("a", 300, 300, copies=2)], room(sheet(300, 600, price=70.0), sheet(300, 300)))
    (other,) = made.others["S01"]
    assert (other.ref, other.sheets, other.cost) == ("KV170 300x300", 2, 100.0)


def test_only_what_the_plan_leaves_in_the_store_counts() -> None:
    # both sheets of 60 are drawn, so nothing else is left for either
    sizes = [sheet(300, 400, price=60.0, on_hand=2), sheet(300, 300, price=50.0, on_hand=0)]
    made = outcome([row("a", 300, 400, copies=2)], room(*sizes))
    assert made.others == {"S01": (), "S02": ()}


def test_the_reserve_is_no_other_size_unless_it_may_be_drawn() -> None:
    sizes = [sheet(300, 300), sheet(300, 400, price=60.0, on_hand=1, keep_back=1)]
    assert outcome([row("a", 300, 300)], room(*sizes)).others["S01"] == ()
    (other,) = outcome([row("a", 300, 300)], room(*sizes), use_reserve=True).others["S01"]
    assert other.cost == 60.0


def test_a_lot_of_the_same_size_is_no_other_size() -> None:
    sizes = [sheet(300, 300, name="one"), sheet(300, 300, price=55.0, name="two", lot="L7")]
    assert outcome([row("a", 300, 300)], room(*sizes)).others["S01"] == ()


def test_an_offcut_can_be_the_other_size() -> None:
    made = outcome([row("a", 200, 200)], room(sheet(300, 300), offcuts=(offcut(200, 200, value=80.0),)))
    assert [(one.kind.value, one.ref, one.cost) for one in made.others["S01"]] == [("offcut", "R-0101", 80.0)]


def test_a_set_on_several_sheets_keeps_its_axis() -> None:
    # the set lies upright on two sheets of 300 x 400; on 400 x 300 each piece would have to turn alone
    rows = [row("a", 300, 400), row("b", 300, 400)]
    sizes = [sheet(300, 400, price=10.0), sheet(400, 300, price=11.0)]
    made = outcome(rows, room(*sizes))
    assert [len(made.others[one.id]) for one in made.plan.sheets] == [0, 0]
    # a set that lies on one sheet alone may turn there
    (other,) = outcome(rows[:1], room(*sizes)).others["S01"]
    assert other.cost == 11.0


def test_fill_pieces_are_left_out() -> None:
    rows = [row("a", 300, 200, job="A"), row("f", 300, 100, job="F", need=Need.FILL)]
    made = outcome(rows, room(sheet(300, 300, price=50.0), sheet(300, 200, price=60.0)))
    assert [one.cost for one in made.others["S01"]] == [60.0]


def test_the_same_seed_gives_the_same_answer() -> None:
    rows = [row(f"c{n}", 90 + 7 * n, 130 - 5 * n, copies=2) for n in range(6)]
    shop = room(sheet(300, 300), sheet(400, 500, price=95.0), sheet(200, 300, price=35.0))
    assert outcome(rows, shop).others == outcome(rows, shop).others


def test_when_it_is_late_no_sheet_is_asked() -> None:
    made = outcome([row("a", 210, 130, copies=9)], room(sheet(500, 700), sheet(900, 900)), time_limit=1e-6)
    assert made.others == {}
    assert made.plan.unplaced == ()
