"""What a planner expects of a revised plan, each on a week small enough to work out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Need, Together, Turn
from nest.domain.plan import StoppedBy
from nest.errors import InputError
from nest.revise.changes import changes
from nest.revise.earlier import Nothing
from tests.packing.shop import costs, imager, offcut, pieces, plates, room, row, sheet
from tests.revise.shop import after, before, next_of

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.revise.changes import Changes
    from nest.revise.revision import Revision

RATES = {"plate": 10.0, "process_per_m2": 10.0, "cut": 1.0}
SHOP = room(sheet(600, 400, price=50.0), costs=costs(**RATES))
"""Sheets of 600 x 400 mm; six pieces of 200 x 200 mm fill one."""


def told(revision: Revision) -> Changes:
    return changes(revision.earlier.plan, revision.plan)


def square(name: str, copies: int = 1, **more: object) -> Row:
    return row(name, 200, 200, copies=copies, **more)


def test_nothing_changed_gives_the_same_plan() -> None:
    rows = [square("a", 6), row("b", 300, 300, copies=2)]
    earlier = before(rows, SHOP)
    revision = after(earlier, rows)
    assert revision.plan.sheets == earlier.plan.sheets
    assert revision.plan.totals == earlier.plan.totals
    assert revision.plan.proof == earlier.plan.proof
    assert all(change.kind == "same" for change in revision.wanted.changes)


def test_a_rush_row_goes_into_a_free_area_and_nothing_moves() -> None:
    earlier = before([square("a", 5)], room(sheet(600, 400), costs=costs(raw_parts_max=1)))
    revision = after(earlier, [square("a", 5), square("rush", job="3999")])
    found = told(revision)
    assert (len(found.added), found.moved, found.dropped) == (1, (), ())
    assert [one.id for one in revision.plan.sheets] == [one.id for one in earlier.plan.sheets] == ["S01"]
    assert revision.plan.totals.cost == earlier.plan.totals.cost
    assert revision.plan.totals.bound == earlier.plan.totals.bound
    assert len(pieces(revision.plan)) == 6


def test_a_rush_row_takes_a_plate_of_its_own_in_a_rest_where_that_is_cheapest() -> None:
    # 400 of 600 mm are used; the rest of 200 x 400 mm is scrap
    shop = room(sheet(600, 400, price=50.0), costs=costs(plate=1.0, process_per_m2=30.0))
    earlier = before([row("a", 400, 400)], shop)
    assert [len(one.rests) for one in earlier.plan.sheets] == [1]
    revision = after(earlier, [row("a", 400, 400), square("rush", relief=0.5)])
    (only,) = revision.plan.sheets
    assert [plate.id for plate in only.plates] == ["S01-A", "S01-B"]
    # 200 x 200 mm at 30 a m2, and the plate
    assert revision.plan.totals.cost == pytest.approx(earlier.plan.totals.cost + 1.0 + 1.2)
    assert told(revision).moved == ()


def test_a_row_too_large_for_what_is_free_draws_one_further_sheet_with_the_next_number() -> None:
    earlier = before([square("a", 6)], SHOP)
    revision = after(earlier, [square("a", 6), row("large", 500, 350)])
    assert [one.id for one in revision.plan.sheets] == ["S01", "S02"]
    assert told(revision).same_sheets == ("S01",)
    (drawn,) = told(revision).drawn
    assert (drawn.ref, drawn.more) == ("KV170 600x400", 1)


def test_a_cancelled_row_leaves_an_open_sheet_which_is_cut_down_without_a_move() -> None:
    shop = room(sheet(600, 400, price=50.0), costs=costs(**RATES, offcut_value=0.5))
    earlier = before([row("a", 300, 400), row("b", 300, 400)], shop)
    (plate,) = plates(earlier.plan)
    assert plate.rect.w == 600
    gone = pieces(earlier.plan)[1]
    revision = after(earlier, [one for one in earlier.inputs.rows if one.separation != gone.separation])
    assert told(revision).moved == ()
    assert len(told(revision).dropped) == 1
    (plate,) = plates(revision.plan)
    assert (plate.rect.w, plate.rect.h) == (300, 400)
    (rest,) = revision.plan.sheets[0].rests
    # half of the sheet, at half of its price
    assert (rest.kept, rest.credit) == (True, 12.5)


def test_a_sheet_of_cancelled_rows_alone_is_not_drawn() -> None:
    rows = [row("a", 600, 400), row("b", 590, 390)]
    earlier = before(rows, SHOP)
    gone = earlier.plan.sheets[0].plates[0].pieces[0].separation
    revision = after(earlier, [one for one in rows if one.separation != gone])
    assert told(revision).gone_sheets == ("S01",)
    assert [one.id for one in revision.plan.sheets] == ["S02"]
    # its number is not given again
    third = after(next_of(revision), rows)
    assert [one.id for one in third.plan.sheets] == ["S02", "S03"]


def test_a_cancelled_piece_on_a_released_sheet_stays_and_is_made_for_nothing() -> None:
    rows = [square("a", 3), square("b", 3)]
    earlier = before(rows, SHOP, released=["S01"])
    revision = after(earlier, rows[:1])
    assert revision.plan.sheets == earlier.plan.sheets
    assert [(one.key[1], one.copy, one.sheet, one.why) for one in revision.wanted.spent] == [
        ("b", n, "S01", Nothing.CANCELLED) for n in (1, 2, 3)
    ]
    assert {one.separation: one.copies for one in revision.inputs.rows} == {"a": 3, "b": 3}
    assert revision.plan.warnings == (
        "job 3101 b: made for nothing (cancelled): copy 1 on S01, copy 2 on S01, copy 3 on S01",
    )
    # told once, not again and again
    second = after(next_of(revision), rows[:1])
    assert [change.kind for change in second.wanted.changes] == ["same"]
    assert second.wanted.spent == revision.wanted.spent


def test_a_cancelled_row_that_comes_back_finds_its_pieces_made() -> None:
    rows = [square("a", 3), square("b", 3)]
    revision = after(before(rows, SHOP, released=["S01"]), rows[:1])
    third = after(next_of(revision), rows)
    assert third.wanted.spent == ()
    assert third.plan.sheets == revision.plan.sheets


def test_copies_that_stand_keep_numbers_above_what_is_ordered_now() -> None:
    earlier = before([square("a", 9)], SHOP, released=["S02"])
    high = {piece.copy for piece in earlier.plan.sheets[1].plates[0].pieces}
    assert max(high) == 9
    revision = after(earlier, [square("a", len(high))])
    assert [one.id for one in revision.plan.sheets] == ["S02"]
    (only,) = revision.inputs.rows
    assert (only.copies, revision.inputs.standing.withdrawn) == (9, {only.key: 9 - len(high)})
    assert revision.plan.unplaced == ()


def test_too_many_copies_on_released_sheets_are_made_for_nothing() -> None:
    revision = after(before([square("a", 6)], SHOP, released=["S01"]), [square("a", 4)])
    assert [(one.copy, one.why) for one in revision.wanted.spent] == [(5, Nothing.SURPLUS), (6, Nothing.SURPLUS)]
    assert told(revision).dropped == ()


def test_a_changed_size_on_a_released_sheet_is_made_anew_under_a_version_of_its_own() -> None:
    rows = [square("a", 2), square("b", 2)]
    earlier = before(rows, SHOP, released=["S01"])
    now = [rows[0], row("b", 180, 210, copies=2)]
    revision = after(earlier, now)
    assert [(one.part, one.copies, one.image_across_mm) for one in revision.inputs.rows if one.separation == "b"] == [
        ("", 2, 200.0), ("v2", 2, 180.0),
    ]  # fmt: skip
    assert {one.why for one in revision.wanted.spent} == {Nothing.CHANGED}
    assert [one.columns for one in revision.wanted.changes if one.key[1] == "b"] == [("size",)]
    # the next revision knows the version as the row of the jobs
    second = after(next_of(revision), now)
    assert second.plan.sheets == revision.plan.sheets
    assert [change.kind for change in second.wanted.changes] == ["same", "same"]
    # and changed once more before it is released, the version itself is replaced
    third = after(next_of(second), [rows[0], row("b", 150, 210, copies=2)])
    parts = {one.part: one.image_across_mm for one in third.inputs.rows if one.separation == "b"}
    assert parts == {"": 200.0, "v3": 150.0}


def test_a_changed_size_on_an_open_sheet_replaces_the_piece() -> None:
    rows = [square("a", 5), square("b")]
    earlier = before(rows, SHOP)
    revision = after(earlier, [rows[0], row("b", 150, 150)])
    assert (len(told(revision).added), len(told(revision).dropped), told(revision).moved) == (1, 1, ())
    assert revision.inputs.standing.withdrawn == {}
    assert len(revision.inputs.rows) == 2


def test_the_axis_of_a_set_holds_from_sheets_that_stand() -> None:
    # 400 x 600 mm lies on a sheet of 600 x 400 only when turned, which the set's other piece forbids
    shop = room(sheet(600, 400), costs=costs(raw_parts_max=1))
    first = row("a", 500, 200, job="3101")
    earlier = before([first], shop, released=["S01"])
    (piece,) = pieces(earlier.plan)
    assert piece.turn % 180 == 0
    revision = after(earlier, [first, row("b", 400, 600, job="3101"), row("c", 350, 200, job="3101")])
    axes = {one.turn % 180 for one in pieces(revision.plan)}
    assert axes == {0}
    assert [left.separation for left in revision.plan.unplaced] == ["b"]
    free = after(earlier, [first, row("b", 400, 600, job="3101", turn=Turn.FREE)])
    assert free.plan.unplaced == ()


def test_a_lot_holds_from_sheets_that_stand() -> None:
    shop = room(
        sheet(600, 400, price=50.0, name="old", lot="L1", on_hand=2),
        sheet(600, 400, price=10.0, name="new", lot="L2", on_hand=5),
    )
    first = row("a", 600, 400, together=Together.LOT)
    earlier = before([first], replace(shop, sheets=shop.sheets[:1]), released=["S01"])
    revision = after(earlier, [first, row("b", 600, 400, together=Together.LOT), row("c", 600, 400)], shop)
    lots = {one.plates[0].pieces[0].separation: one.lot for one in revision.plan.sheets}
    assert lots == {"a": "L1", "b": "L1", "c": "L2"}


def test_a_fill_row_takes_free_areas_of_open_sheets_only() -> None:
    shop = room(sheet(600, 400), costs=costs(raw_parts_max=1))
    fill = row("wedge", 50, 50, job="3109", need=Need.FILL)
    earlier = before([square("a", 5)], shop)
    assert told(after(earlier, [square("a", 5), fill])).added[0].key == fill.key
    standing = before([square("a", 5)], shop, pinned=["S01"])
    left = after(standing, [square("a", 5), fill]).plan
    assert [(one.separation, one.need) for one in left.unplaced] == [("wedge", Need.FILL)]
    assert left.sheets == standing.plan.sheets


def test_a_pinned_sheet_takes_nothing_though_it_has_room() -> None:
    shop = room(sheet(600, 400), costs=costs(raw_parts_max=1))
    revision = after(before([square("a", 5)], shop, pinned=["S01"]), [square("a", 5), square("rush", job="3999")])
    assert [one.id for one in revision.plan.sheets] == ["S01", "S02"]


def test_a_piece_moves_only_where_that_saves_the_amount_asked() -> None:
    # two sheets half full: each holds 2 of 4 halves, since they come one after the other
    half = [row(name, 300, 400, job=f"31{n:02}") for n, name in enumerate("abcd")]
    earlier = before(half, SHOP)
    assert len(earlier.plan.sheets) == 2
    names = [[p.separation for p in plate.pieces] for plate in plates(earlier.plan)]
    left = [one for one in half if one.separation in (names[0][0], names[1][0])]
    cheap, dear = (after(earlier, left, per_move=amount) for amount in (2.0, 500.0))
    assert (len(cheap.plan.sheets), len(told(cheap).moved)) == (1, 1)
    assert (len(dear.plan.sheets), told(dear).moved) == (2, ())
    assert dear.anew is not None
    assert dear.anew.moves >= 1
    # the move saves a sheet and its plate, all but the area that both halves need
    assert dear.anew.saving == pytest.approx(dear.plan.totals.cost - cheap.plan.totals.cost)


def test_offcuts_are_drawn_before_sheets_where_they_cost_less() -> None:
    shop = room(sheet(600, 400, price=50.0), offcuts=(offcut(210, 210, value=3.0),), costs=costs(**RATES))
    earlier = before([square("a", 6)], shop)
    revision = after(earlier, [square("a", 6), square("rush", job="3999")])
    assert [one.source.ref for one in revision.plan.sheets] == ["KV170 600x400", "R-0101"]


def test_what_no_stock_is_left_for_is_told() -> None:
    shop = room(sheet(600, 400, on_hand=1), costs=costs(raw_parts_max=1))
    revision = after(before([square("a", 6)], shop, released=["S01"]), [square("a", 6), square("rush", job="3999")])
    (left,) = revision.plan.unplaced
    assert left.separation == "rush"
    assert "1 more sheet" in left.reason
    assert revision.plan.stopped_by is not StoppedBy.OPTIMAL


def test_an_open_sheet_no_longer_in_stock_is_planned_anew() -> None:
    shop = room(sheet(600, 400, price=10.0, name="old"), sheet(650, 400, price=50.0, name="new"))
    earlier = before([square("a", 6)], shop)
    assert [one.source.ref for one in earlier.plan.sheets] == ["old"]
    revision = after(earlier, earlier.inputs.rows, replace(shop, sheets=shop.sheets[1:]))
    assert [one.source.ref for one in revision.plan.sheets] == ["new"]


def test_another_rule_of_the_room_opens_every_sheet_that_need_not_stay() -> None:
    earlier = before([square("a", 6)], SHOP)
    held = replace(SHOP, imager=imager(clamp_mm=12.0))
    revision = after(earlier, earlier.inputs.rows, held)
    assert all(plate.keep_out.y0 == 12.0 or plate.keep_out.x0 == 12.0 for plate in plates(revision.plan))


def test_another_price_is_charged_on_open_sheets() -> None:
    earlier = before([square("a", 6)], SHOP)
    dearer = replace(SHOP, sheets=(replace(SHOP.sheets[0], price=70.0),))
    revision = after(earlier, earlier.inputs.rows, dearer)
    assert revision.plan.totals.cost == pytest.approx(earlier.plan.totals.cost + 20.0)
    assert told(revision).unchanged == 6


def test_what_a_released_sheet_was_drawn_from_must_not_change() -> None:
    earlier = before([square("a", 6)], SHOP, released=["S01"])
    for shop, words in (
        (replace(SHOP, sheets=(replace(SHOP.sheets[0], price=70.0),)), "cost 70.0 expected"),
        (replace(SHOP, sheets=(replace(SHOP.sheets[0], material="KV171"),),
                 materials={**SHOP.materials, "KV171": SHOP.materials["KV170"]}), "KV171 expected of KV170 600x400"),
        (replace(SHOP, materials={"KV171": SHOP.materials["KV170"]}), "material KV170 is not in the room"),
        (replace(SHOP, imager=imager(clamp_mm=12.0)), "12 mm expected at edge"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=words):
            after(earlier, earlier.inputs.rows, shop)


def test_a_released_sheet_s_expiry_binds_a_later_due_date() -> None:
    shop = room(sheet(600, 400, expiry=date(2027, 3, 10)))
    rows = [square("a", due=datetime(2027, 3, 1))]
    earlier = before(rows, shop, released=["S01"])
    with pytest.raises(InputError, match="expires 2027-03-10"):
        after(earlier, [replace(rows[0], due=datetime(2027, 4, 1))])


def test_a_further_piece_of_a_job_kept_on_a_plate_that_stands_is_refused() -> None:
    rows = [square("a", together=Together.PLATE), square("b", together=Together.PLATE)]
    earlier = before(rows, SHOP, released=["S01"])
    with pytest.raises(InputError, match=r"S01: must hold all pieces that are kept together"):
        after(earlier, [*rows, square("c", together=Together.PLATE)])


def test_a_further_piece_of_a_job_kept_on_an_open_plate_joins_it_and_nothing_moves() -> None:
    rows = [square(name, together=Together.PLATE) for name in "abcd"]
    shop = room(sheet(600, 400), costs=costs(raw_parts_max=1))
    revision = after(before(rows, shop), [*rows, square("e", together=Together.PLATE)])
    assert (len(told(revision).added), told(revision).moved, told(revision).new_sheets) == (1, (), ())
    # a seventh finds no place: all of them go together elsewhere
    seven = [square(name, together=Together.PLATE) for name in "abcdefg"]
    larger = replace(shop, sheets=(*shop.sheets, sheet(900, 400)))
    other = after(before(rows, shop), seven, larger)
    assert len(plates(other.plan)) == 1
    assert other.plan.sheets[0].across_mm == 900


def test_a_row_that_may_not_share_a_plate_any_more_leaves_it() -> None:
    rows = [square("a", job="3101"), square("b", job="3102")]
    earlier = before(rows, SHOP)
    assert len(plates(earlier.plan)) == 1
    revision = after(earlier, [rows[0], replace(rows[1], alone=True)])
    assert len(plates(revision.plan)) == 2


def test_an_empty_week_leaves_only_what_stands() -> None:
    earlier = before([row("a", 600, 400), row("b", 590, 390)], SHOP, released=["S02"])
    revision = after(earlier, [])
    assert [one.id for one in revision.plan.sheets] == ["S02"]


def test_the_same_input_seed_and_limit_give_the_same_plan() -> None:
    rows = [square("a", 7), row("b", 300, 180, copies=5)]
    earlier = before(rows, SHOP)
    more = [*rows, row("c", 280, 190, copies=3)]
    assert after(earlier, more).plan == after(earlier, more[::-1]).plan


def test_texts_change_no_sheet() -> None:
    rows = [square("a", 2), square("b", 2)]
    earlier = before(rows, SHOP, released=["S01"])
    revision = after(earlier, [replace(rows[0], title="new title"), rows[1]])
    assert revision.plan.sheets == earlier.plan.sheets
    assert [one.columns for one in revision.wanted.changes] == [("title",), ()]
    assert revision.plan.totals.bound == earlier.plan.totals.bound
