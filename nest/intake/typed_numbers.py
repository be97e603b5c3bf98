"""Numbers as people type them: points, decimal commas and inch fractions; read exactly."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

MAX_CHARS = 60
PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
INCH_FRACTION = re.compile(r"([+-]?)(?:([0-9]+)\s+)?([0-9]+)\s*/\s*([0-9]+)")
THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}(?:[\s.,'’_][0-9]{3})+(?:[.,][0-9]+)?")
DECIMAL_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+")
POINT_OR_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}\.[0-9]{3}")
NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)", re.IGNORECASE)
WITH_UNIT = re.compile(r"([+-]?[0-9][0-9\s.,/]*?)\s*(mm|cm|m|in|inch|inches|\"|''|”|″)", re.IGNORECASE)


class NotANumber(ValueError):
    """A cell that should hold a number holds something else; says the rule and what to do."""

    def __init__(self, rule: str, remedy: str) -> None:
        super().__init__(f"{rule}; {remedy}")
        self.rule = rule
        self.remedy = remedy


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How the numbers of one file are read.

    ``mm_per_unit`` is 1 or 127/5, and None where the unit is not known because the room file could not be read.
    ``comma_used`` says that the file writes decimal commas, so that ``1.200`` may be meant as a thousand two hundred.
    """

    decimal_comma: bool = False
    comma_used: bool = False
    mm_per_unit: Fraction | None = Fraction(1)

    @property
    def fractions(self) -> bool:
        """Whether fractions are read: they are inches, and in a room of mm nobody could tell what was meant."""
        return self.mm_per_unit != 1


def parse_number(text: str, reading: Reading) -> Fraction:
    """Return the exact value of a typed number.

    Raises
    ------
    NotANumber
        With the rule that is broken and what to do.

    Examples
    --------
    >>> parse_number("3 1/16", Reading(mm_per_unit=Fraction(127, 5)))
    Fraction(49, 16)
    >>> parse_number("0,5", Reading(decimal_comma=True))
    Fraction(1, 2)
    """
    if len(text) > MAX_CHARS:
        raise NotANumber("must be a number", f"write at most {MAX_CHARS} characters")
    if reading.comma_used and POINT_OR_THOUSANDS.fullmatch(text):
        raise NotANumber("a point with three digits beside decimal commas may mean thousands", "write a decimal comma")
    plain = text.replace(",", ".") if reading.decimal_comma and text.count(",") == 1 and "." not in text else text
    if PLAIN.fullmatch(plain):
        return Fraction(plain)
    found = INCH_FRACTION.fullmatch(text)
    if found is None:
        raise _explained(text, reading)
    if not reading.fractions:
        raise NotANumber("fractions are inches, and this room's unit is mm", "write millimetres with decimals")
    sign, whole, above, below = found.groups()
    if int(below) == 0:
        raise NotANumber("the fraction divides by zero", "write a fraction such as 3 1/16")
    value = int(whole or 0) + Fraction(int(above), int(below))
    return -value if sign == "-" else value


def is_number(text: str, reading: Reading) -> bool:
    """Whether a text is read as a number."""
    try:
        parse_number(text, reading)
    except NotANumber:
        return False
    return True


def _explained(text: str, reading: Reading) -> NotANumber:
    """Return what is wrong with a text that is no number."""
    if NOT_FINITE.fullmatch(text):
        return NotANumber("must be a finite number", "write the figure")
    if THOUSANDS.fullmatch(text):
        return NotANumber("thousands separators are not read", f"write {_without_thousands(text, reading)}")
    if DECIMAL_COMMA.fullmatch(text):
        return NotANumber(
            "a decimal comma is only read in files separated by ';'", f"write {text.replace(',', '.')}"
        )
    found = WITH_UNIT.fullmatch(text)
    if found is not None:
        return NotANumber("must be a number without its unit", f"write {found.group(1)} in the room's unit")
    return NotANumber("must be a number", "write a figure such as 304.8")


def _without_thousands(text: str, reading: Reading) -> str:
    """Return a number without its thousands separators, the last of two different signs taken as the decimal one."""
    signs = [c for c in text if not c.isdigit() and c not in "+-"]
    decimal = signs[-1] if len(set(signs)) > 1 and signs[-1] in ".," else ""
    whole, _, part = text.rpartition(decimal) if decimal else (text, "", "")
    figure = "".join(c for c in whole if c.isdigit() or c in "+-")
    return f"{figure}{',' if reading.decimal_comma else '.'}{part}" if part else figure
