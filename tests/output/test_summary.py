from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from nest.domain.job import Need
from nest.domain.plan import StoppedBy, Unplaced
from nest.domain.room import Unit
from nest.output.summary import bound_words, summary_text
from nest.units import money
from tests.output import sample_plans as samples

GOLDEN = Path(__file__).parents[2] / "fixtures" / "golden" / "week-summary.txt"


def text_of_week() -> str:
    plan = samples.week()
    return summary_text(plan, samples.room(), samples.rows_of(plan), samples.shares_of(plan))


def test_the_summary_is_as_stored() -> None:
    if os.environ.get("NEST_REWRITE_GOLDEN"):
        GOLDEN.parent.mkdir(parents=True, exist_ok=True)
        GOLDEN.write_text(text_of_week(), encoding="utf-8")
    assert text_of_week() == GOLDEN.read_text(encoding="utf-8")


def test_what_is_unplaced_stands_first_and_fill_near_the_end() -> None:
    text = text_of_week()
    assert text.startswith("NOT PLACED: 3 pieces\n  job 2450 White, 1 copy: 211.3 mm too wide for the imager\n")
    places = [text.index(word) for word in ("NOT PLACED", "WARNINGS", "TAKE FROM THE STORE", "PUT BACK", "PLATES",
                                            "SETS SPLIT", "YIELD", "WHERE THE AREA", "WHERE THE MONEY", "JOBS",
                                            "FILL LEFT OVER", "STOPPED")]  # fmt: skip
    assert places == sorted(places)


def test_no_line_is_wider_than_100_columns_even_with_hostile_names() -> None:
    plan = samples.hostile()
    for text in (text_of_week(), summary_text(plan, samples.room(), samples.rows_of(plan), samples.shares_of(plan))):
        assert max(map(len, text.splitlines())) <= 100
        assert "\x07" not in text
        assert "\u202e" not in text


def test_the_pick_list_counts_sheets_by_size_and_lot_and_names_offcuts() -> None:
    text = text_of_week()
    assert "2 × sheet HB170 900x1200: HB170, across 900 / around 1200 mm; for S01, S02" in text
    assert "1 × sheet HB170 900x1200: HB170, across 900 / around 1200 mm, lot H-1102; for S05" in text
    assert "offcut F-0031: HB170, across 410 / around 880 mm; for S04" in text


def test_sets_over_several_plates_are_named_and_free_pieces_are_not() -> None:
    plan = samples.week()
    assert "job 2417, HB170: 4 on S01-A, 4 on S02-A" in text_of_week()
    one = replace(plan, sheets=plan.sheets[:1])
    assert "SETS SPLIT" not in summary_text(one, samples.room(), samples.rows_of(one), [])


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (40.37, "at most 41 EUR above the best possible"),
        (10.0, "at most 10 EUR above the best possible"),
        (3.5, "at most 3.50 EUR above the best possible"),
        (0.01, "at most 0.01 EUR above the best possible"),
        (0.0, "proven the best possible"),
    ],
)
def test_the_bound_is_put_into_words(gap: float, words: str) -> None:
    plan = samples.small()
    plan = replace(plan, totals=replace(plan.totals, bound=money(plan.totals.cost - gap)))
    assert bound_words(plan) == words


def test_shares_of_the_area_add_up_to_the_whole() -> None:
    block = text_of_week().split("WHERE THE AREA GOES\n")[1].split("\n\n")[0].splitlines()
    shares = [float(line.split()[3]) for line in block[:-1]]
    assert sum(shares) == pytest.approx(100.0, abs=0.31)


def test_sizes_are_in_inches_in_an_inch_room() -> None:
    plan = samples.small()
    plan = replace(plan, sheets=(replace(plan.sheets[0], across_mm=1066.8, around_mm=1524.0),))
    assert "across 42 / around 60 in" in summary_text(plan, samples.room(Unit.INCH), [], [])


@pytest.mark.parametrize("stop", list(StoppedBy))
def test_the_summary_ends_with_how_the_search_stopped(stop: StoppedBy) -> None:
    text = summary_text(replace(samples.small(), stopped_by=stop), samples.room(), [], [])
    last = text.splitlines()[-1]
    assert last.startswith("STOPPED ")
    assert ("may give another plan" in last) == (stop in (StoppedBy.TIME_LIMIT, StoppedBy.INTERRUPT))


def test_a_plan_of_nothing_is_summed_up_too() -> None:
    text = summary_text(samples.plan_of([]), samples.room(), [], [])
    assert "PLATES: 0, with 0 pieces, 0 raw cuts" in text
    assert "NOT PLACED" not in text


def test_a_long_list_is_cut_with_its_count() -> None:
    plan = replace(samples.small(), warnings=tuple(f"warning {n}" for n in range(50)))
    text = summary_text(plan, samples.room(), [], [])
    assert "warning 39" in text
    assert "warning 40" not in text
    assert "and 10 more, all of them in plan.json" in text


def test_rows_left_over_for_one_reason_are_told_together() -> None:
    reason = "stock used up: needs 2 more sheets of HB170 900x1200"
    rows = [
        Unplaced(job=job, separation=name, part="", copies=copies, need=Need.MUST, reason=reason)
        for job, name, copies in (("7", "Cyan", 1), ("7", "Black", 2), ("8", "Cyan", 1))
    ]
    text = summary_text(replace(samples.small(), unplaced=tuple(rows)), samples.room(), [], [])
    assert text.startswith(f"NOT PLACED: 4 pieces\n  {reason}; 4 pieces: job 7 Cyan, 2 × Black; job 8 Cyan\n")
