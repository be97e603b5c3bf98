"""Rules of rows and room as plans keep them. Every plan here also passes the independent check (see ``shop``)."""

from __future__ import annotations

import threading
from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Need, Together, Turn
from nest.domain.plan import Edge, SourceKind, StoppedBy
from nest.domain.room import Cutting, Material, Station
from nest.pipeline import Settings, default_work, made_by, make_plan
from nest.works import stop_reason
from tests.packing.shop import (
    MATERIAL,
    costs,
    imager,
    offcut,
    outcome,
    pieces,
    planned,
    plates,
    reasons,
    room,
    row,
    sheet,
)

if TYPE_CHECKING:
    from nest.packing.control import News

# Turning


def test_a_set_lies_along_one_axis_over_all_sheets_and_groups() -> None:
    shop = room(sheet(500, 400))
    rows = [
        row(colour, 300, 200, copies=2, relief=relief)
        for colour, relief in (("Cyan", 0.5), ("Black", 0.5), ("White", ""))
    ]
    plan = planned(rows, shop)
    assert plan.totals.sheets > 1
    assert len({piece.turn % 180 for piece in pieces(plan)}) == 1


def test_free_pieces_mix_where_a_set_may_not() -> None:
    #  +------+----+
    #  |  a   |    |   500 x 400: two of 300 x 200 lie along, the third is turned into the column of 200
    #  +------+ c  |
    #  |  b   |    |
    #  +------+----+
    shop = room(sheet(500, 400))
    free = planned([row("a", 300, 200, copies=3, turn=Turn.FREE)], shop)
    assert free.totals.sheets == 1
    assert sorted(piece.turn for piece in pieces(free)) == [0, 0, 90]
    assert planned([row("a", 300, 200, copies=3)], shop).totals.sheets == 2


def test_two_sets_choose_their_axes_each_for_itself() -> None:
    shop = room(sheet(400, 100, on_hand=1), sheet(100, 400, on_hand=1))
    plan = planned([row("a", 400, 100, job="A"), row("b", 400, 100, job="B")], shop)
    assert plan.unplaced == ()
    assert {piece.job: piece.turn for piece in pieces(plan)}.keys() == {"A", "B"}
    assert {piece.turn for piece in pieces(plan)} == {0, 90}


@pytest.mark.parametrize(("turn", "want"), [(Turn.FIXED, 0), (Turn.CROSS, 90)])
def test_fixed_and_cross_hold_the_axis_of_the_sheet_as_stocked(turn: Turn, want: int) -> None:
    plan = planned([row("a", 100, 300, copies=3, turn=turn)], room(sheet(700, 700)))
    assert {piece.turn for piece in pieces(plan)} == {want}


def test_a_fixed_piece_that_would_only_fit_turned_stays_out() -> None:
    plan = planned([row("a", 100, 300, turn=Turn.FIXED)], room(sheet(300, 100)))
    assert reasons(plan) == ["200.0 mm too long around for KV170 300x100 with its keep-outs, turned as its row says"]


def test_the_room_s_turn_holds_for_rows_without_one() -> None:
    shop = room(sheet(700, 700), turn=Turn.CROSS)
    assert [piece.turn for piece in pieces(planned([row("a", 100, 300)], shop))] == [90]


# Together, apart, alone


def test_together_plate_keeps_the_rows_of_a_job_on_one_plate() -> None:
    # two plates of 300 x 300 would be cheaper than the one large sheet
    shop = room(sheet(300, 300, price=10.0), sheet(600, 300, price=90.0))
    rows = [row("a", 300, 300, together=Together.PLATE), row("b", 300, 300, together=Together.PLATE)]
    plan = planned(rows, shop)
    assert [one.source.ref for one in plan.sheets] == ["KV170 600x300"]
    assert len(plates(plan)) == 1
    assert planned([row("a", 300, 300), row("b", 300, 300)], shop).totals.cost == 20.0


def test_together_plate_is_placed_whole_or_not_at_all() -> None:
    rows = [row(colour, 300, 300, together=Together.PLATE) for colour in ("a", "b", "c")]
    plan = planned([*rows, row("d", 300, 300, job="4")], room(sheet(600, 300)))
    assert {piece.separation for piece in pieces(plan)} == {"d"}
    assert reasons(plan) == ["no plate found that holds its 3 pieces together"] * 3


