from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Together, Turn
from nest.intake.fields import (
    FieldFault,
    parse_border,
    parse_choice,
    parse_flag,
    parse_group,
    parse_moment,
    parse_name,
    parse_size,
    parse_text,
    parse_whole,
)
from nest.intake.typed_numbers import Reading

if TYPE_CHECKING:
    from collections.abc import Callable

MM = Reading()
INCH = Reading(mm_per_unit=Fraction(127, 5))
UNKNOWN = Reading(mm_per_unit=None)


def rule_of(parse: Callable[[], object]) -> str:
    with pytest.raises(FieldFault) as caught:
        parse()
    assert caught.value.remedy
    return caught.value.rule


@pytest.mark.parametrize(
    "name",
    [
        "<script>alert('x')</script>",
        '"quoted" & co; =1+1',
        "x" * 300,
        "\u202egnp.exe",
        "עבודה 12",
        "🖨️ rush",
        "../../etc/passwd",
        "%s %n {0}",
    ],
)
def test_hostile_names_are_text_and_kept(name: str) -> None:
    assert parse_name(name) == name


@pytest.mark.parametrize(
    ("name", "rule"),
    [
        ("a\x07b", "must not hold the control character U+0007"),
        ("a\x9bb", "must not hold the control character U+009B"),
        ("a\tb", "must not hold the control character U+0009"),
        ("a\nb", "must be one line of text"),
        ("a\u2028b", "must be one line of text"),
    ],
)
def test_names_hold_no_line_breaks_and_control_characters(name: str, rule: str) -> None:
    assert rule_of(lambda: parse_name(name)) == rule


def test_free_text_turns_line_breaks_and_tabs_to_spaces_and_refuses_other_controls() -> None:
    assert parse_text("two\r\nlines\tand\u2028more") == "two lines and more"
    assert rule_of(lambda: parse_text("a\x00b")) == "must not hold the control character U+0000"


@pytest.mark.parametrize(
    ("text", "reading", "mm"),
    [
        ("0.1", MM, 0.1),
        ("100000", MM, 100_000.0),
        ("304.8", MM, 304.8),
        ("12", INCH, 304.8),
        ("3 1/16", INCH, 77.7875),
        ("0.1969", INCH, 5.00126),
        ("0.01", UNKNOWN, 0.01),
    ],
)
def test_a_size_is_converted_once_and_exactly(text: str, reading: Reading, mm: float) -> None:
    assert parse_size(text, reading) == mm


@pytest.mark.parametrize(
    ("text", "reading", "rule"),
    [
        ("0", MM, "must be above 0"),
        ("-0.0", MM, "must be above 0"),
        ("-5", INCH, "must be above 0"),
        ("0.0999", MM, "must be at least 0.1 mm"),
        ("0.0039", INCH, "must be at least 0.003937 in"),
        ("100000.001", MM, "must be at most 100000 mm"),
        ("3938", INCH, "must be at most 3937 in"),
        ("1e999", MM, "must be at most 100000 mm"),
    ],
)
def test_impossible_sizes_are_refused(text: str, reading: Reading, rule: str) -> None:
    assert rule_of(lambda: parse_size(text, reading)) == rule


def test_a_border_may_be_zero_but_not_less() -> None:
    assert parse_border("0", MM) == 0.0
    assert rule_of(lambda: parse_border("-0.001", MM)) == "must be 0 or more"
    assert rule_of(lambda: parse_border("100001", MM)) == "must be at most 100000 mm"


def test_counts_are_whole_from_one_to_their_most() -> None:
    assert parse_whole("1", MM, most=10_000) == 1
    assert parse_whole("10000.0", MM, most=10_000) == 10_000
    for text in ("0", "10001", "1000000000", "1.5", "-1"):
        assert rule_of(lambda text=text: parse_whole(text, MM, most=10_000)) == (  # type: ignore[misc]
            "must be a whole number from 1 to 10000"
        )


def test_flags_and_choices_are_read_in_any_case() -> None:
    assert parse_flag("YES") is True
    assert parse_flag("No") is False
    assert parse_choice("Fixed", Turn) is Turn.FIXED
    assert parse_choice("PLATE", Together) is Together.PLATE
    assert rule_of(lambda: parse_flag("y")) == "must be yes or no"
    assert rule_of(lambda: parse_choice("any", Turn)) == "must be one of set, free, fixed, cross"


def test_an_unknown_choice_offers_the_nearest() -> None:
    with pytest.raises(FieldFault) as caught:
        parse_choice("fixd", Turn)
    assert caught.value.remedy == "did you mean 'fixed'?"


@pytest.mark.parametrize(
    ("text", "reading", "numeric", "value"),
    [
        ("0.50", MM, True, 0.5),
        ("0,5", Reading(decimal_comma=True), True, 0.5),
        ("2540", MM, True, 2540.0),
        ("deep", MM, True, "deep"),
        ("1/64", INCH, True, 0.015625),
        ("007", MM, False, 7.0),
        ("nan", MM, False, "nan"),
        ("Pattern A", MM, False, "Pattern A"),
        ("-1", MM, False, -1.0),
    ],
)
def test_grouping_values_compare_as_numbers_where_they_are(
    text: str, reading: Reading, numeric: bool, value: object
) -> None:
    found = parse_group(text, reading, numeric=numeric)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("nan", "must be a finite number"),
        ("0", "must be above 0"),
        ("-0.5", "must be above 0"),
        ("2,540", "thousands separators are not read"),
        ("1000001", "must be at most 1000000"),
        ("a\x07", "must not hold the control character U+0007"),
    ],
)
def test_reliefs_and_resolutions_that_cannot_be_compared_are_refused(text: str, rule: str) -> None:
    assert rule_of(lambda: parse_group(text, MM, numeric=True)) == rule


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2027-06-30", datetime(2027, 6, 30)),
        ("2027-06-30T14:05", datetime(2027, 6, 30, 14, 5)),
        ("2027-06-30 14:05:06", datetime(2027, 6, 30, 14, 5, 6)),
    ],
)
def test_iso_dates_and_date_times_are_read(text: str, moment: datetime) -> None:
    assert parse_moment(text) == moment


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("2027-02-30", "there is no such date or time"),
        ("2027-06-30 25:00", "there is no such date or time"),
        ("0000-01-01", "there is no such date or time"),
        ("30.06.2027", "must be an ISO date"),
        ("2027-6-30", "must be an ISO date"),
        ("20270630", "must be an ISO date"),
        ("46203", "must be an ISO date"),
        ("2027-06-30T14:00Z", "must be the room's own time, without a zone"),
        ("2027-06-30T14:00+02:00", "must be the room's own time, without a zone"),
    ],
)
def test_other_dates_are_refused(text: str, rule: str) -> None:
    assert rule_of(lambda: parse_moment(text)) == rule
