from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.output.comparison import text as text_module
from nest.output.comparison.facts import Line, compared
from nest.output.comparison.text import comparison_html, comparison_text
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    import pytest


def lines(title: str, first: str = "a", second: str = "b") -> dict[str, Line]:
    told = compared(samples.week(), samples.small(), (first, second))
    return {line.name: line for line in told.titled[title]}


def test_costs_are_told_part_by_part_and_as_a_whole() -> None:
    one, other = samples.week().totals, samples.small().totals
    costs = lines("Cost, EUR")
    assert costs["credit"].first == f"{-one.cost_parts.credit:.2f}"
    assert costs["cost"].difference == f"{other.cost - one.cost:+.2f}"
    assert list(costs) == ["sheets", "credit", "plates", "process", "cuts", "cost", "bound"]


def test_sheets_are_counted_by_size_and_offcuts_by_name() -> None:
    sheets = lines("Sheets drawn")
    assert {name: (line.first, line.second, line.difference) for name, line in sheets.items()} == {
        "sheet HB170, across 900 / around 1200 mm": ("3", "0", "-3"),
        "sheet HB170, across 420 / around 600 mm": ("0", "1", "+1"),
        "sheet KR284, across 1067 / around 1524 mm": ("1", "0", "-1"),
        "offcut F-0031, HB170, across 410 / around 880 mm": ("1", "0", "-1"),
    }


def test_yields_differ_by_points_and_counts_by_pieces() -> None:
    week, small = samples.week().totals.yields, samples.small().totals.yields
    assert lines("Yield")["gross"].difference == f"{100 * (small.gross - week.gross):+.1f} points"
    counts = lines("Counts")
    assert (counts["not placed"].first, counts["not placed"].second) == ("3", "0")
    assert counts["warnings"].difference == "-1"


def test_money_in_two_currencies_is_shown_but_not_subtracted() -> None:
    told = compared(samples.week(), replace(samples.week(), currency="CHF"), ("a", "b"))
    cost = {line.name: line for line in told.titled["Cost"]}["cost"]
    assert cost.first.endswith(" EUR")
    assert cost.second.endswith(" CHF")
    assert cost.difference == "–"


def test_the_text_names_both_plans_and_leaves_out_lists_that_do_not_differ() -> None:
    told = compared(samples.week(), samples.week(), ("one", "two"))
    text = comparison_text(told)
    assert text.startswith("A  one (plan ")
    assert "\nB  two (plan " in text
    assert "\nSHEETS DRAWN: no difference\n" in text
    assert text.endswith("PIECES: 73 on the same sheet, 0 on another, 0 new, 0 gone\n")


def test_long_lists_are_cut_short_in_the_text_and_whole_on_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(text_module, "_MOST", 3)
    told = compared(samples.small(), samples.extreme(), ("a", "b"))
    text, page = comparison_text(told), comparison_html(told)
    assert text.endswith(f"\n  and {len(told.moves.new) + len(told.moves.gone) - 3} more\n")
    rows = {row for row, _ in told.moves.new}
    assert all(f"job {job}" in page for job, *_ in rows)


def test_hostile_names_are_text_on_the_page_and_one_line_in_the_text() -> None:
    told = compared(samples.small(), samples.hostile(), ("<script>alert(1)</script>", "b\n\x07"))
    page, text = comparison_html(told), comparison_text(told)
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "\x07" not in text
    assert "\u202e" not in text + page