def test_together_copies_keeps_each_row_s_copies_on_one_plate() -> None:
    shop = room(sheet(300, 300, price=10.0), sheet(600, 300, price=30.0))
    plan = planned([row("a", 290, 300, copies=2, together=Together.COPIES), row("b", 290, 300)], shop)
    on = {piece.separation: plate.id for plate in plates(plan) for piece in plate.pieces}
    copies = [plate.id for plate in plates(plan) for piece in plate.pieces if piece.separation == "a"]
    assert len(set(copies)) == 1
    assert on["b"] != on["a"]


def test_together_lot_takes_sheets_of_one_lot_only() -> None:
    # each lot alone has enough for one of the jobs; the sheet without a lot is cheapest but does not serve
    shop = room(
        sheet(300, 300, price=1.0, name="plain"),
        sheet(300, 300, price=40.0, name="L7", lot="7", on_hand=2),
        sheet(300, 300, price=30.0, name="L8", lot="8", on_hand=1),
    )
    rows = [row(colour, 300, 300, together=Together.LOT) for colour in ("a", "b")]
    plan = planned(rows, shop)
    assert [one.lot for one in plan.sheets] == ["7", "7"]
    assert planned([row("a", 300, 300), row("b", 300, 300)], shop).totals.cost == 2.0


def test_a_lot_that_no_sheet_has_is_told() -> None:
    plan = planned([row("a", 300, 300, together=Together.LOT)], room(sheet(300, 300)))
    assert reasons(plan) == ["no sheet of KV170 serves it (lot, expiry or relief)"]


def test_apart_puts_no_two_copies_on_one_plate() -> None:
    plan = planned([row("a", 100, 100, copies=3, apart=True), row("b", 100, 100, copies=3)], room(sheet(300, 300)))
    for plate in plates(plan):
        assert sum(piece.separation == "a" for piece in plate.pieces) <= 1
    assert len(plates(plan)) == 3


def test_copies_that_are_apart_may_share_a_sheet() -> None:
    shop = room(sheet(300, 300), costs=costs(plate=1.0, cut=0.5, process_per_m2=100.0))
    plan = planned([row("a", 100, 300, copies=3, apart=True)], shop)
    assert (plan.totals.sheets, plan.totals.plates) == (1, 3)
    assert plan.totals.cost == 50 + 3 + 9 + 2 * 0.5


def test_alone_shares_plates_with_its_own_job_only() -> None:
    shop = room(sheet(400, 300), costs=costs(process_per_m2=10.0))
    rows = [row("a", 100, 300, job="A", alone=True), row("b", 100, 300, job="A"), row("c", 100, 300, job="B")]
    plan = planned(rows, shop)
    for plate in plates(plan):
        if any(piece.separation == "a" for piece in plate.pieces):
            assert {piece.job for piece in plate.pieces} == {"A"}
    # plates may still share a sheet
    assert plan.totals.sheets == 1


def test_groups_never_share_a_plate() -> None:
    rows = [row("a", 100, 300, relief=0.5), row("b", 100, 300, relief=0.6), row("c", 100, 300)]
    plan = planned(rows, room(sheet(300, 300), costs=costs(process_per_m2=10.0)))
    assert sorted(plate.group for plate in plates(plan)) == ["relief 0.5", "relief 0.6", "usual"]
    assert plan.totals.sheets == 1


# Fill


def test_fill_takes_free_area_and_costs_nothing() -> None:
    shop = room(sheet(300, 300))
    must = row("a", 300, 200)
    plan = planned([must, row("b", 100, 100, job="F", copies=5, need=Need.FILL)], shop)
    assert sum(piece.job == "F" for piece in pieces(plan)) == 3
    assert plan.totals.cost == planned([must], shop).totals.cost
    (left,) = plan.unplaced
    assert (left.copies, left.need, left.reason) == (2, Need.FILL, "no free area of the plates chosen takes it")


