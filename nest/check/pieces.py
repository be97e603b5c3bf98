"""The piece each row must become, worked out anew from the row and the room."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.job import Turn

if TYPE_CHECKING:
    from nest.domain.job import GroupValue, Row
    from nest.domain.room import Room

TURNS = {
    Turn.SET: (0, 90, 180, 270),
    Turn.FREE: (0, 90, 180, 270),
    Turn.FIXED: (0, 180),
    Turn.CROSS: (90, 270),
}
"""Quarter turns each policy allows a piece on its own."""

GroupKey = tuple[str, tuple["GroupValue", ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The piece of a row at turn 0, mm: its size, its image's corner and size, and what rules it.

    ``least_border`` is the smallest floor border without bevel; ``wrap_limit`` the longest piece that goes round the
    row's cylinder (None without one); ``group`` what must agree on one plate, the material first.
    """

    row: Row
    turn: Turn
    w: float
    h: float
    image_x: float
    image_y: float
    image_w: float
    image_h: float
    least_border: float
    gap: float
    group: GroupKey
    wrap_limit: float | None

    def size(self, turn: int) -> tuple[float, float]:
        """Return the extent in x and y at a turn."""
        return (self.w, self.h) if turn % 180 == 0 else (self.h, self.w)

    def image(self, turn: int) -> tuple[float, float, float, float]:
        """Return the image's x, y, w, h from the piece's lower left corner after turning anticlockwise.

        Each quarter turn takes a point (x, y) of a piece h high to (h - y, x).
        """
        x0, y0 = self.image_x, self.image_y
        x1, y1 = x0 + self.image_w, y0 + self.image_h
        w, h = self.w, self.h
        for _ in range(turn // 90):
            x0, y0, x1, y1 = h - y1, x0, h - y0, x1
            w, h = h, w
        return x0, y0, x1 - x0, y1 - y0


def round_mm(value: float) -> float:
    """Return a length rounded to nearest 0.0001 mm, the step of finished sizes."""
    return round(value * 10_000) / 10_000


def own(value: float | None, usual: float) -> float:
    """Return the value given, else the usual one."""
    return usual if value is None else value


def stretch_of(row: Row, room: Room) -> float:
    """Return K in mm: by how much the face is longer than the base film once round the cylinder.

    K = 2*pi*(T - B) unless the material's K was measured (derived: the base film keeps its length, the face lies T - B
    further out; NV Publications' Q&A on plate stretch for the direction).
    """
    material = room.materials[row.material]
    if material.k_mm is not None:
        return material.k_mm
    return 2 * math.pi * (material.thickness_mm - own(material.base_mm, 0.0))


def factor_of(row: Row, room: Room) -> float:
    """Return f = 1 - K/R, by which the image is shortened around; 1 without a repeat or at plate size."""
    if row.at_plate_size or row.repeat_mm is None:
        return 1.0
    return 1.0 - stretch_of(row, room) / row.repeat_mm


def group_of(row: Row, room: Room) -> GroupKey:
    """Return what must agree on one plate: the material and every value the room groups by."""
    return row.material, tuple(_value(getattr(row, name)) for name in room.group_by)


def _value(value: GroupValue) -> GroupValue:
    """Return a grouping value as a number where it is one."""
    try:
        return float(value)
    except ValueError:
        return value


def states_relief(row: Row, relief: float) -> bool:
    """Return whether a row states this relief."""
    value = _value(row.relief)
    return isinstance(value, float) and abs(value - relief) <= 1e-9


def wanted_of(row: Row, room: Room) -> Wanted | str:
    """Return the piece of a row, or in words why there can be none."""
    if row.material not in room.materials:
        return f"material {row.material} is not in the room"
    material = room.materials[row.material]
    factor = factor_of(row, room)
    if not factor > 0:
        return f"repeat {row.repeat_mm} mm is not longer than K {stretch_of(row, room):.4f} mm"
    usual = own(row.border_mm, own(material.border_mm, room.border_mm))
    lead, tail = own(row.border_lead_mm, usual), own(row.border_tail_mm, usual)
    left, right = own(row.border_left_mm, usual), own(row.border_right_mm, usual)
    bevel = material.thickness_mm * math.tan(math.radians(own(material.bevel_deg, room.bevel_deg)))
    around = row.image_around_mm * factor
    limit = None if row.repeat_mm is None else row.repeat_mm - stretch_of(row, room) - room.seam_mm
    return Wanted(
        row=row,
        turn=room.turn if row.turn is None else row.turn,
        w=round_mm(row.image_across_mm + left + right + 2 * bevel),
        h=round_mm(around + lead + tail + 2 * bevel),
        image_x=round_mm(left + bevel),
        image_y=round_mm(lead + bevel),
        image_w=round_mm(row.image_across_mm),
        image_h=round_mm(around),
        least_border=min(lead, tail, left, right),
        gap=own(material.gap_mm, room.gap_mm),
        group=group_of(row, room),
        wrap_limit=limit,
    )
