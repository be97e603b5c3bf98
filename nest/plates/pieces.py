"""From a row of the jobs file to the piece that is cut: its size, its image inside it and its wrap check."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.room import Unit
from nest.plates.shortening import full_wrap_length, k_factor, shortening_factor
from nest.units import EPS_MM, MM_PER_INCH, to_units

if TYPE_CHECKING:
    from nest.domain.job import Row, Turn
    from nest.domain.room import Room

LEAST_TOLD_MM = {Unit.MM: 0.01, Unit.INCH: 0.0254}
"""Least excess that a warning tells of, in mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One row's piece at turn 0; sizes in units of 0.0001 mm, ``factor`` is the shortening.

    ``image_x`` and ``image_y`` are the image's lower left corner from the piece's; ``least_border`` is the smallest of
    the four floor borders without bevel. ``wrap_limit_mm`` is the longest piece that goes round the cylinder, None
    where there is no repeat.
    """

    row: Row
    turn: Turn
    factor: float
    w: int
    h: int
    image_x: int
    image_y: int
    image_w: int
    image_h: int
    least_border: int
    gap: int
    wrap_limit_mm: float | None

    @property
    def goes_round(self) -> bool:
        """Whether the piece goes round its cylinder, within the tolerance (True where there is no cylinder)."""
        return self.wrap_limit_mm is None or self.h <= to_units(self.wrap_limit_mm + EPS_MM)


def k_of(room: Room, material: str) -> float:
    """Return the material's K in mm: as measured, else from thickness and base film."""
    m = room.materials[material]
    return m.k_mm if m.k_mm is not None else k_factor(m.thickness_mm, m.base_mm or 0.0)


def borders_of(row: Row, room: Room) -> tuple[float, float, float, float]:
    """Return the floor borders in mm: lead, tail, left, right."""
    base = room.border_of(row.material) if row.border_mm is None else row.border_mm

    def own(value: float | None) -> float:
        return base if value is None else value

    return own(row.border_lead_mm), own(row.border_tail_mm), own(row.border_left_mm), own(row.border_right_mm)


def factor_of(row: Row, room: Room) -> float:
    """Return the shortening factor of a row: 1 where its sizes are already at plate size.

    Raises
    ------
    ValueError
        If the repeat is not longer than the material's K.
    """
    return 1.0 if row.at_plate_size else shortening_factor(k_of(room, row.material), row.repeat_mm)


def piece_of(row: Row, room: Room) -> Piece:
    """Return the piece of a row.

    Across never changes; around is shortened, then borders and bevel are added. Only the finished sizes are rounded.

    Raises
    ------
    ValueError
        If the repeat is not longer than the material's K.
    """
    lead, tail, left, right = borders_of(row, room)
    factor = factor_of(row, room)
    bevel = room.materials[row.material].thickness_mm * math.tan(math.radians(room.bevel_of(row.material)))
    image_h = row.image_around_mm * factor
    limit = None
    if row.repeat_mm is not None:
        limit = full_wrap_length(row.repeat_mm, k_of(room, row.material), room.seam_mm)
    return Piece(
        row=row,
        turn=row.turn or room.turn,
        factor=factor,
        w=to_units(row.image_across_mm + left + right + 2 * bevel),
        h=to_units(image_h + lead + tail + 2 * bevel),
        image_x=to_units(left + bevel),
        image_y=to_units(lead + bevel),
        image_w=to_units(row.image_across_mm),
        image_h=to_units(image_h),
        least_border=to_units(min(lead, tail, left, right)),
        gap=to_units(room.gap_of(row.material)),
        wrap_limit_mm=limit,
    )


def told_length(mm: float, unit: Unit) -> str:
    """Return a length as warnings tell it: mm to 0.01, inches to 0.001.

    Examples
    --------
    >>> told_length(304.8, Unit.MM), told_length(304.8, Unit.INCH)
    ('304.80 mm', '12.000 in')
    """
    return f"{mm:.2f} mm" if unit is Unit.MM else f"{mm / MM_PER_INCH:.3f} in"


def told_border(mm: float, unit: Unit) -> str:
    """Return a border as warnings offer it, rounded down to 0.1 mm or 0.005 in so that it does fit."""
    if unit is Unit.MM:
        return f"{math.floor(mm * 10) / 10:.1f} mm"
    return f"{math.floor(mm / MM_PER_INCH * 200) / 200:.3f} in"


def wrap_warning(piece: Piece, room: Room) -> str | None:
    """Return what is wrong when the piece does not go round its cylinder, with the border that would fit."""
    if piece.goes_round or piece.wrap_limit_mm is None:
        return None
    row = piece.row
    name = " ".join(word for word in (f"job {row.job}", row.separation, row.part) if word)
    length = piece.h / 10_000
    over = length - piece.wrap_limit_mm
    sizes = [told_length(mm, room.unit) for mm in (length, over, piece.wrap_limit_mm, row.repeat_mm or 0.0)]
    if sizes[1] == told_length(0.0, room.unit):
        sizes[1] = told_length(LEAST_TOLD_MM[room.unit], room.unit)
    text = (
        f"{name}: around {sizes[0]} is {sizes[1]} longer than its cylinder takes ({sizes[2]} at repeat {sizes[3]})"
    )
    lead, tail, _, _ = borders_of(row, room)
    fits = (lead + tail - over) / 2
    if fits >= 0:
        return f"{text}; borders of {told_border(fits, room.unit)} at lead and tail would fit"
    return f"{text}; image too long for this cylinder"


def turned_image(piece: Piece, turn: int) -> tuple[int, int, int, int]:
    """Return the image's box (x, y, w, h) from the turned piece's lower left corner, turns anticlockwise.

    Raises
    ------
    ValueError
        If the turn is not a quarter turn.
    """
    x, y, w, h = piece.image_x, piece.image_y, piece.image_w, piece.image_h
    if turn == 0:
        return x, y, w, h
    if turn == 90:
        return piece.h - y - h, x, h, w
    if turn == 180:
        return piece.w - x - w, piece.h - y - h, w, h
    if turn == 270:
        return y, piece.w - x - w, h, w
    raise ValueError(f"a piece turns by quarter turns, got {turn}")
