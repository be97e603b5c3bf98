"""The one place where lengths, areas and money change unit or are rounded.

Domain and files speak millimetres as float; the engine speaks integers of 0.0001 mm, so that what fits exactly, fits.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal

MM_PER_INCH = 25.4
UNITS_PER_MM = 10_000
EPS_MM = 0.002
"""The one tolerance: edges closer than this are one cut (design, section 8)."""
M2_PER_SQFT = 0.09290304


def to_units(mm: float) -> int:
    """Return a length in mm as a whole number of 0.0001 mm, rounded to nearest.

    Examples
    --------
    >>> to_units(304.90524)
    3049052
    >>> 8 * to_units(3.0625 * MM_PER_INCH) == to_units(24.5 * MM_PER_INCH)
    True
    """
    return round(mm * UNITS_PER_MM)


def to_mm(units: int) -> float:
    """Return a length in units of 0.0001 mm as mm, without rounding noise in the last digits."""
    return round(units / UNITS_PER_MM, 4)


def area_m2(w_units: int, h_units: int) -> float:
    """Return the area in m2 of a rectangle given in units of 0.0001 mm."""
    return w_units * h_units / (UNITS_PER_MM * UNITS_PER_MM * 1e6)


def money(amount: float) -> float:
    """Return an amount of money rounded half-even to cents.

    The sum is first taken to 12 decimals so that binary noise cannot decide a tie.

    Examples
    --------
    >>> money(0.125), money(0.135), money(10.08 + 1e-14)
    (0.12, 0.14, 10.08)
    """
    return float(Decimal(repr(round(amount, 12))).quantize(Decimal("0.01"), ROUND_HALF_EVEN))


def plain(value: float) -> str:
    """Return the shortest decimal form of a number: ``900``, ``42.0079``, never ``900.0``.

    Examples
    --------
    >>> plain(900.0), plain(42.0079)
    ('900', '42.0079')
    """
    return f"{value:.10g}"
