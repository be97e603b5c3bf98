from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from nest.domain.calendar import Answer, OneByOne
from nest.errors import InputError
from nest.output.batches import calendar_csv, calendar_lines, calendar_view
from nest.output.calendar_file import calendar_from_json, calendar_to_json
from nest.output.plan_file import dump_plan, load_plan
from nest.output.what_if_text import rhythm_text, slip_text, what_if_csv, what_if_json
from tests.calendar.shop import calendar, dated_room, day
from tests.packing.shop import planned, row

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.plan import Plan

ROWS = (
    row("Cyan", 300, 300, due=day(1)),
    row("White", 300, 300, job="3102", ready=day(2, 8), due=day(2)),
)
ROOM = dated_room(calendar=calendar(plates=1, late_per_day=24.0, per_batch=7.0))
OWN = OneByOne(cost=61.0, lateness=16.0, sheets=2, plates=2, gross=0.36, opened=14.0)


@pytest.fixture(scope="module")
def plan() -> Plan:
    made = planned(ROWS, ROOM)
    assert made.calendar is not None
    return replace(made, calendar=replace(made.calendar, one_by_one=OWN))


def test_the_summary_tells_batches_lateness_and_what_planning_whole_saves(plan: Plan) -> None:
    assert calendar_lines(plan) == [
        "CALENDAR",
        "  batch             hours        plates  pieces",
        "  2027-03-01 early  06:00–14:00  1 of 1       1  S01-A",
        "  2027-03-03 early  06:00–14:00  1 of 1       1  S02-A",
        "  LATE: 1 piece, 16.00 EUR by the room's rate, not part of the cost; no",
        "  plan comes below 16.00",
        "    job 3102 White, 1 copy: ready to mount 2027-03-03 16:00, due 2027-03-02 24:00 (16 h late): "
        "artwork approved too late for any batch in time",
        "  Running the batches costs 14.00 EUR, not part of the cost.",
        "  Each batch planned on its own: 61.00 EUR, 14.00 for its batches, 16.00 for lateness, 2 sheets, "
        "gross yield 36.0 %.",
        "  Planning them together saves 11.00 EUR (12.1 %).",
    ]


def test_a_plan_without_a_calendar_says_nothing_of_batches(plan: Plan) -> None:
    assert calendar_lines(replace(plan, calendar=None)) == []
    assert calendar_view(replace(plan, calendar=None)) is None


def test_the_table_has_a_line_a_plate_in_order_of_batch(plan: Plan) -> None:
    lines = list(csv.DictReader(io.StringIO(calendar_csv(plan, ROOM, ROWS))))
    assert [(line["plate"], line["batch"], line["ready_to_mount"], line["first_due"], line["late_pieces"])
            for line in lines] == [
        ("S01-A", "2027-03-01 early", "2027-03-01 16:00", "2027-03-01", "0"),
        ("S02-A", "2027-03-03 early", "2027-03-03 16:00", "2027-03-02", "1"),
    ]  # fmt: skip


def test_the_plan_file_keeps_the_calendar(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(dump_plan(plan), encoding="utf-8")
    assert load_plan(path) == plan
    assert plan.calendar is not None
    assert calendar_from_json(json.loads(json.dumps(calendar_to_json(plan.calendar)))) == plan.calendar


def test_a_day_that_does_not_exist_is_one_clear_fault(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(dump_plan(plan).replace("2027-03-03T06:00:00", "2027-02-31T06:00:00"), encoding="utf-8")
    with pytest.raises(InputError, match=r"\$\.calendar: moments must be real dates and times"):
        load_plan(path)


def test_rhythms_are_told_side_by_side_with_the_choice_and_why() -> None:
    daily = Answer(name="every day", cost=80.0, lateness=0.0, least=0.0, late_pieces=0, unplaced=0, sheets=4, plates=5,
                   batches=5, gross=0.7, opened=50.0)  # fmt: skip
    weekly = replace(daily, name="once a week", cost=70.0, lateness=25.0, late_pieces=2, batches=1, opened=10.0)
    short = replace(daily, name="twice", unplaced=3)
    text = rhythm_text([daily, weekly, short], weekly, "EUR")
    assert text.splitlines()[-3:] == [
        "Choose once a week: 105.00, with running its batches and lateness.",
        "  Against every day: 10.00 less for material and work, 40.00 less for running batches, "
        "25.00 more for lateness, 4 batches fewer.",
        "  Against twice: it leaves 3 pieces unmade.",
    ]
    rows = list(csv.DictReader(io.StringIO(what_if_csv([daily, weekly], weekly))))
    assert [(one["case"], one["together"], one["chosen"]) for one in rows] == [
        ("every day", "130.00", "no"), ("once a week", "105.00", "yes")
    ]  # fmt: skip
    told = json.loads(what_if_json([daily, weekly], weekly, "EUR"))
    assert [one["chosen"] for one in told["cases"]] == [False, True]


def test_a_slip_tells_what_it_costs() -> None:
    before = Answer(name="as it is", cost=80.0, lateness=0.0, least=0.0, late_pieces=0, unplaced=0, sheets=4, plates=5,
                    batches=5, gross=0.7)  # fmt: skip
    after = replace(before, name="later", cost=82.5, lateness=12.0, late_pieces=1)
    told = slip_text(before, after, ["job 1 is late"], "EUR")
    assert "It costs 14.50 EUR more (cost +2.50, lateness +12.00)." in told
    assert "It costs nothing" in slip_text(before, before, [], "EUR")
