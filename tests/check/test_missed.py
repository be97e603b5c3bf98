"""Pieces left out although there was a place: on a plate, in a rest, in the store, or by due date."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from nest.domain.job import Need, Row, Together, Turn
from nest.domain.plan import KeepOut
from nest.domain.room import Cutting, Offcut, Sheet
from tests.check.plans import SHEET, Case, cut_sheet, free_plates, full_sheet, left_out, piece, rect, row

MORE = row("2421", "More", 190.0, 290.0)


def lacking(case: Case, *rows: Row) -> Case:
    """Return the case with more rows, one copy of each left out."""
    return replace(case, rows=(*case.rows, *rows)).with_unplaced(*(left_out(one, one.copies) for one in rows))


def without_store(case: Case) -> Case:
    """Return the case with nothing left to draw."""
    sheets = tuple(replace(sheet, on_hand=1, keep_back=0) for sheet in case.room.sheets)
    return case.with_room(sheets=sheets)


@pytest.mark.parametrize("need", [Need.MUST, Need.FILL])
def test_a_piece_left_out_though_a_plate_takes_it_is_found(need: Need) -> None:
    # MORE is 200 x 300; the plate of cut_sheet() has 680 x 478 empty.
    found = lacking(cut_sheet(), replace(MORE, need=need)).broken()
    assert "unplaced-free" in found
    assert ("unplaced-stock" in found) == (need is Need.MUST)


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({}, True),
        ({"image_across_mm": 670.0, "image_around_mm": 468.0}, True),  # exactly the empty 680 x 478
        ({"image_across_mm": 670.1, "image_around_mm": 468.0}, False),
        ({"image_across_mm": 468.0, "image_around_mm": 670.0, "turn": Turn.FREE}, True),
        ({"image_across_mm": 468.0, "image_around_mm": 670.0, "turn": Turn.CROSS}, True),
        ({"image_across_mm": 468.0, "image_around_mm": 670.0, "turn": Turn.FIXED}, False),
        ({"relief": 0.5}, False),  # another group
        ({"alone": True}, False),
        ({"together": Together.BATCH}, True),
        ({"together": Together.LOT}, False),  # the sheet has no lot
        ({"together": Together.PLATE, "copies": 2}, False),  # whole or not at all
        ({"together": Together.COPIES, "copies": 2}, False),
        ({"together": Together.COPIES}, True),  # one copy is whole
        ({"together": Together.PLATE}, True),
    ],
)
def test_a_fill_piece_is_missed_only_where_its_rules_let_it_in(changes: dict[str, Any], found: bool) -> None:
    one = replace(MORE, need=Need.FILL, **changes)
    assert lacking(cut_sheet(), one).broken() == ({"unplaced-free"} if found else set())


def test_a_set_that_lies_across_takes_no_piece_along() -> None:
    # 468 x 670 fits the empty 680 x 478 only turned; job 2418 already lies at turn 0.
    long = row("2418", "Long", 458.0, 660.0, need=Need.FILL)
    assert lacking(cut_sheet(), replace(long, job="2500")).broken() == {"unplaced-free"}
    assert lacking(cut_sheet(), long).broken() == set()


def test_a_copy_that_must_be_apart_does_not_join_its_like() -> None:
    case = cut_sheet().with_row("Varnish", apart=True, copies=2)
    assert case.with_unplaced(left_out(case.rows[3])).broken() == set()
    case = cut_sheet().with_row("Varnish", copies=2)
    assert case.with_unplaced(left_out(case.rows[3])).broken() == {"unplaced-free"}


def test_a_plate_of_a_job_that_is_alone_takes_no_other() -> None:
    case = free_plates().with_row("Red", alone=True)
    fill = row("3003", "Blue", 90.0, 90.0, need=Need.FILL)
    assert lacking(case, fill).broken() == set()
    assert lacking(free_plates(), fill).broken() == {"unplaced-free"}


def test_an_expired_sheet_and_another_relief_take_no_piece() -> None:
    fill = row("3003", "Blue", 90.0, 90.0, need=Need.FILL)
    assert lacking(free_plates(), replace(fill, due=datetime(2027, 7, 1))).broken() == set()
    assert lacking(free_plates(), replace(fill, relief=0.6)).broken() == {"unplaced-free"}
    assert lacking(free_plates(), replace(fill, relief=0.7)).broken() == set()


def test_the_gap_is_owed_to_pieces_but_not_to_keep_outs() -> None:
    # Beside the ring 470 + 4 .. 890 are left: 416 mm, above it 468 + 4 .. 1190: 718 mm.
    fits = row("3003", "Blue", 406.0, 1170.0, need=Need.FILL)
    assert lacking(free_plates(), fits).broken() == {"unplaced-free"}
    assert lacking(free_plates(), replace(fits, image_across_mm=406.1)).broken() == set()


def ring_plate() -> Case:
    """Return free_plates() with its second plate cut down to the ring: x 12 to 470, y 10 to 468 inside keep-outs."""
    return free_plates().with_plate(1, rect=rect(0.0, 0.0, 480.0, 478.0))


def test_the_hole_of_a_ring_takes_a_piece_that_fills_it() -> None:
    # 458 - 2 * 150 - 2 * 4 = 150 mm square
    hole = row("3003", "Blue", 140.0, 140.0, need=Need.FILL)
    assert "unplaced-free" in lacking(ring_plate(), hole).broken()
    assert "unplaced-free" not in lacking(ring_plate(), replace(hole, image_across_mm=140.1)).broken()


def test_a_guillotine_plate_takes_a_piece_only_where_it_can_be_parted() -> None:
    # Without D the ring can be parted, with it no more; D's place is the only one of its size.
    case = ring_plate()
    three = case.plan.sheets[1].plates[0].pieces[:3]
    tall = row("3003", "Blue", 294.0, 140.0, turn=Turn.CROSS, need=Need.FILL)
    case = lacking(case.with_plate(1, pieces=three), tall)
    assert "unplaced-free" in case.broken()
    found = case.with_room(cutting=Cutting.GUILLOTINE).broken()
    assert "unplaced-free" not in found
    assert "guillotine" not in found


def test_a_guillotine_plate_takes_a_piece_that_fills_a_hole_exactly() -> None:
    # Inside keep-outs 210 x 300, gap 0; the hole between D and E is 70 x 150.
    #   D D . E E
    #   C C C C C
    sizes = (("D", 70.0, 150.0), ("E", 70.0, 150.0), ("C", 210.0, 150.0))
    tall = [row("6", name, w - 10, h - 10) for name, w, h in sizes]
    boxes = ((10.0, 162.0), (150.0, 162.0), (10.0, 12.0))
    pieces = tuple(
        piece(one, 1, rect(x, y, one.image_across_mm + 10, one.image_around_mm + 10),
              rect(x + 5, y + 5, one.image_across_mm, one.image_around_mm))
        for one, (x, y) in zip(tall, boxes, strict=True)
    )
    case = replace(full_sheet().with_plate(pieces=pieces), rows=tuple(tall))
    fill = row("7", "F", 60.0, 140.0, need=Need.FILL)
    assert "unplaced-free" in lacking(case, fill).broken()
    assert "unplaced-free" not in lacking(case, replace(fill, image_across_mm=60.1)).broken()


def test_a_thinner_border_that_would_widen_the_keep_outs_is_no_way_in() -> None:
    # With the border under the hold, keep-outs are 8; a piece with border 0 would make them 12 and 10, over Cyan.
    case = cut_sheet().with_imager(border_under_hold=True).with_plate(keep_out=KeepOut(x0=8.0, x1=8.0, y0=8.0, y1=8.0))
    pieces = case.plan.sheets[0].plates[0].pieces
    first = replace(pieces[0], rect=replace(pieces[0].rect, x=8.0), image=replace(pieces[0].image, x=13.0))
    case = case.with_plate(pieces=(first, *pieces[1:]))
    fill = replace(MORE, need=Need.FILL)
    assert "unplaced-free" in lacking(case, fill).broken()
    assert "unplaced-free" not in lacking(case, replace(fill, border_mm=0.0)).broken()


def test_a_piece_left_out_though_the_store_has_a_sheet_is_found() -> None:
    case = full_sheet().with_stock(on_hand=2)
    assert lacking(case, MORE).broken() == {"unplaced-stock"}
    assert lacking(case, replace(MORE, need=Need.FILL)).broken() == set()
    assert lacking(full_sheet(), MORE).broken() == set()


def test_the_reserve_serves_only_when_asked_for() -> None:
    case = lacking(full_sheet().with_stock(on_hand=2, keep_back=1), MORE)
    assert case.broken() == set()
    assert case.broken(use_reserve=True) == {"unplaced-stock"}


@pytest.mark.parametrize(
    ("offcut", "found"),
    [
        ({}, True),
        ({"across_mm": 219.9}, False),  # 200 + 2 * 10 are needed with lead y0
        ({"around_mm": 321.9}, False),  # 300 + 12 + 10
        ({"relief": 0.6}, False),
        ({"expiry": date(2026, 6, 9)}, False),
        ({"expiry": date(2026, 6, 10)}, True),
    ],
)
def test_an_offcut_left_in_the_store_serves_if_it_fits(offcut: dict[str, Any], found: bool) -> None:
    values: dict[str, Any] = {"across_mm": 220.0, "around_mm": 322.0, **offcut}
    spare = Offcut(id="F-1", material="HB170", value=4.0, **values)
    case = lacking(full_sheet().with_room(offcuts=(spare,)), replace(MORE, due=datetime(2026, 6, 10)))
    assert case.broken() == ({"unplaced-stock"} if found else set())


@pytest.mark.parametrize(
    ("limits", "found"),
    [
        # A sheet of 900 x 1200 is too long for this imager both ways unless it is cut down.
        ({"max_across_mm": 500.0, "max_around_mm": 500.0}, True),
        ({"max_across_mm": 500.0, "max_around_mm": 320.0}, True),  # lead x: around 200 + 22, across 300 + 20
        ({"max_across_mm": 319.9, "max_around_mm": 320.0}, False),
        ({"min_across_mm": 880.0}, True),  # lead y0 at the full 900, or lead x0 across 880
        ({"min_across_mm": 1201.0}, False),
    ],
)
def test_a_larger_sheet_serves_if_it_can_be_cut_down(limits: dict[str, float], found: bool) -> None:
    full = full_sheet()
    big = Sheet(id=SHEET, material="HB170", across_mm=900.0, around_mm=1200.0, price=86.4)
    case = lacking(full.with_room(sheets=(*full.room.sheets, big)).with_imager(**limits), MORE)
    assert ("unplaced-stock" in case.broken()) == found


@pytest.mark.parametrize(
    ("costs", "found"),
    [({"raw_parts_max": 3}, True), ({"raw_parts_max": 2}, False), ({"raw_min_strip_mm": 310.0}, True)],
)
def test_cutting_down_keeps_to_the_raw_rules(costs: dict[str, Any], found: bool) -> None:
    # Both sides must be cut down to 500: three parts. A strip of 310 makes the plate at least 310 wide: it still fits.
    full = full_sheet()
    big = Sheet(id=SHEET, material="HB170", across_mm=900.0, around_mm=1200.0, price=86.4)
    case = lacking(full.with_room(sheets=(*full.room.sheets, big)), MORE).with_costs(**costs)
    case = case.with_imager(max_across_mm=500.0, max_around_mm=500.0)
    assert case.broken() == ({"unplaced-stock"} if found else set())


def test_a_lot_already_begun_decides_which_sheets_serve() -> None:
    case = free_plates().with_row("Red", together=Together.LOT)
    more = row("3002", "More", 600.0, 800.0, together=Together.LOT)
    other = Sheet(id="other", material="HB170", across_mm=900.0, around_mm=1200.0, price=80.0, lot="L8")
    assert "unplaced-stock" in lacking(case, more).broken()
    assert "unplaced-stock" not in lacking(without_store(case), more).broken()
    only_other = without_store(case).with_room(sheets=(*without_store(case).room.sheets, other))
    assert "unplaced-stock" not in lacking(only_other, more).broken()
    assert "unplaced-stock" in lacking(only_other, replace(more, job="3009")).broken()


def test_a_piece_left_out_though_a_rest_takes_it_is_found() -> None:
    # The rest is 900 x 400; 690 x 370 fits no empty place of the plate, but the rest at lead y0: 710 x 392.
    wide = row("2421", "Wide", 680.0, 368.0, turn=Turn.FIXED, relief=0.5)
    assert lacking(without_store(cut_sheet()), wide).broken() == {"unplaced-rest"}
    assert lacking(without_store(cut_sheet()), replace(wide, image_around_mm=368.1)).broken() == {"unplaced-rest"}
    # 368.1 + 10 + 22 = 400.1 still fits with lead x0, which takes 12 off the other side; 371 fits no way.
    assert lacking(without_store(cut_sheet()), replace(wide, image_around_mm=370.1)).broken() == set()


def test_of_two_equal_pieces_the_earlier_due_is_made() -> None:
    # Solid, made, is due on 10 June.
    twin = row("4002", "Twin", 200.0, 290.0, due=datetime(2026, 6, 1))
    assert lacking(full_sheet(), twin).broken() == {"due-order"}
    assert lacking(full_sheet(), replace(twin, due=datetime(2026, 6, 1, tzinfo=UTC))).broken() == {"due-order"}
    for right in (
        replace(twin, due=datetime(2026, 6, 10)),
        replace(twin, due=None),
        replace(twin, relief=0.5),
        replace(twin, turn=Turn.CROSS),
        replace(twin, image_across_mm=200.1),
        replace(twin, need=Need.FILL),
        replace(twin, together=Together.LOT),
    ):
        assert lacking(full_sheet(), right).broken() == set()
    assert lacking(full_sheet().with_row("Solid", due=None), twin).broken() == {"due-order"}
    assert lacking(full_sheet().with_row("Solid", alone=True), twin).broken() == set()
