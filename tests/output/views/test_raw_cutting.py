from __future__ import annotations

from dataclasses import replace

from nest.domain.plan import CutStage
from nest.domain.room import Datum, Ruler
from nest.output.guide import View
from nest.output.views.facing import Side
from tests.output import sample_plans as samples
from tests.output.views.reading import INCH, running, words_of


def test_a_step_tells_the_stop_the_check_and_the_label_of_the_offcut() -> None:
    text = running(samples.small(), View.RAW, "S01")
    assert "1 Stop 380 mm from the BOTTOM edge of the part in hand; line runs across." in text
    assert "Measured from the side of plate S01-A: around 380 mm, check it." in text
    assert "Left: rest S01-R1, around about 220 mm: what the sheet is off stays here, in the rest." in text
    assert ("LABEL NOW: S01-R1 · HB170 · across 420 / around 220 mm · lot H-1102 · use by 2027-06-30") in text


def test_the_sheet_is_measured_first_and_each_way_says_what_takes_the_difference() -> None:
    text = running(samples.small(), View.RAW, "S01")
    assert "across nominal 420 mm, measured _______" in text
    assert "No rest can take what it is off: use no sheet that measures less than 420 mm." in text
    assert "around nominal 600 mm, measured _______ What it is off goes to a rest, never to a plate." in text
    assert "Up to 2 mm off is usual." in text
    assert text.index("Measure the sheet first") < text.index("Raw cuts, step by step: 1")


def test_a_datum_at_the_top_still_measures_the_plate() -> None:
    text = running(samples.small(), View.RAW, "S01", datum=Datum.TOP_RIGHT)
    assert "Stop 380 mm from the BOTTOM edge" in text
    assert "Figures run from the TOP RIGHT corner" in text


def test_inches_are_written_as_fractions_with_the_exact_figure_beside() -> None:
    text = running(samples.small(), View.RAW, "S01", room=INCH, fractions=16)
    # 380 mm = 14.961 in, 600 mm = 23.622 in
    assert "Stop 14 15/16 in (14.961) from the BOTTOM edge" in text
    assert "nominal 23 5/8 in (23.622)" in text


def test_from_the_base_side_left_and_right_are_those_one_sees() -> None:
    plan = samples.week()
    front, back = (words_of(plan, View.RAW, "S03", side=side) for side in (Side.PRINT, Side.BASE))
    assert "PRINT SIDE" in front
    assert "BASE SIDE" not in front
    assert "BASE SIDE" in back
    assert "PRINT SIDE" not in back
    assert front[front.index("S03-A") + 1] == "left edge on this drawing"
    assert back[back.index("S03-A") + 1] == "right edge on this drawing"
    # The plate S03-A (650 wide) is at the left from the print side; the other side has S03-B with rests.
    assert "Stop 650 mm from the LEFT edge" in " ".join(front)
    assert "Stop 417 mm from the LEFT edge" in " ".join(back)
    fixed = running(plan, View.RAW, "S03", side=Side.BASE, ruler=Ruler.PRINT_SIDE)
    assert "Stop 650 mm from the RIGHT edge" in fixed


def test_a_sheet_that_is_one_plate_is_not_cut() -> None:
    text = running(samples.week(), View.RAW, "S04")
    assert "The whole sheet is the plate: cut nothing off it." in text


def test_a_cut_that_crosses_no_part_is_told() -> None:
    plan = samples.small()
    sheet = plan.sheets[0]
    cuts = tuple(replace(cut, x2=200.0) if cut.stage is CutStage.RAW else cut for cut in sheet.cuts)
    text = running(replace(plan, sheets=(replace(sheet, cuts=cuts),)), View.RAW, "S01")
    assert "This cut crosses no part from edge to edge: ask the planner." in text


def test_cautions_stand_on_both_sides() -> None:
    for side in Side:
        text = running(samples.small(), View.RAW, "S01", side=side)
        for words in ("under yellow light", "guards in place", "Uncured polymer harms skin", "Local rules"):
            assert words in text
