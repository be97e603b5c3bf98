from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.plan import OtherSize, SourceKind
from nest.domain.room import Unit
from nest.output.patterns import patterns
from nest.output.report.inputs import ReportInputs
from nest.output.report.layouts import Layout, layouts, why_words
from tests.output import sample_plans as samples
from tests.output.report import made


def told(unit: Unit = Unit.MM) -> tuple[Layout, ...]:
    plan = samples.week()
    rows = samples.rows_of(plan)
    rows = [replace(row, repeat_mm=304.8) if row.job == "2417" else row for row in rows]
    inputs = ReportInputs(
        plan=plan, room=replace(made.room(), unit=unit), rows=tuple(rows), shares=(), drawn=patterns(plan),
        others=made.others(plan),
    )  # fmt: skip
    jobs = {piece.job: f"job-{piece.job}" for sheet in plan.sheets for plate in sheet.plates for piece in plate.pieces}
    return layouts(inputs, jobs)


def size(cost: float, sheets: int = 1, kind: SourceKind = SourceKind.SHEET) -> OtherSize:
    return OtherSize(kind=kind, ref="B", across_mm=1.0, around_mm=1.0, sheets=sheets, cost=cost)


@pytest.mark.parametrize(
    ("others", "words"),
    [
        (None, ""),
        ((), "No other size in the store takes these pieces."),
        ((size(60.0), size(70.0)), "The next best size, sheet B, would cost 60.00 EUR: 10.00 more."),
        ((size(90.5, sheets=3),), "The next best size, 3 × B, would cost 90.50 EUR: 40.50 more."),
        ((size(50.0, kind=SourceKind.OFFCUT),), "offcut B would cost the same."),
        ((size(45.0),), "For these pieces alone sheet B would cost 45.00 EUR, 5.00 less; a longer search may use it."),
    ],
)
def test_why_a_sheet_is_told_by_what_the_next_best_size_would_cost(
    others: tuple[OtherSize, ...] | None, words: str
) -> None:
    assert why_words(50.0, "EUR", others) == words


def test_equal_sheets_are_one_layout_with_their_count() -> None:
    first, *_ = told()
    assert (first.times, first.ids, first.sheet) == (2, ("S01", "S02"), "S01")
    # 86.40 - 15.28 + 12 + 10.08 process + one raw cut of 1.50
    assert first.cost == pytest.approx(86.4 - 15.28 + 12 + samples.week().sheets[0].plates[0].process + 1.5)
    assert first.why.startswith("The next best size, 2 × HB170 1000x1200, would cost 250.00 EUR")


def test_cuts_are_told_by_stage_with_their_stops() -> None:
    first, *_ = told()
    assert [(cut.order, cut.runs, cut.edge, cut.stop) for cut in first.raw] == [(1, "across", "bottom", "800")]
    assert len(first.raw) + len(first.finish) == len(samples.week().sheets[0].cuts)
    assert {cut.part for cut in first.finish} == {"S01-A"}


def test_a_room_in_inches_gets_its_stops_in_both_units() -> None:
    first, *_ = told(Unit.INCH)
    assert (first.raw[0].stop, first.raw[0].stop_in, first.raw[0].in_hand_in) == ("800", "31.496", "47.244")


def test_pieces_carry_what_their_label_says_and_where_the_image_starts_on_the_loaded_plate() -> None:
    layout = told()[0]
    plate = samples.week().sheets[0].plates[0]
    piece = next(one for one in layout.pieces if one.separation == "Cyan")
    placed = next(one for one in plate.pieces if one.separation == "Cyan")
    assert (piece.job, piece.customer, piece.copy, piece.repeat) == ("2417", "Customer 12", "1, 2", "304.8")
    assert piece.size == "210 × 304.91"
    # led by y0 the plate is loaded as drawn
    assert float(piece.start_across) == pytest.approx(placed.image.x - plate.rect.x)
    assert float(piece.start_around) == pytest.approx(placed.image.y - plate.rect.y)


def test_the_arrow_says_where_the_tail_is_in_the_drawing() -> None:
    mixed = told()[1]
    arrows = {(piece.job, piece.separation): (piece.arrow, piece.arrow_word) for piece in mixed.pieces}
    # turns go anticlockwise: at 90 the tail points left
    assert arrows["2420", "Cyan"] == ("←", "left")
    assert arrows["2420", "Magenta"] == ("→", "right")
    assert arrows["2422", "Black"] == ("↓", "down")


def test_columns_that_say_nothing_are_left_out() -> None:
    first, mixed, *_ = told()
    assert first.told == {"plate": False, "customer": True, "part": True, "repeat": True}
    assert mixed.told == {"plate": True, "customer": False, "part": True, "repeat": False}


def test_warnings_of_a_sheets_pieces_stand_on_it() -> None:
    assert [bool(one.warnings) for one in told()] == [False, False, False, True]
