from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Need, Together
from nest.errors import InputError
from nest.revise.changes import changes
from nest.revise.earlier import Nothing, Origin
from nest.revise.remake import Remake, made_again, named_pieces
from nest.revise.revision import Options
from tests.packing.shop import costs, offcut, pieces, room, row, sheet
from tests.revise.shop import WORK, after, before, checked, next_of

if TYPE_CHECKING:
    from nest.revise.earlier import Earlier

ONE_PLATE = costs(plate=10.0, process_per_m2=10.0, raw_parts_max=1)
SHOP = room(sheet(600, 400, price=50.0), costs=ONE_PLATE)


def remade(earlier: Earlier, *names: str) -> Remake:
    made = made_again(earlier, named_pieces(earlier, names), earlier.inputs.room, Options(work_limit=WORK))
    checked(made.revision)
    told = changes(earlier.plan, made.revision.plan)
    assert told.moved == told.dropped == ()
    return made


def test_a_damaged_piece_goes_into_a_free_area_of_a_sheet_not_released_at_no_cost() -> None:
    # six pieces fill a sheet; the other one holds the seventh and has room for five more
    earlier = before([row("a", 200, 200, copies=7)], SHOP)
    full, other = sorted(earlier.plan.sheets, key=lambda s: -len(s.plates[0].pieces))
    copy = full.plates[0].pieces[0].copy
    made = remade(earlier, f"3101/a#{copy}")
    (one,) = made.pieces
    assert (one.sheet, one.as_key) == (full.id, ("3101", "a", "remake 1"))
    assert (one.placed_on, one.cost) == (other.plates[0].id, 0.0)
    # six pieces of 0.04 m2 share 50 for the sheet, 10 for the plate and 2.40 for 0.24 m2 of processing
    assert one.lost == pytest.approx(62.4 / 6)
    assert made.revision.history.own_rows[0].origin is Origin.REMAKE
    assert [(s.copy, s.why) for s in made.revision.history.spent] == [(copy, Nothing.DAMAGED)]


def test_the_sheet_of_a_damaged_piece_counts_as_released_and_takes_nothing() -> None:
    earlier = before([row("a", 200, 200, copies=5)], SHOP)
    made = remade(earlier, "3101/a#3")
    assert made.revision.history.released == {"S01"}
    assert [one.id for one in made.revision.plan.sheets] == ["S01", "S02"]
    assert made.pieces[0].cost == pytest.approx(62.4)


def test_an_offcut_is_taken_before_a_sheet_and_the_reserve_last() -> None:
    full = row("a", 200, 200, copies=6)
    reserve = sheet(600, 400, price=50.0, on_hand=2, keep_back=1)
    rack = room(reserve, offcuts=(offcut(200, 200, value=3.0),), costs=ONE_PLATE)
    made = remade(before([full], rack), "3101/a#1")
    assert made.revision.plan.sheets[1].source.ref == "R-0101"
    assert made.revision.inputs.room == rack
    second = remade(next_of(made.revision), "3101/a#2")
    assert second.revision.plan.sheets[2].source.ref == reserve.id
    assert second.revision.inputs.room.sheets == (replace(reserve, keep_back=0),)
    # nothing is left for a further one: it is told, not refused
    third = remade(next_of(second.revision, ["S03"]), "3101/a#3")
    assert third.pieces[0].placed_on == ""
    assert [(left.separation, left.part) for left in third.revision.plan.unplaced] == [("a", "remake 3")]


def test_the_reserve_serves_remakes_only() -> None:
    shop = room(sheet(600, 400, price=50.0, on_hand=2, keep_back=1), costs=ONE_PLATE)
    rows = [row("a", 600, 400), row("b", 590, 390)]
    earlier = before(rows, shop)
    (made_first,) = {piece.separation for piece in pieces(earlier.plan)}
    made = remade(earlier, f"3101/{made_first}")
    (left,) = made.revision.plan.unplaced
    assert (left.part, left.separation != made_first) == ("", True)
    assert len(made.revision.plan.sheets) == 2


def test_a_reserve_sheet_once_drawn_takes_what_else_had_no_place() -> None:
    shop = room(sheet(600, 400, price=50.0, on_hand=2, keep_back=1), costs=ONE_PLATE)
    # a and c fill the one sheet that may be drawn, b has no place
    earlier = before([row("a", 500, 400), row("b", 200, 200), row("c", 100, 400)], shop)
    assert [left.separation for left in earlier.plan.unplaced] == ["b"]
    made = remade(earlier, "3101/c")
    assert made.revision.plan.unplaced == ()
    (_, drawn) = made.revision.plan.sheets
    assert {piece.row[1:] for piece in drawn.plates[0].pieces} == {("b", ""), ("c", "remake 1")}


