from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.revise.changes import changes
from tests.packing.shop import planned
from tests.revise.test_revision import SHOP, square

if TYPE_CHECKING:
    from collections.abc import Mapping

    from nest.domain.plan import PlacedPiece, Plan

PLAN = planned([square("a", 6), square("b", 2, job="3102")], SHOP)


def with_pieces(plan: Plan, change: Mapping[PlacedPiece, PlacedPiece | None]) -> Plan:
    """Return a plan with pieces replaced, or taken out."""
    sheets = []
    for sheet in plan.sheets:
        plates = []
        for plate in sheet.plates:
            pieces = (change.get(piece, piece) for piece in plate.pieces)
            plates.append(replace(plate, pieces=tuple(piece for piece in pieces if piece is not None)))
        sheets.append(replace(sheet, plates=tuple(plates)))
    return replace(plan, sheets=tuple(sheets))


FIRST, SECOND = (PLAN.sheets[0].plates[0].pieces[n] for n in (0, 1))


def test_a_plan_and_itself_differ_in_nothing() -> None:
    found = changes(PLAN, PLAN)
    assert (found.unchanged, found.added, found.moved, found.dropped) == (8, (), (), ())
    assert found.same_sheets == tuple(sheet.id for sheet in PLAN.sheets)
    assert (found.changed_sheets, found.new_sheets, found.gone_sheets, found.drawn) == ((), (), (), ())


def test_a_piece_elsewhere_has_moved() -> None:
    there = replace(FIRST, rect=replace(FIRST.rect, x=FIRST.rect.x + 1))
    (moved,) = changes(PLAN, with_pieces(PLAN, {FIRST: there})).moved
    assert (moved.key, moved.copy) == (FIRST.row, FIRST.copy)
    assert moved.before is not None
    assert moved.after is not None
    assert moved.after.rect.x - moved.before.rect.x == 1
    half = with_pieces(PLAN, {FIRST: replace(FIRST, turn=180)})
    assert len(changes(PLAN, half).moved) == 1


def test_equal_pieces_that_change_numbers_have_not_moved() -> None:
    assert FIRST.row == SECOND.row
    swapped = {FIRST: replace(FIRST, copy=SECOND.copy), SECOND: replace(SECOND, copy=FIRST.copy)}
    assert changes(PLAN, with_pieces(PLAN, swapped)).unchanged == 8


def test_a_piece_of_another_size_is_dropped_and_added() -> None:
    other = replace(FIRST, rect=replace(FIRST.rect, w=FIRST.rect.w - 1))
    found = changes(PLAN, with_pieces(PLAN, {FIRST: other}))
    assert (len(found.added), len(found.dropped), found.moved, found.unchanged) == (1, 1, (), 7)
    turned = replace(FIRST.rect, w=FIRST.rect.h, h=FIRST.rect.w)
    assert changes(PLAN, with_pieces(PLAN, {FIRST: replace(FIRST, rect=turned, turn=90)})).dropped == ()


def test_what_comes_and_goes_is_told_with_its_sheets() -> None:
    less = replace(with_pieces(PLAN, {FIRST: None}), sheets=PLAN.sheets[1:])
    gone = len(PLAN.sheets[0].plates[0].pieces)
    fewer, more = changes(PLAN, less), changes(less, PLAN)
    assert (len(fewer.dropped), fewer.added, fewer.gone_sheets) == (gone, (), ("S01",))
    assert (len(more.added), more.dropped, more.new_sheets) == (gone, (), ("S01",))
    assert [one.more for one in (*fewer.drawn, *more.drawn)] == [-1, 1]
