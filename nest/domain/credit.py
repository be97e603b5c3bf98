"""What a kept rest is credited: one rule for plans and for what was really cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.units import area_m2, money, to_units

if TYPE_CHECKING:
    from nest.domain.room import Costs


def rest_credit(costs: Costs, rate: float, across_mm: float, around_mm: float) -> float:
    """Return the credit of a kept rest, rounded half-even to cents.

    Parameters
    ----------
    costs
        The room's rates.
    rate
        Money per m2: ``offcut_value`` × price / area of the rest's sheet, or value / area of the offcut it is cut from.
    across_mm, around_mm
        Size of the rest.
    """
    short = min(across_mm, around_mm)
    share = 1.0 if costs.offcut_full_side_mm <= short else short / costs.offcut_full_side_mm
    return money(max(0.0, rate * area_m2(to_units(across_mm), to_units(around_mm)) * share - costs.offcut_handling))