def test_fill_alone_draws_nothing() -> None:
    made = outcome([row("a", 100, 100, need=Need.FILL, copies=2)], room(sheet(300, 300)))
    assert made.plan.sheets == ()
    assert made.plan.totals.cost == 0.0
    assert [(left.copies, left.need) for left in made.plan.unplaced] == [(2, Need.FILL)]
    assert [(share.job, share.pieces, share.share) for share in made.shares] == [("3101", 0, 0.0)]


def test_fill_never_changes_keep_outs_so_that_a_must_piece_lies_in_them() -> None:
    # the must piece's border of 10 lies under the tape; a fill piece without border would need 10 mm of keep-out
    shop = room(sheet(300, 300), imager=imager(drum_tape_mm=10.0, clamp_mm=10.0, border_under_hold=True))
    rows = [row("a", 280, 180, border_mm=10.0), row("b", 90, 90, job="F", copies=3, need=Need.FILL)]
    plan = planned(rows, shop)
    assert [piece.separation for piece in pieces(plan)] == ["a"]
    with_border = [rows[0], row("b", 80, 80, job="F", copies=3, need=Need.FILL, border_mm=10.0)]
    assert sum(piece.job == "F" for piece in pieces(planned(with_border, shop))) == 3


def test_a_fill_row_together_with_its_job_on_a_plate_goes_there_or_stays_out() -> None:
    rows = [
        row("a", 300, 200, together=Together.PLATE),
        row("b", 100, 100, together=Together.PLATE, need=Need.FILL),
        row("c", 300, 150, job="9"),
    ]
    plan = planned(rows, room(sheet(300, 300)))
    home = {piece.separation: plate.id for plate in plates(plan) for piece in plate.pieces}
    assert home["a"] == home["b"] != home["c"]
    full = planned([row("a", 300, 300, together=Together.PLATE), *rows[1:]], room(sheet(300, 300)))
    assert [left.separation for left in full.unplaced] == ["b"]


# Stock


@pytest.mark.parametrize(("use_reserve", "placed"), [(False, 1), (True, 2)])
def test_the_reserve_is_drawn_only_when_asked(use_reserve: bool, placed: int) -> None:
    shop = room(sheet(300, 300, on_hand=2, keep_back=1))
    plan = planned([row("a", 300, 300, copies=2)], shop, use_reserve=use_reserve)
    assert len(pieces(plan)) == placed
    if not use_reserve:
        assert [(left.copies, left.reason) for left in plan.unplaced] == [
            (1, "stock used up: needs 1 more sheet of KV170 300x300")
        ]


def test_a_shortage_says_how_many_sheets_more() -> None:
    plan = planned([row("a", 300, 300, copies=5)], room(sheet(300, 300, on_hand=2)))
    assert [(left.copies, left.reason) for left in plan.unplaced] == [
        (3, "stock used up: needs 3 more sheets of KV170 300x300")
    ]


def test_pieces_due_earlier_are_placed_first_when_stock_is_short() -> None:
    rows = [
        row("a", 300, 300, job=job, due=due)
        for job, due in (("A", None), ("B", datetime(2027, 9, 1)), ("C", datetime(2027, 3, 1)))
    ]
    plan = planned(rows, room(sheet(300, 300, on_hand=1)))
    assert [piece.job for piece in pieces(plan)] == ["C"]
    assert [left.job for left in plan.unplaced] == ["A", "B"]


def test_an_offcut_back_exposed_to_a_relief_serves_that_relief_only() -> None:
    shop = room(sheet(300, 300), offcuts=(offcut(300, 300, relief=0.5),))
    plan = planned([row("a", 300, 300, relief=0.5), row("b", 300, 300, relief=0.6), row("c", 300, 300)], shop)
    kinds = {piece.separation: one.source.kind for one in plan.sheets for plate in one.plates for piece in plate.pieces}
    assert kinds == {"a": SourceKind.OFFCUT, "b": SourceKind.SHEET, "c": SourceKind.SHEET}


