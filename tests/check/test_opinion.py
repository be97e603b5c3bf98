"""The opinion as a whole: order, odd numbers, size."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from nest.check.opinion import check_plan
from nest.domain.plan import Areas, CostParts, Edge, KeepOut, PlannedPlate, PlannedSheet, Totals, Yields
from nest.domain.room import Sheet
from tests.check.plans import Case, cut, cut_sheet, free_plates, full_sheet, piece, plate_room, rect, row


def test_the_order_of_rows_and_stock_changes_nothing() -> None:
    case = cut_sheet().with_row("Key", alone=True, copies=2).with_row("Cyan", apart=True).with_totals(cost=1.0)
    found = check_plan(case.plan, case.rows, case.room)
    assert len(found) > 3
    assert found == check_plan(case.plan, case.rows[::-1], case.room)
    assert list(found) == sorted(found)
    assert len(set(found)) == len(found)


def test_a_violation_says_where_what_was_expected_and_what_was_got() -> None:
    case = cut_sheet().with_plate(process=10.09)
    (found,) = check_plan(case.plan, case.rows, case.room)
    assert str(found) == "S01-A: process: process cost 10.08 expected, got 10.09"


@pytest.mark.parametrize("odd", [float("nan"), float("inf"), float("-inf")])
def test_a_number_that_is_not_finite_is_found_everywhere(odd: float) -> None:
    changes: tuple[Case, ...] = (
        cut_sheet().with_totals(cost=odd),
        cut_sheet().with_piece(0, rect=rect(odd, 12.0, 210.0, 300.0)),
        cut_sheet().with_plate(process=odd),
        cut_sheet().with_cut(2, x1=odd),
        cut_sheet().with_sheet(cost=odd),
    )
    for case in changes:
        assert case.broken() == {"number"}


def test_rows_that_cannot_be_pieces_are_faults_of_the_input() -> None:
    case = full_sheet()
    assert case.with_row("Solid", material="none").broken() >= {"input", "unknown-piece"}
    assert case.with_row("Solid", repeat_mm=5.0, at_plate_size=False).broken() >= {"input"}
    assert replace(case, rows=(*case.rows, *case.rows)).broken() == {"input"}


def test_inch_sheets_hold_exactly_what_fits() -> None:
    # 8 pieces of 3 1/16 in fill 24 1/2 in: 8 * 77.7875 = 622.3 mm, nothing held, no border.
    side = 3.0625 * 25.4
    strip = row("1", "Bar", side, side, copies=8, border_mm=0.0)
    pieces = tuple(
        piece(strip, k + 1, rect(round(k * side, 4), 0.0, side, side), rect(round(k * side, 4), 0.0, side, side))
        for k in range(8)
    )
    case = _whole_sheet(strip, pieces, 8 * side, side, pitch=(8, 1))
    assert case.broken() == set()


def _whole_sheet(of: Any, pieces: Any, w: float, h: float, pitch: tuple[int, int]) -> Case:
    """Return a plan of one whole sheet that pieces fill in a grid without anything held, kept or charged."""
    room = plate_room(stations=(), sheets=(Sheet(id="s", material="HB170", across_mm=w, around_mm=h, price=100.0),))
    imager = replace(
        room.imager, max_across_mm=w, max_around_mm=max(h, w), min_across_mm=0.0, min_around_mm=0.0, clamp_mm=0.0,
        drum_tape_mm=0.0, trim_mm=0.0,
    )
    costs = replace(room.costs, plate=0.0, process_per_m2=0.0)
    columns, rows = pitch
    dx, dy = w / columns, h / rows
    lines = [(0.0, k * dy, w, k * dy) for k in range(1, rows)]
    lines += [(k * dx, j * dy, k * dx, (j + 1) * dy) for j in range(rows) for k in range(1, columns)]
    plate = PlannedPlate(
        id="S01-A", rect=rect(0.0, 0.0, w, h), lead=Edge.Y0, keep_out=KeepOut(x0=0.0, x1=0.0, y0=0.0, y1=0.0),
        process=0.0, pieces=pieces,
    )
    base = full_sheet()
    sheet: PlannedSheet = replace(
        base.plan.sheets[0], source=replace(base.plan.sheets[0].source, ref="s"), across_mm=w, around_mm=h, cost=100.0,
        plates=(plate,), cuts=tuple(cut(n, "S01-A", *line) for n, line in enumerate(lines, 1)),
    )
    area, image = w * h / 1e6, sum(p.image.w * p.image.h for p in pieces) / 1e6
    totals = Totals(
        cost=100.0, bound=100.0, bound_gap=0.0, sheets=1, plates=1, raw_cuts=0, pieces=len(pieces),
        cost_parts=CostParts(sheets=100.0, credit=0.0, plates=0.0, process=0.0, cuts=0.0),
        area=Areas(drawn=area, image=image, border=area - image, keep_out=0.0, unused=0.0, kept=0.0, scrap=0.0),
        yields=Yields(gross=1.0, image=image / area, credited=1.0),
    )
    plan = replace(base.plan, sheets=(sheet,), totals=totals)
    return Case(plan=plan, rows=(of,), room=replace(room, imager=imager, costs=costs))


def test_a_plate_of_5000_pieces_is_checked() -> None:
    # 100 x 50 pieces of 30 x 40 mm, border 5: a sheet of 3000 x 2000 mm without a millimetre to spare.
    many = row("1", "Dot", 20.0, 30.0, copies=5000)
    pieces = tuple(
        piece(many, 50 * k + j + 1, rect(30.0 * k, 40.0 * j, 30.0, 40.0), rect(30.0 * k + 5, 40.0 * j + 5, 20.0, 30.0))
        for k in range(100)
        for j in range(50)
    )
    case = _whole_sheet(many, pieces, 3000.0, 2000.0, pitch=(100, 50))
    assert case.broken() == set()
    last = replace(pieces[-1], rect=rect(2969.99, 1960.0, 30.0, 40.0))
    assert case.with_plate(pieces=(*pieces[:-1], last)).broken() == {"gap", "guillotine", "finish-parts", "image-box"}


def test_plans_on_free_plates_hold_in_any_order_of_sheets() -> None:
    case = free_plates()
    assert case.with_plan(sheets=case.plan.sheets[::-1]).broken() == set()
