from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import replace

import pytest

from nest.domain.plan import JobShare
from nest.domain.room import Unit
from nest.output.tables import jobs_csv, yield_csv
from tests.output import sample_plans as samples


def lines(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_each_sheet_has_a_line_and_the_total_is_their_sum() -> None:
    plan = samples.week()
    *sheets, total = lines(yield_csv(plan))
    assert [line["sheet"] for line in sheets] == ["S01", "S02", "S03", "S04", "S05"]
    assert total["sheet"] == "total"
    for column in ("drawn_m2", "image_m2", "border_m2", "keep_out_m2", "unused_m2", "kept_m2", "scrap_m2"):
        assert sum(float(line[column]) for line in sheets) == pytest.approx(float(total[column]), abs=3e-6)
    for column in ("price", "credit", "plate_cost", "process_cost", "cut_cost", "net_cost"):
        assert sum(float(line[column]) for line in sheets) == pytest.approx(float(total[column]), abs=1e-9)
    assert float(total["net_cost"]) == plan.totals.cost
    assert sum(int(line["pieces"]) for line in sheets) == int(total["pieces"]) == plan.totals.pieces


def test_a_line_says_the_size_with_both_words_and_its_yields() -> None:
    # 900 x 800 of the 900 x 1200 sheet is plate; pieces 4 x 210 x 304.9052 + 320 x 350 + 320 x 280 + 160 x 180 mm2.
    line = lines(yield_csv(samples.week()))[0]
    pieces = (4 * 210 * 304.9052 + 320 * 350 + 320 * 280 + 160 * 180) / 1e6
    assert line["size"] == "across 900 / around 1200 mm"
    assert float(line["yield_gross"]) == pytest.approx(pieces / 1.08, abs=5e-5)
    assert float(line["yield_credited"]) == pytest.approx(pieces / (1.08 - 0.36), abs=5e-5)
    assert float(line["net_cost"]) == pytest.approx(86.40 - 15.28 + 12.0 + 10.08 + 1.5)


def test_sizes_are_in_inches_in_an_inch_room() -> None:
    plan = samples.small()
    inch = replace(plan, sheets=(replace(plan.sheets[0], across_mm=1066.8, around_mm=1524.0),))
    assert lines(yield_csv(inch, Unit.INCH))[0]["size"] == "across 42 / around 60 in"


def test_plate_costs_that_do_not_divide_into_cents_still_sum_to_the_total() -> None:
    plan = samples.week()
    parts = replace(plan.totals.cost_parts, plates=10.01)
    plan = replace(plan, totals=replace(plan.totals, cost_parts=parts))
    *sheets, _ = lines(yield_csv(plan))
    assert round(sum(float(line["plate_cost"]) for line in sheets), 2) == 10.01


def test_job_shares_and_the_rooms_excess_sum_to_the_cost() -> None:
    plan = samples.week()
    *jobs, room = lines(jobs_csv(samples.shares_of(plan), plan))
    assert room["job"] == "room"
    assert round(sum(float(line["share"]) for line in jobs) + float(room["share"]), 2) == plan.totals.cost
    first = jobs[0]
    assert float(first["saving"]) == pytest.approx(float(first["alone"]) - float(first["share"]))
    alone = next(line for line in jobs if line["job"] == "2440")
    assert (alone["alone"], alone["saving"]) == ("", "")


@pytest.mark.parametrize("name", ["=1+1", "+49", "-3", "@SUM(A1)", "\tx", "\rx", "＝1"])
def test_text_cells_never_start_a_formula(name: str) -> None:
    shown = "'" + name.replace("\r", " ")
    share = JobShare(job=name, pieces=1, piece_m2=0.1, share=1.0, alone=0.5)
    cells = next(csv.reader(io.StringIO(jobs_csv([share], samples.small()).partition("\n")[2], newline="")))
    assert cells[0] == shown
    # Figures stay figures, negative ones too.
    assert cells[5] == "-0.50"
    plan = samples.small()
    sheet = replace(plan.sheets[0], id=name, material=name, lot=name)
    row = next(csv.reader(io.StringIO(yield_csv(replace(plan, sheets=(sheet,))).partition("\n")[2], newline="")))
    assert (row[0], row[1], row[3]) == (shown, shown, shown)


def test_a_plan_of_nothing_has_a_total_line_only() -> None:
    plan = samples.plan_of([])
    assert len(lines(yield_csv(plan))) == 1
    assert Counter(line["job"] for line in lines(jobs_csv([], plan))) == {"room": 1}


def test_each_job_carries_the_warnings_of_its_rows() -> None:
    plan = samples.week()
    told = {line["job"]: line["warnings"] for line in lines(jobs_csv(samples.shares_of(plan), plan))}
    assert told["2433"].startswith("Cyan: around 300.0 mm is 4.2 mm longer than its cylinder takes")
    assert {words for job, words in told.items() if job != "2433"} == {""}
