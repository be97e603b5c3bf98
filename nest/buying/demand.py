"""Demand as simulated: sheets drawn of each size in each week of many paths."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from nest.domain.room import Unit
from nest.units import MM_PER_INCH, plain

if TYPE_CHECKING:
    from datetime import date

    import numpy as np

    from nest.domain.room import Room


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class SizeKey:
    """A sheet size of a material, whatever its lot. ``unit`` only tells how it is named."""

    material: str
    across_mm: float
    around_mm: float
    unit: Unit = field(default=Unit.MM, compare=False)

    @property
    def label(self) -> str:
        """Name of the size as the default id of a sheet has it.

        Examples
        --------
        >>> SizeKey(material="HB170", across_mm=900.0, around_mm=1200.0).label
        'HB170 900x1200'
        >>> SizeKey(material="HB170", across_mm=1066.8, around_mm=1524.0, unit=Unit.INCH).label
        'HB170 42x60'
        """
        per = MM_PER_INCH if self.unit is Unit.INCH else 1.0
        return f"{self.material} {plain(self.across_mm / per)}x{plain(self.around_mm / per)}"


def sizes_of(room: Room) -> tuple[SizeKey, ...]:
    """Return the different sheet sizes of a room, in order of material, across and around."""
    return tuple(
        sorted(
            {
                SizeKey(material=s.material, across_mm=s.across_mm, around_mm=s.around_mm, unit=room.unit)
                for s in room.sheets
            }
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Demand:
    """What simulated weeks draw from the store, path by path.

    Parameters
    ----------
    sizes : tuple of SizeKey
        The sheet sizes of the room.
    sheets : int array (paths, weeks, sizes)
        New sheets drawn of each size.
    cost : float array (paths, weeks)
        Cost of each week's plan: sheets and offcuts drawn, less credits of rests kept, plates, processing, cuts.
    drawn_m2 : float array (paths, weeks)
        Area of sheets and offcuts drawn.
    kept_m2 : float array (paths, weeks)
        Area of the rests kept.
    pieces_m2 : float array (paths, weeks)
        Area of the pieces placed.
    first_week : date
        Monday of week 0.
    seed : int
        Start of all random numbers.
    wanted_paths : int
        Paths asked for; more than ``paths`` where the simulation was interrupted.
    basis : tuple of str
        Sentences on the history it stands on and on what was assumed.
    """

    sizes: tuple[SizeKey, ...]
    sheets: np.ndarray
    cost: np.ndarray
    drawn_m2: np.ndarray
    kept_m2: np.ndarray
    pieces_m2: np.ndarray
    first_week: date
    seed: int
    wanted_paths: int
    currency: str = "EUR"
    basis: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """See that the arrays belong together.

        Raises
        ------
        ValueError
            If a shape differs, or ``first_week`` is no Monday.
        """
        shape = self.sheets.shape
        if len(shape) != 3 or shape[2] != len(self.sizes):
            raise ValueError(f"sheets must be paths x weeks x {len(self.sizes)} sizes, got {shape}")
        for name in ("cost", "drawn_m2", "kept_m2", "pieces_m2"):
            if getattr(self, name).shape != shape[:2]:
                raise ValueError(f"{name} must be {shape[:2]}, got {getattr(self, name).shape}")
        if self.first_week.weekday() != 0:
            raise ValueError(f"{self.first_week} is no Monday")

    @property
    def paths(self) -> int:
        """How many paths there are."""
        return int(self.sheets.shape[0])

    @property
    def weeks(self) -> int:
        """How many weeks a path has."""
        return int(self.sheets.shape[1])
