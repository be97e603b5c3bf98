"""How much a plate weighs."""

from __future__ import annotations

POLYMER_KG_PER_M2_MM = 1.0
FILM_KG_PER_M2_MM = 1.39
"""Densities of photopolymer and of polyester film in g/cm3, which are kg per m2 and mm (from memory)."""
HEAVY_KG = 12.0
"""From here on two people lift (common practice)."""


def plate_kilos(area_m2: float, thickness_mm: float, base_mm: float | None) -> float:
    """Return about how much a raw plate weighs in kg: polymer above its base film, and the film.

    Parameters
    ----------
    area_m2
        Area of the plate.
    thickness_mm, base_mm
        Total thickness and that of the base film; without one the plate counts as polymer.

    Examples
    --------
    >>> round(plate_kilos(1.0, 1.70, 0.125), 3), round(plate_kilos(1.0, 6.35, 0.178), 3), plate_kilos(2.0, 1.0, None)
    (1.749, 6.419, 2.0)
    """
    base = base_mm or 0.0
    return area_m2 * (POLYMER_KG_PER_M2_MM * (thickness_mm - base) + FILM_KG_PER_M2_MM * base)
