"""Money and areas in exact fractions, so that binary noise decides no rounding."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.domain.room import Costs

MM2_PER_M2 = 1_000_000
STEP_PER_MM = 10_000
CENT_ROUNDING = 0.0051
"""By how much an amount rounded to cents may differ from the exact one."""


def typed(value: float) -> Fraction:
    """Return a number as the decimal that was typed: 0.1 is one tenth."""
    return Fraction(repr(float(value)))


def length(mm: float) -> Fraction:
    """Return a length in mm rounded to the product's step of 0.0001 mm."""
    return Fraction(round(mm * STEP_PER_MM), STEP_PER_MM)


def area(w_mm: float, h_mm: float) -> Fraction:
    """Return the area in m2 of a rectangle given in mm."""
    return length(w_mm) * length(h_mm) / MM2_PER_M2


def cents(amount: Fraction) -> float:
    """Return an amount rounded half-even to cents.

    A quotient of lengths converted from inches carries noise of its own, so the amount is first taken to 12 decimals.

    Examples
    --------
    >>> cents(Fraction("0.125")), cents(Fraction("0.135")), cents(Fraction("10.0801"))
    (0.12, 0.14, 10.08)
    """
    return float(round(round(amount, 12), 2))


def process_cost(costs: Costs, w_mm: float, h_mm: float) -> float:
    """Return what processing a plate of this size costs, in cents."""
    return cents(typed(costs.process_per_m2) * area(w_mm, h_mm))


def rest_credit(costs: Costs, value_per_m2: Fraction, w_mm: float, h_mm: float) -> float:
    """Return the credit of a kept rest, in cents (design, section 5).

    Parameters
    ----------
    costs : Costs
        The room's rates.
    value_per_m2 : Fraction
        What an m2 of the material drawn is worth as an offcut.
    w_mm, h_mm : float
        Size of the rest in mm.
    """
    short = length(min(w_mm, h_mm))
    full = length(costs.offcut_full_side_mm)
    share = Fraction(1) if full <= 0 else min(Fraction(1), short / full)
    gross = value_per_m2 * area(w_mm, h_mm) * share
    return cents(max(Fraction(0), gross - typed(costs.offcut_handling)))