def test_a_sheet_serves_up_to_the_day_it_expires() -> None:
    shop = room(sheet(300, 300, price=1.0, name="old", expiry=date(2027, 6, 30)), sheet(300, 300, name="new"))
    rows = [
        row("a", 300, 300, due=datetime(2027, 6, 30, 18)),
        row("b", 300, 300, due=datetime(2027, 7, 1)),
        row("c", 300, 300),
    ]
    plan = planned(rows, shop)
    drawn = {piece.separation: one.source.ref for one in plan.sheets for plate in one.plates for piece in plate.pieces}
    assert drawn == {"a": "old", "b": "new", "c": "old"}
    assert {one.expiry for one in plan.sheets} == {"2027-06-30", None}


def test_a_store_that_expires_before_the_due_date_is_told() -> None:
    plan = planned([row("a", 300, 300, due=datetime(2027, 7, 1))], room(sheet(300, 300, expiry=date(2027, 6, 30))))
    assert reasons(plan) == ["every sheet of KV170 expires before 2027-07-01"]


def test_an_empty_store_leaves_everything_out() -> None:
    plan = planned([row("a", 300, 300, copies=4)], room())
    assert plan.sheets == ()
    assert [(left.copies, left.reason) for left in plan.unplaced] == [(4, "no sheet of KV170 in stock")]


def test_an_offcut_is_drawn_at_its_book_value_and_its_rest_credited_at_that_rate() -> None:
    # 10 for 0.09 m2; half of it is kept again: credit 5, whatever share sheets are credited at
    shop = room(sheet(300, 300), offcuts=(offcut(300, 300, value=10.0),), costs=costs(offcut_value=0.1))
    plan = planned([row("a", 300, 150)], shop)
    (one,) = plan.sheets
    assert (one.source.ref, one.cost, [rest.credit for rest in one.rests]) == ("R-0101", 10.0, [5.0])
    assert plan.totals.cost == 5.0


def test_materials_are_planned_each_on_its_own_sheets() -> None:
    shop = room(
        sheet(300, 300),
        sheet(300, 300, material="KV284", name="thick"),
        materials={name: Material(name=name, thickness_mm=2.0, base_mm=0.1) for name in (MATERIAL, "KV284")},
    )
    plan = planned([row("a", 100, 100), row("b", 100, 100, material="KV284")], shop)
    assert [(one.material, one.source.ref) for one in plan.sheets] == [(MATERIAL, "KV170 300x300"), ("KV284", "thick")]


# Machines


def test_a_pin_bar_larger_than_the_clamp_is_the_keep_out_of_the_lead_edge() -> None:
    shop = room(sheet(300, 300), imager=imager(clamp_mm=12.0), stations=(Station(name="punch", bar_mm=25.0),))
    plan = planned([row("a", 300, 275, turn=Turn.FIXED)], shop)
    (plate,) = plates(plan)
    assert (plate.lead, plate.keep_out.y0) == (Edge.Y0, 25.0)
    assert planned([row("a", 300, 275.1, turn=Turn.FIXED)], shop).sheets == ()


def test_a_station_takes_a_plate_in_either_turn() -> None:
    shop = room(sheet(900, 600), stations=(Station(name="washer", max_a_mm=600.0, max_b_mm=900.0),))
    assert planned([row("a", 900, 600, turn=Turn.FIXED)], shop).unplaced == ()
    tight = room(sheet(900, 600), stations=(Station(name="washer", max_a_mm=599.0, max_b_mm=900.0),))
    assert reasons(planned([row("a", 900, 600, turn=Turn.FIXED)], tight)) == [
        "1.0 mm too large for a station of the line with its keep-outs, turned as its row says"
    ]


def test_the_least_sizes_of_the_machines_are_kept() -> None:
    shop = room(
        sheet(900, 900),
        imager=imager(min_across_mm=300.0, min_around_mm=250.0),
        stations=(Station(name="washer", min_a_mm=400.0, min_b_mm=200.0),),
        costs=costs(process_per_m2=100.0),
    )
    (plate,) = plates(planned([row("a", 50, 50)], shop))
    assert plate.across_mm >= 300.0
    assert plate.around_mm >= 250.0
    assert max(plate.rect.w, plate.rect.h) >= 400.0
    # nothing larger than that is processed: 400 x 250 or 300 x 400
    assert plate.process == 10.0


