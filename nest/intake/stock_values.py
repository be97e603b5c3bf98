"""Single values of the store as people type them: lengths, money, counts, days, texts."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from nest.domain.cells import unguarded
from nest.intake.fields import FieldFault, parse_size, parse_text
from nest.intake.room import MM_PER_UNIT
from nest.intake.typed_numbers import NotANumber, Reading, parse_number

if TYPE_CHECKING:
    from fractions import Fraction

    from nest.domain.room import Unit

MOST_COUNT, MOST_CENTS = 1_000_000, 10**11
LONGEST_TEXT = 200
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def reading_of(unit: Unit, *, decimal_comma: bool = False) -> Reading:
    """Return how numbers are read in a ledger of a unit."""
    return Reading(mm_per_unit=MM_PER_UNIT[unit], decimal_comma=decimal_comma)


def exact(text: str, reading: Reading) -> Fraction:
    """Return a typed number.

    Raises
    ------
    FieldFault
        If it is none.
    """
    try:
        return parse_number(text, reading)
    except NotANumber as error:
        raise FieldFault(error.rule, error.remedy) from None


def length(text: str, reading: Reading) -> float:
    """Return a length in mm.

    Raises
    ------
    FieldFault
        If it is no size of a sheet.
    """
    return parse_size(text, reading)


def relief(text: str, reading: Reading) -> float:
    """Return a relief in the ledger's unit.

    Raises
    ------
    FieldFault
        If it is not above 0.
    """
    value = exact(text, reading)
    if not 0 < value < 1000:
        raise FieldFault("must be above 0", "write the relief in the ledger's unit")
    return float(value)


def cents(text: str, reading: Reading) -> int:
    """Return an amount of money in cents.

    Raises
    ------
    FieldFault
        If it is negative, too large or has parts of a cent.
    """
    value = exact(text, reading) * 100
    if not 0 <= value <= MOST_CENTS:
        raise FieldFault(f"must be from 0 to {MOST_CENTS // 100}", "correct the amount")
    if value.denominator != 1:
        raise FieldFault("must have at most two decimals", "round it to cents")
    return int(value)


def count(text: str, reading: Reading, *, least: int = 0) -> int:
    """Return a whole number.

    Raises
    ------
    FieldFault
        If it is anything else.
    """
    value = exact(text, reading)
    if value.denominator != 1 or not least <= value <= MOST_COUNT:
        raise FieldFault(f"must be a whole number from {least} to {MOST_COUNT}", "write a count")
    return int(value)


def day(text: str) -> date:
    """Return an ISO date.

    Raises
    ------
    FieldFault
        If it is none.
    """
    remedy = "write a date such as 2027-06-30"
    if not DAY.fullmatch(text):
        raise FieldFault("must be an ISO date", remedy)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise FieldFault("there is no such date", remedy) from None


def words(text: str) -> str:
    """Return a text on one line; formulas stay the text they are, line breaks and tabs become spaces.

    Raises
    ------
    FieldFault
        If it holds other control characters or is too long.
    """
    plain = parse_text(unguarded(text)).strip()
    if len(plain) > LONGEST_TEXT:
        raise FieldFault(f"must have at most {LONGEST_TEXT} characters", "shorten it")
    return plain
