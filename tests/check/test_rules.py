"""Rows whose copies or company are not as ordered."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from nest.domain.job import Need, Row, Together
from nest.domain.plan import Unplaced
from tests.check.plans import Case, cut_sheet, free_plates, full_sheet, left_out, row

# Too long for every sheet, so that leaving it out is right.
LONG = row("2419", "Long", 1300.0, 100.0)


def with_long(row_: Row = LONG, **more: Any) -> Case:
    """Return cut_sheet() with a row that no plate takes, left out."""
    case = cut_sheet()
    case = replace(case, rows=(*case.rows, row_))
    return case.with_unplaced(left_out(row_, row_.copies, reason="110.0 mm too long for the largest sheet", **more))


def test_a_row_that_fits_nowhere_may_be_left_out() -> None:
    assert with_long().broken() == set()
    assert with_long(replace(LONG, need=Need.FILL)).broken() == set()


def test_a_row_that_is_neither_placed_nor_left_out_is_found() -> None:
    case = with_long()
    assert case.with_plan(unplaced=()).broken() == {"copies"}
    assert cut_sheet().with_row("Cyan", copies=3).broken() == {"copies"}


def test_too_many_left_out_are_found() -> None:
    case = cut_sheet()
    case = replace(case, rows=(*case.rows, LONG)).with_unplaced(left_out(LONG, 2))
    assert case.broken() == {"copies"}


def test_a_copy_placed_twice_is_found() -> None:
    assert cut_sheet().with_piece(1, copy=1).broken() == {"copy-twice"}


def test_a_copy_outside_the_order_is_found() -> None:
    assert cut_sheet().with_piece(1, copy=3).broken() == {"copy-number"}
    assert cut_sheet().with_piece(1, copy=0).broken() == {"copy-number"}


def test_one_copy_too_many_is_found() -> None:
    assert cut_sheet().with_row("Cyan", copies=1).broken() == {"copies", "copy-number"}


def test_an_unplaced_row_needs_a_reason_and_its_own_need() -> None:
    assert with_long().broken() == set()
    case = with_long()
    bare = replace(case.plan.unplaced[0], reason=" ")
    assert case.with_plan(unplaced=(bare,)).broken() == {"unplaced-reason"}
    assert with_long(need=Need.FILL).broken() == {"unplaced-need"}


def test_a_row_listed_twice_or_unknown_in_unplaced_is_found() -> None:
    two = replace(LONG, copies=2)
    case = with_long(two)
    once = replace(case.plan.unplaced[0], copies=1)
    assert case.with_plan(unplaced=(once, once)).broken() == {"unplaced"}
    stranger = Unplaced(job="0", separation="X", part="", copies=1, need=Need.MUST, reason="too wide")
    assert cut_sheet().with_unplaced(stranger).broken() == {"unplaced"}


def test_no_copies_left_out_is_no_entry() -> None:
    key = cut_sheet().rows[2]
    assert cut_sheet().with_unplaced(left_out(key, 0)).broken() == {"unplaced"}


def test_two_copies_on_one_plate_that_must_be_apart_are_found() -> None:
    assert cut_sheet().with_row("Cyan", apart=True).broken() == {"apart"}
    assert cut_sheet().with_row("Magenta", apart=True).broken() == set()


def test_a_job_that_must_be_alone_and_has_company_is_found() -> None:
    assert cut_sheet().with_row("Key", alone=True).broken() == {"alone"}
    assert free_plates().with_row("Red", alone=True).broken() == set()


def test_a_row_of_the_same_job_is_no_company() -> None:
    case = cut_sheet().with_row("Key", job="2417").with_row("Varnish", job="2417").with_row("Cyan", alone=True)
    pieces = tuple(replace(p, job="2417") for p in case.plan.sheets[0].plates[0].pieces)
    assert case.with_plate(pieces=pieces).broken() == set()


@pytest.mark.parametrize(("rule", "slug"), [(Together.PLATE, "together-plate"), (Together.COPIES, "together-copies")])
def test_pieces_held_together_on_two_plates_are_found(rule: Together, slug: str) -> None:
    # One Red goes to the offcut instead of White: two plates hold Red.
    case = free_plates().with_row("Red", together=rule)
    assert case.broken() == set()
    sheet = case.plan.sheets[1]
    ring = sheet.plates[0].pieces
    one = case.plan.sheets[0].plates[0]
    moved = replace(
        ring[0], rect=replace(ring[0].rect, x=12.0, y=400.0), image=replace(ring[0].image, x=18.0, y=409.0)
    )
    case = case.with_plate(0, pieces=(*one.pieces, moved)).with_plate(1, pieces=ring[1:])
    assert slug in case.broken()


@pytest.mark.parametrize(("rule", "slug"), [(Together.PLATE, "together-plate"), (Together.COPIES, "together-copies")])
def test_pieces_held_together_and_placed_in_part_are_found(rule: Together, slug: str) -> None:
    case = cut_sheet().with_row("Cyan", copies=3, together=rule)
    cyan = case.rows[0]
    assert case.with_unplaced(left_out(cyan)).broken() == {slug}


def test_rows_of_a_job_on_one_plate_are_placed_whole() -> None:
    other = row("2417", "Yellow", 1300.0, 100.0, together=Together.PLATE)
    case = cut_sheet().with_row("Cyan", together=Together.PLATE)
    case = replace(case, rows=(*case.rows, other)).with_unplaced(left_out(other))
    assert case.broken() == {"together-plate"}
    # Another job's rows have nothing to do with it, nor have rows that do not carry the rule.
    for lone in (replace(other, job="2500"), replace(other, together=None)):
        case = cut_sheet().with_row("Cyan", together=Together.PLATE)
        case = replace(case, rows=(*case.rows, lone)).with_unplaced(left_out(lone))
        assert case.broken() == set()


def test_a_set_left_out_whole_is_no_fault() -> None:
    two = tuple(row("5001", name, 200.0, 290.0, together=Together.PLATE) for name in ("A", "B"))
    case = full_sheet()
    case = replace(case, rows=(*case.rows, *two)).with_unplaced(*(left_out(one) for one in two))
    assert case.broken() == set()