def test_a_sheet_larger_than_the_imager_is_parted_into_plates() -> None:
    #  sheet 1000 x 1000, drum 500 x 500: four plates
    shop = room(sheet(1000, 1000), imager=imager(max_across_mm=500.0, max_around_mm=500.0))
    plan = planned([row("a", 500, 500, copies=4)], shop)
    assert (plan.totals.sheets, plan.totals.plates, plan.totals.raw_cuts) == (1, 4, 3)


def test_a_piece_too_large_for_the_imager_says_by_how_much() -> None:
    shop = room(
        sheet(900, 1200), imager=imager(max_across_mm=700.0, max_around_mm=700.0, clamp_mm=10.0, drum_tape_mm=10.0)
    )
    assert reasons(planned([row("a", 800, 100, turn=Turn.FIXED)], shop)) == [
        "120.0 mm too wide for the imager with its keep-outs, turned as its row says"
    ]
    assert reasons(planned([row("a", 100, 800, turn=Turn.FIXED)], shop)) == [
        "120.0 mm too long for the imager with its keep-outs, turned as its row says"
    ]


def test_a_piece_larger_than_every_sheet_says_which_is_nearest() -> None:
    shop = room(sheet(500, 500), sheet(300, 900))
    assert reasons(planned([row("a", 510, 505)], shop)) == [
        "10.0 mm too long across for KV170 500x500 with its keep-outs"
    ]


def test_borders_under_the_hold_use_the_least_border_of_the_plate() -> None:
    # tape 10, trim 4: a border of 3 leaves 7, one of 8 leaves max(4, 2) = 4, none leaves 10
    at = imager(drum_tape_mm=10.0, clamp_mm=10.0, trim_mm=4.0, border_under_hold=True)
    for border, keep in ((3.0, 7.0), (8.0, 4.0), (0.0, 10.0)):
        size = 300 - 2 * keep - 2 * border
        plan = planned([row("a", size, size, border_mm=border)], room(sheet(300, 300), imager=at))
        (plate,) = plates(plan)
        assert {plate.keep_out.x0, plate.keep_out.x1, plate.keep_out.y0, plate.keep_out.y1} == {keep}


def test_one_small_border_on_a_plate_moves_its_keep_outs() -> None:
    at = imager(drum_tape_mm=10.0, clamp_mm=10.0, border_under_hold=True)
    shop = room(sheet(300, 300), imager=at)
    # 300 wide with borders of 10 goes edge to edge; beside it nothing with a smaller border has room
    wide = row("a", 280, 100, border_mm=10.0)
    assert planned([wide, row("b", 280, 130, border_mm=10.0)], shop).totals.plates == 1
    plan = planned([wide, row("b", 270, 130, border_left_mm=5.0, border_right_mm=5.0, border_mm=10.0)], shop)
    assert plan.totals.plates == 2


def test_a_bevel_widens_pieces_of_a_free_cut_plate() -> None:
    # 1.70 mm at 45 degrees: 1.70 mm on each side (trade.md, section 2)
    shop = room(sheet(300, 300), cutting=Cutting.FREE, bevel_deg=45.0, border_mm=2.0)
    (piece,) = pieces(planned([row("a", 100, 200, turn=Turn.FIXED)], shop))
    assert (piece.rect.w, piece.rect.h) == (107.4, 207.4)
    assert (piece.image.x - piece.rect.x, piece.image.y - piece.rect.y) == pytest.approx((3.7, 3.7))


def test_free_cutting_lists_no_finish_cuts() -> None:
    rows = [row("a", 100, 200, copies=3), row("b", 80, 90)]
    free = planned(rows, room(sheet(300, 300), cutting=Cutting.FREE))
    assert all(cut.plate is None for one in free.sheets for cut in one.cuts)
    shorn = planned(rows, room(sheet(300, 300)))
    assert {cut.plate for one in shorn.sheets for cut in one.cuts} >= {plate.id for plate in plates(shorn)}


