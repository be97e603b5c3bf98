"""What an offcut is worth on a day: its book value when new, falling with age and with the nearness of its expiry.

    value = book value × max(LEAST, age factor × expiry factor)

The age factor is 1 up to `Curve.full_days`, falls in a straight line and reaches LEAST at `Curve.life_days`. The expiry
factor is the share of `Curve.expiry_days` left until the use-by date, at most 1. What is past its use-by date is worth
nothing. A falling value makes the planner's program take old offcuts before young ones, so the rack empties itself.
(Own rule; that offcuts lose value with age and shelf life is common practice, the figures are to be set by the room.)
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from nest.domain.stock import Curve, RackOffcut

LEAST = Fraction(1, 10)


def share_left(made: date, expiry: date | None, day: date, curve: Curve) -> Fraction:
    """Return which share of its first book value an offcut has on a day.

    Examples
    --------
    >>> from datetime import date
    >>> from nest.domain.stock import Curve
    >>> curve = Curve(full_days=30, life_days=130, expiry_days=90)
    >>> share_left(date(2027, 1, 1), None, date(2027, 1, 31), curve)
    Fraction(1, 1)
    >>> share_left(date(2027, 1, 1), None, date(2027, 3, 22), curve)
    Fraction(11, 20)
    >>> share_left(date(2027, 1, 1), date(2027, 1, 9), date(2027, 1, 10), curve)
    Fraction(0, 1)
    """
    if expiry is not None and expiry < day:
        return Fraction(0)
    age = max(0, (day - made).days)
    if age <= curve.full_days:
        aged = Fraction(1)
    elif age >= curve.life_days:
        aged = LEAST
    else:
        aged = 1 - (1 - LEAST) * Fraction(age - curve.full_days, curve.life_days - curve.full_days)
    near = Fraction(1)
    if expiry is not None and curve.expiry_days > 0:
        near = min(near, Fraction((expiry - day).days, curve.expiry_days))
    return max(LEAST, aged * near)


def value_cents(offcut: RackOffcut, day: date, curve: Curve) -> int:
    """Return what an offcut is worth on a day, in cents, rounded half-even."""
    return round(offcut.value_cents * share_left(offcut.made, offcut.expiry, day, curve))
