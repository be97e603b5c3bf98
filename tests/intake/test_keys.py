from __future__ import annotations

from datetime import date, datetime
from fractions import Fraction

import pytest

from nest.domain.job import Turn
from nest.intake.faults import FaultList
from nest.intake.keys import Keys, dotted, text_rule


def keys_of(table: dict[str, object], scale: Fraction = Fraction(1)) -> Keys:
    return Keys(table, ("box",), {("box",): 3, ("box", "a"): 4}, FaultList("f"), scale)


def only(keys: Keys) -> str:
    (fault,) = keys.faults.in_order()
    return str(fault)


def test_absent_keys_answer_with_their_default_and_no_fault() -> None:
    keys = keys_of({})
    assert keys.number("a") is None
    assert keys.length_or("a", 2.0) == 2.0
    assert keys.number_or("a", 0.5) == 0.5
    assert keys.count_or("a", 6) == 6
    assert keys.text("a") is None
    assert keys.flag("a", True) is True
    assert keys.choice("a", Turn, Turn.SET) is Turn.SET
    assert keys.day("a") is None
    assert keys.tables("a") == ()
    assert keys.section("a") is None
    assert not keys.faults


def test_a_required_key_is_missed_at_the_line_of_its_table() -> None:
    keys = keys_of({})
    keys.length("a", required=True)
    assert only(keys) == "f:3: box: the required key 'a' is missing; add it"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("3", "must be a number; got '3'; write it without quotes, with a decimal point"),
        (True, "must be a number; got true; write one figure"),
        ([1], "must be a number; got a list; write one figure"),
        (float("nan"), "must be a finite number; got nan; correct the figure"),
        (float("-inf"), "must be a finite number; got -inf; correct the figure"),
        (-0.001, "must be 0 or more; got -0.001; correct the figure"),
        (100000.1, "must be at most 100000; got 100000.1; correct the figure"),
        (10**400, "must be at most 100000; got 1"),
        (datetime(2027, 1, 1), "must be a number; got 2027-01-01 00:00:00; write one figure"),
    ],
)
def test_a_wrong_number_is_a_fault_at_its_line(value: object, text: str) -> None:
    keys = keys_of({"a": value})
    assert keys.number("a") is None
    assert only(keys).startswith(f"f:4: box.a: {text}")


def test_both_sides_of_each_limit_of_a_number() -> None:
    assert keys_of({"a": 0}).number("a") == 0.0
    assert keys_of({"a": 100_000}).number("a") == 100_000.0
    assert keys_of({"a": 1e-9}).number("a", above=True) == 1e-9
    keys = keys_of({"a": 0.0})
    assert keys.number("a", above=True) is None
    assert only(keys) == "f:4: box.a: must be above 0; got 0.0; correct the figure"


@pytest.mark.parametrize(("inches", "mm"), [(12, 304.8), (0.1969, 5.00126), (42.0079, 1067.00066), (24.5, 622.3)])
def test_inches_are_converted_exactly(inches: float, mm: float) -> None:
    assert keys_of({"a": inches}, Fraction(127, 5)).length("a") == mm


def test_the_largest_length_is_the_same_in_both_units() -> None:
    keys = keys_of({"a": 3937.1}, Fraction(127, 5))
    assert keys.length("a") is None
    assert only(keys).startswith("f:4: box.a: must be at most 3937.007874; got 3937.1")


def test_counts_are_whole() -> None:
    assert keys_of({"a": 12.0}).count("a") == 12
    keys = keys_of({"a": 1.5})
    assert keys.count("a") is None
    assert only(keys) == "f:4: box.a: must be a whole number; got 1.5; write a count"
    keys = keys_of({"a": 0})
    assert keys.count("a", least=1) is None
    assert "must be 1 or more" in only(keys)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (4711, "must be text; got 4711; write it in quotes"),
        ("  ", "must not be empty; got '  '"),
        (" a", "must not begin or end with spaces; got ' a'"),
        ("a\nb", "must be one line of text without control characters; got 'a\\nb'"),
    ],
)
def test_texts_are_one_line_in_quotes(value: object, text: str) -> None:
    keys = keys_of({"a": value})
    assert keys.text("a") is None
    assert only(keys).startswith(f"f:4: box.a: {text}")


def test_flags_are_true_or_false_only() -> None:
    keys = keys_of({"a": "yes"})
    assert keys.flag("a", False) is False
    assert only(keys) == "f:4: box.a: must be true or false; got 'yes'; write true or false, without quotes"


def test_choices_are_read_in_any_case_and_offer_the_nearest() -> None:
    assert keys_of({"a": "Free"}).choice("a", Turn, Turn.SET) is Turn.FREE
    keys = keys_of({"a": "corss"})
    keys.choice("a", Turn, Turn.SET)
    assert only(keys) == (
        "f:4: box.a: must be one of set, free, fixed, cross; got 'corss'; did you mean 'cross'?"
    )
    keys = keys_of({"a": 1})
    keys.choice("a", Turn, Turn.SET)
    assert only(keys).endswith("got 1; write the word in quotes")


@pytest.mark.parametrize("value", ["2027-06-30", datetime(2027, 6, 30), 20270630])
def test_days_are_dates_without_quotes_and_time(value: object) -> None:
    assert keys_of({"a": date(2027, 6, 30)}).day("a") == date(2027, 6, 30)
    keys = keys_of({"a": value})
    assert keys.day("a") is None
    assert only(keys).endswith("write it like 2027-06-30, without quotes and time")


def test_tables_and_arrays_of_tables_must_be_such() -> None:
    keys = keys_of({"a": {"b": 1}})
    assert keys.tables("a") == ()
    assert only(keys) == "f:4: box.a: must be an array of tables; got a table; head each entry with [[a]]"
    keys = keys_of({"a": [{"b": 1}]})
    assert keys.section("a") is None
    assert only(keys) == "f:4: box.a: must be a table; got a list; head it with [box.a]"


def test_a_key_nobody_asked_for_is_unknown() -> None:
    keys = keys_of({"a": 1, "colr": 2})
    keys.number("a")
    keys.number("color")
    keys.finish()
    assert only(keys) == "f:3: box.colr: unknown key; got 'colr'; did you mean 'color'?"


def test_key_paths_are_written_as_toml_does_with_entries_counted_from_one() -> None:
    assert dotted(("sheets", 1, "across")) == "sheets[2].across"
    assert dotted(("materials", "HB 170", "base")) == "materials.'HB 170'.base"


def test_text_rules_pass_any_script() -> None:
    assert text_rule("Größe 版 \u202ex") is None
    assert text_rule("") == "must not be empty"