def test_free_cutting_packs_what_no_guillotine_can_part() -> None:
    #  +------+---+
    #  |  d   |   |   a and c 100 x 200, b and d 200 x 100, e 100 x 100 in their middle
    #  +--+---+ c |
    #  |a | e |   |
    #  |  +---+---+
    #  +--+   b   |
    shop = room(sheet(300, 300), cutting=Cutting.FREE)
    sizes = {"a": (100, 200), "b": (200, 100), "c": (100, 200), "d": (200, 100), "e": (100, 100)}
    rows = [row(name, w, h, job=name, turn=Turn.FIXED) for name, (w, h) in sizes.items()]
    plan = planned(rows, shop, work_limit=200)
    assert plan.totals.sheets == 1
    assert plan.totals.yields.gross == 1.0


# Raw cuts, rests and credits

RATES = {"offcut_value": 0.5, "cut": 1.0}


def test_a_rest_is_kept_for_its_credit() -> None:
    plan = planned([row("a", 300, 100)], room(sheet(300, 300, price=90.0), costs=costs(**RATES)))
    # half the price of 300 x 200 of 300 x 300
    assert [(rest.kept, rest.credit) for one in plan.sheets for rest in one.rests] == [(True, 30.0)]
    assert plan.totals.cost == 61.0


def test_no_part_of_a_cut_sheet_is_narrower_than_the_raw_strip() -> None:
    shop = room(sheet(300, 300, price=90.0), costs=costs(raw_min_strip_mm=120.0, **RATES))
    plan = planned([row("a", 300, 100)], shop)
    (plate,) = plates(plan)
    assert plate.rect.h == 120.0
    wide = planned([row("a", 300, 190)], shop)
    assert wide.totals.raw_cuts == 0


def test_with_one_part_per_sheet_sheets_are_plates() -> None:
    shop = room(sheet(300, 300), costs=costs(raw_parts_max=1, **RATES))
    rows = [row("a", 100, 100, relief=0.5), row("b", 100, 100, relief=0.6)]
    plan = planned(rows, shop)
    assert (plan.totals.sheets, plan.totals.raw_cuts, plan.totals.cost) == (2, 0, 100.0)


def test_no_rest_is_kept_where_none_may() -> None:
    shop = room(sheet(300, 300), costs=costs(offcuts_per_sheet=0, **RATES))
    plan = planned([row("a", 300, 100)], shop)
    assert plan.totals.area.kept == 0.0
    assert plan.totals.cost == 50.0


def test_where_credits_are_nothing_rests_may_be_kept_for_nothing() -> None:
    shop = room(sheet(300, 300), costs=costs(offcut_value=0.0, process_per_m2=100.0))
    plan = planned([row("a", 300, 100)], shop)
    assert plan.totals.cost == 53.0
    assert {rest.credit for one in plan.sheets for rest in one.rests} == {0.0}


def test_a_rest_too_small_to_keep_is_scrap() -> None:
    shop = room(sheet(300, 300), costs=costs(offcut_min_side_mm=201.0, process_per_m2=100.0, offcut_value=0.5))
    plan = planned([row("a", 300, 100)], shop)
    assert plan.totals.area.kept == 0.0
    assert plan.totals.area.scrap == pytest.approx(0.06)


def test_handling_and_the_short_side_take_from_a_credit() -> None:
    # rest 300 x 200 of a sheet at 1000 per m2, half credited: 0.06 * 500 = 30; short side 200 of 400: 15; less 2
    more = {**RATES, "offcut_full_side_mm": 400.0, "offcut_handling": 2.0}
    plan = planned([row("a", 300, 100)], room(sheet(300, 300, price=90.0), costs=costs(**more)))
    assert [rest.credit for one in plan.sheets for rest in one.rests] == [13.0]


# Costs, counts, limits


def test_a_room_without_costs_plans_for_nothing() -> None:
    plan = planned([row("a", 100, 100, copies=3)], room(sheet(300, 300, price=0.0)))
    assert (plan.totals.cost, plan.totals.bound, plan.totals.bound_gap) == (0.0, 0.0, 0.0)
    assert plan.unplaced == ()


