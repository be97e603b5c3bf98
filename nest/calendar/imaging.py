"""How long the laser takes for a plate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from nest.domain.room import Imager


def imaging_minutes(imager: Imager, across_mm: float, ppi: float) -> float:
    """Return the minutes of the laser for an axial width; 0 where the room states no drum speed or beams.

    The drum turns whole turns, so only the width along its axis counts: width * ppi / (beams * rpm), derived.
    """
    if imager.rpm is None or imager.beams is None:
        return 0.0
    return laser_minutes(across_mm, ppi, imager.beams, imager.rpm)


def laser_minutes(width_mm: float, ppi: float, beams: int, rpm: float) -> float:
    """Return the minutes of the laser for an axial width at one drum speed.

    Examples
    --------
    >>> laser_minutes(900.0, 2540.0, 32, 300.0), round(laser_minutes(900.0, 4000.0, 32, 300.0), 6)
    (9.375, 14.76378)
    """
    return width_mm * ppi / MM_PER_INCH / (beams * rpm)
