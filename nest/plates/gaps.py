"""Whether a gap between pieces can be cut at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.room import Cutting, Unit
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room

LEAST_SHEAR_STRIP_MM = 5.0
"""Thinnest strip a guillotine can hold (common practice)."""


def gap_warnings(room: Room, rows: Sequence[Row]) -> list[str]:
    """Return a warning per material whose gap a guillotine cannot cut."""
    if room.cutting is not Cutting.GUILLOTINE:
        return []
    out = []
    for material in sorted({row.material for row in rows}):
        gap = room.gap_of(material)
        if 0 < gap < LEAST_SHEAR_STRIP_MM:
            inch = room.unit is Unit.INCH
            told, least = (
                f"{mm / MM_PER_INCH:.3f} in" if inch else f"{mm:g} mm" for mm in (gap, LEAST_SHEAR_STRIP_MM)
            )
            out.append(
                f"{material}: gap {told} is a strip too thin to hold in a guillotine; use 0 (one common cut) or at "
                f"least {least}"
            )
    return out