def test_one_piece_as_large_as_the_sheet_is_optimal() -> None:
    plan = planned([row("a", 300, 300)], room(sheet(300, 300)))
    assert plan.stopped_by is StoppedBy.OPTIMAL
    assert plan.totals.bound == plan.totals.cost == 50.0
    assert plan.totals.yields.gross == 1.0


def test_no_rows_make_an_empty_plan() -> None:
    plan = planned([], room(sheet(300, 300)))
    assert (plan.sheets, plan.unplaced, plan.totals.cost) == ((), (), 0.0)


@pytest.mark.parametrize("cutting", list(Cutting))
def test_ten_thousand_copies_of_a_tiny_piece_are_planned(cutting: Cutting) -> None:
    # 100 x 100 pieces of 9.5 x 9.5 fill 950 x 950 exactly
    plan = make_plan(
        [row("a", 9.5, 9.5, copies=10_000)], room(sheet(950, 950), cutting=cutting), Settings(work_limit=50)
    ).plan
    assert (plan.totals.pieces, plan.totals.sheets, plan.unplaced) == (10_000, 1, ())
    assert sorted(piece.copy for piece in pieces(plan)) == list(range(1, 10_001))


def test_wraps_and_thin_gaps_are_warned_of_on_top() -> None:
    plan = planned([row("a", 100, 499, repeat_mm=500.0)], room(sheet(600, 600), gap_mm=3.0))
    assert len(plan.warnings) == 2
    assert plan.warnings[0].startswith("job 3101 a: around 499.00 mm is ")
    assert plan.warnings[1].startswith("KV170: gap 3 mm is a strip too thin to hold in a guillotine")


def test_the_same_seed_gives_the_same_plan_and_the_time_limit_is_named() -> None:
    rows = [row(colour, 210, 130, copies=3) for colour in ("a", "b", "c")]
    shop = room(sheet(500, 700), costs=costs(cut=1.5, plate=12.0, process_per_m2=14.0))
    assert planned(rows, shop, seed=3) == planned(rows, shop, seed=3)
    hurried = planned(rows, shop, time_limit=0.0, work_limit=10**6)
    assert hurried.stopped_by in (StoppedBy.TIME_LIMIT, StoppedBy.OPTIMAL)
    assert hurried.unplaced == ()


def test_an_interrupt_gives_the_best_plan_so_far() -> None:
    interrupt = threading.Event()
    interrupt.set()
    rows = [row(colour, 210, 130, copies=3) for colour in ("a", "b", "c")]
    shop = room(sheet(500, 700), costs=costs(cut=1.5, plate=12.0, process_per_m2=14.0))
    plan = make_plan(rows, shop, Settings(work_limit=10**6), interrupt=interrupt).plan
    assert plan.stopped_by in (StoppedBy.INTERRUPT, StoppedBy.OPTIMAL)
    assert plan.unplaced == ()


def test_progress_is_reported() -> None:
    class Notes:
        def __init__(self) -> None:
            self.heard: list[News] = []

        def report(self, news: News) -> None:
            self.heard.append(news)

    notes = Notes()
    plan = make_plan([row("a", 210, 130, copies=9)], room(sheet(500, 700)), Settings(work_limit=20), notes).plan
    assert notes.heard
    assert all(news.bound <= news.cost + 1e-6 and news.complete for news in notes.heard)
    assert [news.cost for news in notes.heard] == sorted((news.cost for news in notes.heard), reverse=True)
    assert notes.heard[-1].cost >= plan.totals.cost - 1e-6


def test_what_stopped_the_whole_search_is_the_worst_of_its_parts() -> None:
    every = [StoppedBy.INTERRUPT, StoppedBy.TIME_LIMIT, StoppedBy.WORK_LIMIT, StoppedBy.OPTIMAL]
    for at, reason in enumerate(every):
        assert stop_reason(set(every[at:])) is reason
    assert stop_reason(set()) is StoppedBy.OPTIMAL


def test_the_usual_work_grows_with_the_pieces() -> None:
    assert default_work(0) < default_work(100) < default_work(5000)


def test_a_plan_names_the_versions_that_made_it() -> None:
    words = made_by()
    assert [name in words for name in ("nest ", "numba ", "numpy ", "python ")] == [True] * 4
