"""One broken rule of a plan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Violation:
    """A rule that a plan breaks: ``place`` is a sheet, plate, row or figure, ``text`` what was expected and got."""

    place: str
    rule: str
    text: str

    def __str__(self) -> str:
        return f"{self.place}: {self.rule}: {self.text}"


def differs(a: float, b: float, tolerance: float) -> bool:
    """Return whether two numbers are further apart than the tolerance; a NaN always differs."""
    return not abs(a - b) <= tolerance


def mm(value: float) -> str:
    """Return a length in mm in its shortest form, at most four decimals."""
    return f"{round(value, 4):.10g}"
