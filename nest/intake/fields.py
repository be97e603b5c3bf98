"""One cell of the jobs file: from its text to its value, lengths in mm."""

from __future__ import annotations

import re
import unicodedata
from datetime import datetime
from enum import StrEnum
from fractions import Fraction
from typing import TypeVar

from nest.domain.job import GroupValue, Need, Together, Turn
from nest.intake.faults import offer
from nest.intake.typed_numbers import NOT_FINITE, THOUSANDS, NotANumber, Reading, is_number, parse_number

LONGEST_MM = 100_000
SHORTEST_MM = Fraction(1, 10)
MAX_COPIES = 10_000
MAX_TEETH = 10_000
MAX_GROUP_VALUE = 1_000_000
MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?)?")
ZONED = re.compile(r".+[0-9](?:Z|[+-][0-9]{2}:?[0-9]{2})", re.IGNORECASE)
BREAKS = re.compile("[\t\n\r\x85\u2028\u2029]+")
LINE_BREAKS = "\n\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029"

Choice = TypeVar("Choice", bound=StrEnum)


class FieldFault(ValueError):
    """A cell breaks a rule; says the rule and what to do."""

    def __init__(self, rule: str, remedy: str) -> None:
        super().__init__(f"{rule}; {remedy}")
        self.rule = rule
        self.remedy = remedy


def _exact(text: str, reading: Reading) -> Fraction:
    try:
        return parse_number(text, reading)
    except NotANumber as error:
        raise FieldFault(error.rule, error.remedy) from None


def parse_name(text: str) -> str:
    """Return an identifying text as it is: any script, any length, but one line of printable characters.

    Raises
    ------
    FieldFault
        If it holds a line break or a control character.
    """
    if any(c in LINE_BREAKS for c in text):
        raise FieldFault("must be one line of text", "remove the line break")
    return _printable(text)


def parse_text(text: str) -> str:
    """Return a free text on one line: line breaks and tabs become spaces.

    Raises
    ------
    FieldFault
        If it holds a control character.
    """
    return _printable(BREAKS.sub(" ", text))


def _printable(text: str) -> str:
    bad = next((c for c in text if unicodedata.category(c) in ("Cc", "Cs")), None)
    if bad is not None:
        raise FieldFault(f"must not hold the control character U+{ord(bad):04X}", "remove it")
    return text


def parse_size(text: str, reading: Reading) -> float:
    """Return a length in mm, from a tenth of a millimetre up.

    Raises
    ------
    FieldFault
        If it is no number, not above zero, or no size a plate can have.
    """
    value = _exact(text, reading)
    if value <= 0:
        raise FieldFault("must be above 0", "write a length above 0")
    if reading.mm_per_unit is not None and value * reading.mm_per_unit < SHORTEST_MM:
        raise FieldFault(f"must be at least {_in_unit(SHORTEST_MM, reading)}", "check the figure and the room's unit")
    return _mm(value, reading)


def parse_border(text: str, reading: Reading) -> float:
    """Return a border in mm, 0 or more.

    Raises
    ------
    FieldFault
        If it is no number, negative, or no size a plate can have.
    """
    value = _exact(text, reading)
    if value < 0:
        raise FieldFault("must be 0 or more", "write a border of 0 or more")
    return _mm(value, reading)


def _mm(value: Fraction, reading: Reading) -> float:
    mm = value * (reading.mm_per_unit or 1)
    if mm > LONGEST_MM:
        raise FieldFault(f"must be at most {_in_unit(Fraction(LONGEST_MM), reading)}", "check the figure and the unit")
    return float(mm)


def _in_unit(mm: Fraction, reading: Reading) -> str:
    if reading.mm_per_unit in (None, 1):
        return f"{float(mm):.10g} mm"
    return f"{float(mm / reading.mm_per_unit):.4g} in" if reading.mm_per_unit else ""


def parse_whole(text: str, reading: Reading, *, most: int) -> int:
    """Return a whole number from 1 to ``most``.

    Raises
    ------
    FieldFault
        If it is anything else.
    """
    value = _exact(text, reading)
    if value.denominator != 1 or not 1 <= value <= most:
        raise FieldFault(f"must be a whole number from 1 to {most}", "write a count")
    return int(value)


def parse_flag(text: str) -> bool:
    """Return whether a yes/no cell says yes, in any case.

    Raises
    ------
    FieldFault
        If it says anything else.
    """
    word = text.casefold()
    if word not in ("yes", "no"):
        raise FieldFault("must be yes or no", "write yes or no")
    return word == "yes"


def parse_choice(text: str, choices: type[Choice]) -> Choice:
    """Return the choice a word names, in any case.

    Raises
    ------
    FieldFault
        If it names none.
    """
    words = [choice.value for choice in choices]
    if text.casefold() not in words:
        raise FieldFault(f"must be one of {', '.join(words)}", offer(text, words))
    return choices(text.casefold())


def parse_group(text: str, reading: Reading, *, numeric: bool) -> GroupValue:
    """Return a grouping value: a number as a number, other text as text.

    ``numeric`` columns (relief, resolution) refuse what was meant as a number but is none, or none above 0.

    Raises
    ------
    FieldFault
        If the value cannot serve to compare plates.
    """
    if numeric and (NOT_FINITE.fullmatch(text) or (THOUSANDS.fullmatch(text) and not is_number(text, reading))):
        return float(_exact(text, reading))
    if not is_number(text, reading):
        return parse_name(text)
    value = _exact(text, reading)
    if numeric and value <= 0:
        raise FieldFault("must be above 0", "write the figure, or leave the cell empty for the material's usual")
    if abs(value) > MAX_GROUP_VALUE:
        raise FieldFault(f"must be at most {MAX_GROUP_VALUE}", "check the figure")
    return float(value)


def parse_moment(text: str) -> datetime:
    """Return an ISO date (taken as its midnight) or date-time.

    Raises
    ------
    FieldFault
        If it is anything else, or carries a time zone: the room's own time is meant.
    """
    remedy = "write a date such as 2027-06-30, or 2027-06-30 14:00"
    if not MOMENT.fullmatch(text):
        zone = ZONED.fullmatch(text) is not None and MOMENT.match(text) is not None and len(text) > 10
        raise FieldFault("must be the room's own time, without a zone" if zone else "must be an ISO date", remedy)
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise FieldFault("there is no such date or time", remedy) from None


CHOICES: dict[str, type[Turn] | type[Together] | type[Need]] = {"turn": Turn, "together": Together, "need": Need}
"""The enumeration behind each column of choices."""
