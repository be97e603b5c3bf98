"""Rules that join several cells, several rows, or a row and the room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import time
from typing import TYPE_CHECKING

from nest.domain.job import Row, RowKey, Together
from nest.intake.faults import offer, quoted
from nest.plates.groups import group_of
from nest.plates.pieces import factor_of, k_of
from nest.plates.shortening import repeat_of_teeth
from nest.units import MM_PER_INCH, plain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from nest.domain.room import Room
    from nest.intake.faults import FaultList
    from nest.intake.table import Line, Table

TEETH_TOLERANCE_MM = 0.05
"""Repeat and teeth of one row may differ by this much (design, section 4)."""
NOISE_MM = 1e-9
WHOLE = (Together.PLATE, Together.COPIES)
"""Rules that put all copies of a row on one plate."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleDesk:
    """Where the rules note faults: at a column of a row; ``room_name`` is the room file's name."""

    table: Table
    places: dict[str, int]
    faults: FaultList
    room_name: str = "the room file"

    def cell(self, line: Line, column: str) -> str:
        """Return the text of a column, empty where the table does not have it."""
        return line.cells[self.places[column]] if column in self.places else ""

    def note(self, line: int, column: str, *, rule: str, remedy: str, got: str | None = None) -> None:
        """Note a fault of a row at one of its columns."""
        index = self.places.get(column)
        self.table.note(self.faults, line, index, name=column, rule=rule, got=got, remedy=remedy)


def check_identities(desk: RuleDesk, room: Room | None) -> None:
    """Note doubles of job, separation and part, and unknown materials, also in rows with other faults."""
    first: dict[RowKey, int] = {}
    for line in desk.table.lines:
        key = (desk.cell(line, "job"), desk.cell(line, "separation"), desk.cell(line, "part"))
        if key in first and key[0] and key[1]:
            desk.note(
                line.number,
                "separation",
                rule=f"job, separation and part must be unique, line {first[key]} has the same",
                got=" / ".join(quoted(word) for word in key if word),
                remedy="raise copies for identical pieces, or name a part",
            )
        first.setdefault(key, line.number)
        material = desk.cell(line, "material")
        if room is not None and material and material not in room.materials:
            desk.note(
                line.number,
                "material",
                rule=f"no such material in {desk.room_name}",
                got=quoted(material),
                remedy=offer(material, room.materials),
            )


def check_row_rules(rows: Sequence[Row], desk: RuleDesk) -> None:
    """Note what can be judged without the room: dates the wrong way round, copies that exclude themselves."""
    for row in rows:
        if row.ready is not None and row.due is not None and _is_before(row.due, row.ready):
            desk.note(
                row.line,
                "due",
                rule=f"must not be before ready ({row.ready.isoformat(sep=' ')})",
                got=quoted(row.due.isoformat(sep=" ")),
                remedy="correct one of the two dates",
            )
        if row.apart and row.copies > 1 and row.together in WHOLE:
            desk.note(
                row.line,
                "apart",
                rule=f"{row.copies} copies cannot lie apart and on one plate (together = {row.together})",
                got="'yes'",
                remedy="drop apart, or drop together",
            )


def _is_before(due: datetime, ready: datetime) -> bool:
    """Whether plates are due before their artwork is ready; a due date without a time lasts all day."""
    return due.date() < ready.date() if due.time() == time() else due < ready


def with_repeat(row: Row, room: Room, desk: RuleDesk) -> Row:
    """Return the row with the repeat its teeth make; where both are given they must agree and the repeat counts."""
    if row.teeth is None:
        return row
    teeth = plain(row.teeth)
    if room.pitch_mm is None:
        desk.note(row.line, "teeth", rule="teeth need the room's pitch", got=quoted(teeth),
                  remedy=f"give pitch in {desk.room_name}, or write the repeat instead")
        return row
    made = repeat_of_teeth(row.teeth, room.pitch_mm)
    if row.repeat_mm is None:
        return replace(row, repeat_mm=made)
    if abs(row.repeat_mm - made) > TEETH_TOLERANCE_MM + NOISE_MM:
        desk.note(row.line, "teeth", got=quoted(teeth),
                  rule=f"repeat and teeth must agree within 0.05 mm: {teeth} teeth make {length(made, room)}, "
                       f"the repeat is {length(row.repeat_mm, room)}",
                  remedy="correct one of them, or leave one empty")
    return row


def check_room_rules(rows: Sequence[Row], room: Room, desk: RuleDesk) -> None:
    """Note rows that do not suit the room: repeat, relief, and rows that cannot share the plate they must share."""
    known = [row for row in rows if row.material in room.materials]
    for row in known:
        _check_repeat(row, room, desk)
        _check_relief(row, room, desk)
    _check_one_plate(known, room, desk)


def _check_repeat(row: Row, room: Room, desk: RuleDesk) -> None:
    if row.repeat_mm is None:
        return
    column = "repeat" if row.teeth is None else "teeth"
    k = k_of(room, row.material)
    got = quoted(length(row.repeat_mm, room))
    if row.repeat_mm <= k:
        desk.note(row.line, column, got=got, remedy="check the repeat and the material's thickness",
                  rule=f"the repeat must be longer than K = {length(k, room)} of {row.material}")
    elif row.image_around_mm * factor_of(row, room) < 0.1:
        desk.note(row.line, column, rule="shortened by this repeat the image is less than 0.1 mm around", got=got,
                  remedy="check the repeat and image_around")


def _check_relief(row: Row, room: Room, desk: RuleDesk) -> None:
    thickness = room.materials[row.material].thickness_mm
    if isinstance(row.relief, float) and row.relief * mm_per_unit(room) >= thickness:
        desk.note(row.line, "relief", got=quoted(plain(row.relief)), remedy="relief is thickness less floor",
                  rule=f"must be less than the thickness of {row.material}, {length(thickness, room)}")


def _check_one_plate(rows: Sequence[Row], room: Room, desk: RuleDesk) -> None:
    """Note rows of a job that must lie on one plate but differ in material or in what the room groups by."""
    first: dict[str, Row] = {}
    for row in rows:
        if row.together is not Together.PLATE:
            continue
        leader = first.setdefault(row.job, row)
        wanted, own = (leader.material, *group_of(leader, room)), (row.material, *group_of(row, room))
        for column, want, value in zip(("material", *room.group_by), wanted, own, strict=True):
            if value != want:
                desk.note(row.line, column, got=quoted(_shown(value)),
                          rule=f"rows of one job with together = plate must agree: line {leader.line} "
                               f"has {quoted(_shown(want))}",
                          remedy="make them agree, or drop together")


def _shown(value: float | str) -> str:
    return plain(value) if isinstance(value, float) else value


def mm_per_unit(room: Room) -> float:
    """Return the mm of one unit of the room's files."""
    return MM_PER_INCH if room.unit == "in" else 1.0


def length(mm: float, room: Room) -> str:
    """Return a length in the room's unit, such as ``304.8 mm`` or ``12 in``."""
    return f"{mm / mm_per_unit(room):.7g} {room.unit.value}"