def test_a_remade_piece_keeps_the_axis_of_its_set_and_its_lot() -> None:
    shop = room(
        sheet(600, 400, price=50.0, name="L1", lot="L1"), sheet(400, 600, price=10.0, name="L2", lot="L2"),
        costs=ONE_PLATE,
    )  # fmt: skip
    first = row("a", 600, 400, together=Together.LOT)
    earlier = before([first], replace(shop, sheets=shop.sheets[:1]))
    made = made_again(earlier, named_pieces(earlier, ["3101/a"]), shop, Options(work_limit=WORK))
    assert [one.lot for one in checked(made.revision).plan.sheets] == ["L1", "L1"]
    assert {one.turn % 180 for one in pieces(made.revision.plan)} == {0}


def test_a_piece_kept_on_a_plate_with_others_is_made_again_without_them() -> None:
    rows = [row(name, 200, 200, together=Together.PLATE) for name in "ab"]
    made = remade(before(rows, SHOP), "3101/a")
    (again,) = [one for one in made.revision.inputs.rows if one.part]
    assert (again.together, again.need) == (None, Need.MUST)


def test_a_fill_piece_made_again_must_be_made() -> None:
    rows = [row("a", 200, 200, copies=5), row("wedge", 200, 200, job="3109", need=Need.FILL)]
    made = remade(before(rows, SHOP), "3109/wedge")
    assert {one.need for one in made.revision.inputs.rows if one.part} == {Need.MUST}


def test_a_piece_made_again_can_be_damaged_again() -> None:
    made = remade(before([row("a", 200, 200, part="left")], SHOP), "3101/a/left")
    second = remade(next_of(made.revision), "3101/a/left remake 1#1")
    assert [one.key[2] for one in second.revision.history.own_rows] == ["left remake 1", "left remake 2"]
    assert {one.of for one in second.revision.history.own_rows} == {("3101", "a", "left")}


def test_damaged_pieces_of_one_row_share_a_row_and_the_cost_by_area() -> None:
    earlier = before([row("a", 200, 200, copies=4), row("b", 100, 200, copies=2)], SHOP)
    made = remade(earlier, "3101/a#1", "3101/a#2", "3101/b#1")
    again = [(one.separation, one.part, one.copies) for one in made.revision.inputs.rows if one.part]
    assert again == [("a", "remake 1", 2), ("b", "remake 1", 1)]
    grown = made.revision.plan.totals.cost - earlier.plan.totals.cost
    costs_of = [one.cost for one in made.pieces]
    assert sum(costs_of) == pytest.approx(grown)
    assert costs_of[0] == pytest.approx(grown * 0.4, abs=0.011)


def test_the_next_plan_of_the_same_jobs_leaves_a_remake_as_it_is() -> None:
    rows = [row("a", 200, 200, copies=4)]
    made = remade(before(rows, SHOP), "3101/a#1")
    second = after(next_of(made.revision), rows)
    assert second.plan.sheets == made.revision.plan.sheets
    assert [change.kind for change in second.wanted.changes] == ["same"]
    # one copy less is asked for: the remake, not yet made, is let go
    third = after(next_of(second), [replace(rows[0], copies=3)])
    assert third.plan.sheets == made.revision.plan.sheets[:1]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("3101/none", "must name a piece of the plan"),
        ("3101/a", "must say which copy; got 3101/a; add one of #1, #2, #3, #4"),
        ("3101/a#9", "must be a copy that is placed; got 3101/a#9; the plan has #1, #2, #3, #4"),
        ("3101/large", "must be placed in the plan"),
        ("3101/a#1", "must be named once"),
    ],
)
def test_a_wrong_name_is_one_clear_fault(name: str, words: str) -> None:
    earlier = before([row("a", 200, 200, copies=4), row("large", 700, 700)], SHOP)
    with pytest.raises(InputError) as caught:
        named_pieces(earlier, ["3101/a#1", name])
    assert words in str(caught.value)
    assert len(caught.value.faults) == 1


def test_a_piece_made_for_nothing_is_not_made_again() -> None:
    made = remade(before([row("a", 200, 200, copies=4)], SHOP), "3101/a#1")
    with pytest.raises(InputError, match="made for nothing"):
        named_pieces(next_of(made.revision), ["3101/a#1"])


def test_a_name_may_hold_slashes_and_numbers() -> None:
    earlier = before([row("a/b #2", 200, 200)], SHOP)
    assert named_pieces(earlier, ["3101/a/b #2"]) == ((("3101", "a/b #2", ""), 1),)
