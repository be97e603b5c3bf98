from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.output.comparison.moves import moves, sheet_pairs
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.domain.plan import Plan, PlannedSheet


def renamed(sheet: PlannedSheet, name: str) -> PlannedSheet:
    plates = tuple(replace(plate, id=plate.id.replace(sheet.id, name)) for plate in sheet.plates)
    return replace(sheet, id=name, plates=plates)


def without(plan: Plan, sheet: int, piece: int) -> Plan:
    """The plan without one piece of the first plate of a sheet."""
    one = plan.sheets[sheet]
    plate = one.plates[0]
    pieces = tuple(p for at, p in enumerate(plate.pieces) if at != piece)
    changed = replace(one, plates=(replace(plate, pieces=pieces), *one.plates[1:]))
    return replace(plan, sheets=(*plan.sheets[:sheet], changed, *plan.sheets[sheet + 1 :]))


def test_a_plan_compared_with_itself_moves_nothing() -> None:
    plan = samples.week()
    told = moves(plan, plan)
    assert (told.stayed, told.moved, told.new, told.gone) == (plan.totals.pieces, (), (), ())
    assert told.pairs == {sheet.id: sheet.id for sheet in plan.sheets}


def test_sheets_with_other_ids_are_known_by_what_lies_on_them() -> None:
    plan = samples.week()
    names = {"S01": "S05", "S02": "S04", "S03": "S01", "S04": "S03", "S05": "S02"}
    other = replace(plan, sheets=tuple(renamed(sheet, names[sheet.id]) for sheet in plan.sheets))
    assert moves(plan, other).moved_count == 0
    pairs = sheet_pairs(plan, other)
    assert {name: pairs[name] for name in ("S03", "S04", "S05")} == {"S03": "S01", "S04": "S03", "S05": "S02"}
    # the twins are alike: either may answer either
    assert {pairs["S01"], pairs["S02"]} == {"S04", "S05"}


def test_a_piece_on_another_sheet_is_told_from_where_to_where() -> None:
    plan = samples.week()
    less = without(plan, 2, 0)
    piece = plan.sheets[2].plates[0].pieces[0]
    last = less.sheets[3]
    plate = last.plates[0]
    sheets = [*less.sheets]
    sheets[3] = renamed(replace(last, plates=(replace(plate, pieces=(*plate.pieces, piece)),)), "S09")
    told = moves(plan, replace(less, sheets=tuple(sheets)))
    (moved,) = told.moved
    assert (moved.row, moved.count, moved.left, moved.now) == (piece.row, 1, ("S03",), ("S09",))
    assert told.stayed == plan.totals.pieces - 1


def test_pieces_that_only_one_plan_makes_are_new_or_gone() -> None:
    plan = samples.week()
    row = plan.sheets[2].plates[0].pieces[0].row
    assert moves(plan, without(plan, 2, 0)).gone == ((row, 1),)
    assert moves(without(plan, 2, 0), plan).new == ((row, 1),)


def test_plans_that_share_no_row_share_no_sheet_even_where_ids_agree() -> None:
    one, other = samples.small(), samples.extreme()
    told = moves(one, other)
    assert (told.stayed, told.moved, told.pairs) == (0, (), {})
    assert sum(count for _, count in told.gone) == one.totals.pieces
    assert sum(count for _, count in told.new) == other.totals.pieces


def test_the_same_offcut_drawn_for_other_pieces_answers_itself() -> None:
    plan = samples.week()
    offcut = plan.sheets[3]
    plate = offcut.plates[0]
    changed = tuple(replace(piece, job="2999") for piece in plate.pieces)
    other = replace(plan, sheets=(*plan.sheets[:3], replace(offcut, plates=(replace(plate, pieces=changed),)),
                                  plan.sheets[4]))  # fmt: skip
    assert sheet_pairs(plan, other)["S04"] == "S04"
