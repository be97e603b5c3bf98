"""How guides write lengths: in mm, in inches, or in fractions of an inch as a ruler has them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from nest.output.words import length_words
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from nest.domain.room import Room, Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """Unit of a guide's lengths; ``fractions`` is the smallest fraction of an inch on the ruler, 0 for decimals."""

    unit: Unit
    fractions: int = 0

    def words(self, mm: float) -> str:
        """Return a length as it is set on the ruler, without its unit.

        Examples
        --------
        >>> Lengths(unit=Unit.MM).words(380.0), Lengths(unit=Unit.INCH, fractions=16).words(380.0)
        ('380', '14 15/16')
        """
        return fraction_words(mm / MM_PER_INCH, self.fractions) if self.fractions else length_words(mm, self.unit)

    def exact(self, mm: float) -> str:
        """Return a length as a decimal number, without its unit."""
        return length_words(mm, self.unit)

    def told(self, mm: float) -> str:
        """Return a length with its unit, and the exact figure where the ruler's fraction is not exact.

        Examples
        --------
        >>> Lengths(unit=Unit.INCH, fractions=16).told(380.0), Lengths(unit=Unit.INCH, fractions=16).told(381.0)
        ('14 15/16 in (14.961)', '15 in')
        """
        text = f"{self.words(mm)} {self.unit.value}"
        off = self.fractions and abs(_nearest(mm / MM_PER_INCH, self.fractions) - Fraction(mm / MM_PER_INCH)) > 0.0005
        return f"{text} ({self.exact(mm)})" if off else text

    def size(self, across_mm: float, around_mm: float) -> str:
        """Return a size with both words, such as ``across 900 / around 1200 mm``."""
        return f"across {self.exact(across_mm)} / around {self.exact(around_mm)} {self.unit.value}"


def lengths_of(room: Room) -> Lengths:
    """Return how a room's guides write lengths."""
    return Lengths(unit=room.guides.unit or room.unit, fractions=room.guides.fractions)


def _nearest(inches: float, parts: int) -> Fraction:
    return Fraction(round(inches * parts), parts)


def fraction_words(inches: float, parts: int) -> str:
    """Return a length in inches to the nearest fraction of ``parts``, reduced.

    Examples
    --------
    >>> fraction_words(3.0625, 16), fraction_words(0.5, 64), fraction_words(2.999, 32), fraction_words(-0.25, 8)
    ('3 1/16', '1/2', '3', '-1/4')
    """
    value = _nearest(abs(inches), parts)
    whole, part = divmod(value, 1)
    sign = "-" if inches < 0 and value else ""
    words = [str(whole)] if whole or not part else []
    return sign + " ".join([*words, *([str(part)] if part else [])])
