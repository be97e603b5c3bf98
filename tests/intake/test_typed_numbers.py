from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.intake.typed_numbers import NotANumber, Reading, is_number, parse_number

INCH = Reading(mm_per_unit=Fraction(127, 5))
MM = Reading()
COMMA = Reading(decimal_comma=True)


@pytest.mark.parametrize(
    ("text", "value"),
    [("12", 12), ("304.8", Fraction(3048, 10)), (".5", Fraction(1, 2)), ("5.", 5), ("+1e3", 1000), ("-2", -2)],
)
def test_plain_figures_are_read_exactly(text: str, value: Fraction) -> None:
    assert parse_number(text, MM) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [("3 1/16", Fraction(49, 16)), ("5/8", Fraction(5, 8)), ("24 1/2", Fraction(49, 2)), ("-1 1/2", Fraction(-3, 2))],
)
def test_inch_fractions_are_read_in_inch_rooms(text: str, value: Fraction) -> None:
    assert parse_number(text, INCH) == value


def test_fractions_are_read_while_the_unit_is_unknown_but_not_in_mm_rooms() -> None:
    assert is_number("5/8", Reading(mm_per_unit=None))
    with pytest.raises(NotANumber) as caught:
        parse_number("5/8", MM)
    assert caught.value.rule == "fractions are inches, and this room's unit is mm"


def test_a_decimal_comma_is_read_only_with_semicolons() -> None:
    assert parse_number("304,8", COMMA) == Fraction(3048, 10)
    assert parse_number("304.8", COMMA) == Fraction(3048, 10)
    with pytest.raises(NotANumber) as caught:
        parse_number("304,8", MM)
    assert str(caught.value) == "a decimal comma is only read in files separated by ';'; write 304.8"


@pytest.mark.parametrize(
    ("text", "reading", "remedy"),
    [
        ("1,200", MM, "write 1200"),
        ("1,200.5", MM, "write 1200.5"),
        ("1 200", MM, "write 1200"),
        ("1\u202f200", MM, "write 1200"),
        ("1'200'300", MM, "write 1200300"),
        ("1.200,5", COMMA, "write 1200,5"),
        ("1.200.300", COMMA, "write 1200300"),
    ],
)
def test_thousands_separators_are_refused_with_the_figure_to_write(text: str, reading: Reading, remedy: str) -> None:
    with pytest.raises(NotANumber) as caught:
        parse_number(text, reading)
    assert (caught.value.rule, caught.value.remedy) == ("thousands separators are not read", remedy)


def test_a_point_with_three_digits_is_refused_only_beside_decimal_commas() -> None:
    mixed = Reading(decimal_comma=True, comma_used=True)
    assert parse_number("1.200", COMMA) == Fraction(12, 10)
    assert parse_number("0.200", mixed) == Fraction(2, 10)
    assert parse_number("1.20", mixed) == Fraction(12, 10)
    with pytest.raises(NotANumber, match="may mean thousands"):
        parse_number("1.200", mixed)


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("nan", "must be a finite number"),
        ("-Infinity", "must be a finite number"),
        ("12 mm", "must be a number without its unit"),
        ('3 1/16"', "must be a number without its unit"),
        ("twelve", "must be a number"),
        ("1_0", "must be a number"),
        ("0x1F", "must be a number"),
        ("٣", "must be a number"),
        ("1e9999", "must be a number"),
        ("1-2", "must be a number"),
        ("9" * 61, "must be a number"),
        ("1/0", "the fraction divides by zero"),
    ],
)
def test_what_is_no_figure_names_its_rule(text: str, rule: str) -> None:
    with pytest.raises(NotANumber) as caught:
        parse_number(text, INCH)
    assert caught.value.rule == rule


@given(st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-(10**9), max_value=10**9))
def test_any_decimal_is_read_to_its_exact_value_with_point_and_with_comma(value: object) -> None:
    text = f"{value:f}"
    assert parse_number(text, MM) == parse_number(text.replace(".", ","), COMMA) == Fraction(text)


@given(st.text(max_size=80), st.sampled_from([MM, INCH, COMMA, Reading(decimal_comma=True, comma_used=True)]))
def test_any_text_is_a_number_or_a_named_fault(text: str, reading: Reading) -> None:
    try:
        value = parse_number(text, reading)
    except NotANumber as fault:
        value, said = None, (fault.rule, fault.remedy)
    assert isinstance(value, Fraction) or all(said)
