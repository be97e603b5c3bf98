"""The week's jobs: from the cells of a jobs file to rows with lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from nest.domain.job import Row
from nest.intake.columns import COLUMNS, REQUIRED, SHAPED_BY, HeaderMap, Kind, find_columns
from nest.intake.faults import FaultList, quoted
from nest.intake.fields import (
    CHOICES,
    MAX_COPIES,
    MAX_TEETH,
    FieldFault,
    parse_border,
    parse_choice,
    parse_flag,
    parse_group,
    parse_moment,
    parse_name,
    parse_size,
    parse_text,
    parse_whole,
)
from nest.intake.open_table import read_table
from nest.intake.room import MM_PER_UNIT
from nest.intake.rules import RuleDesk, check_identities, check_room_rules, check_row_rules, with_repeat
from nest.intake.typed_numbers import Reading

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.room import Room, Unit
    from nest.intake.room import RoomFile
    from nest.intake.table import Line, Table

NUMBER_KINDS = frozenset({Kind.SIZE, Kind.BORDER, Kind.TEETH, Kind.COPIES, Kind.GROUP_NUMBER})
FIELD_OF = {
    name: f"{name}_mm" if kind in (Kind.SIZE, Kind.BORDER) else name for name, kind in COLUMNS.items()
}
"""The field of a row that each column fills."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobsContext:
    """What is known of the room while its jobs are read; a part is None where the room file is at fault."""

    headers: HeaderMap | None
    unit: Unit | None
    room: Room | None
    room_name: str


def read_jobs(path: Path, room_file: RoomFile, room_path: Path) -> tuple[Row, ...]:
    """Return the rows of a jobs file (.csv or .xlsx), in file order.

    Parameters
    ----------
    path
        The jobs file.
    room_file
        The room its lengths, materials and headers belong to.
    room_path
        Where the room was read from; only named in faults.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    faults = FaultList(str(path))
    context = JobsContext(
        headers=HeaderMap(columns=dict(room_file.columns), ignore=room_file.ignore),
        unit=room_file.room.unit,
        room=room_file.room,
        room_name=str(room_path),
    )
    rows = gather_jobs(path, context, faults)
    faults.stop_if_any()
    return rows


def gather_jobs(path: Path, context: JobsContext, faults: FaultList) -> tuple[Row, ...]:
    """Return the rows that can be read; everything wrong is noted in ``faults``."""
    known = context.headers.known() if context.headers is not None else frozenset(COLUMNS)
    table = read_table(path, known, faults)
    return () if table is None else rows_of(table, context, faults)


def rows_of(table: Table, context: JobsContext, faults: FaultList) -> tuple[Row, ...]:
    """Return the rows of a table that can be read; everything wrong is noted in ``faults``."""
    places = find_columns(table, context.headers, faults)
    numeric = [index for name, index in places.items() if COLUMNS[name] in NUMBER_KINDS]
    reading = Reading(
        decimal_comma=table.decimal_comma,
        comma_used=table.comma_used(numeric),
        mm_per_unit=None if context.unit is None else MM_PER_UNIT[context.unit],
    )
    read = (_row(line, table, places, reading, faults) for line in table.lines)
    rows = tuple(row for row in read if row is not None)
    desk = RuleDesk(table=table, places=places, faults=faults, room_name=context.room_name)
    check_identities(desk, context.room)
    check_row_rules(rows, desk)
    room = context.room
    if room is None:
        return rows
    rows = tuple(with_repeat(row, room, desk) for row in rows)
    check_room_rules(rows, room, desk)
    return rows


def _row(line: Line, table: Table, places: dict[str, int], reading: Reading, faults: FaultList) -> Row | None:
    """Return the row of a record, None after noting what is wrong with its cells."""
    values: dict[str, Any] = {}
    complete = True
    for name, index in places.items():
        text = line.cells[index]
        try:
            if text:
                values[FIELD_OF[name]] = parse_cell(name, text, reading)
        except FieldFault as fault:
            complete = False
            table.note(faults, line.number, index, name=name, rule=fault.rule, got=quoted(text), remedy=fault.remedy)
    shaped = any(line.cells[places[name]] for name in SHAPED_BY if name in places)
    for name in REQUIRED:
        index = places.get(name, -1)
        if index >= 0 and not line.cells[index] and not (shaped and name.startswith("image_")):
            complete = False
            table.note(faults, line.number, index, name=name, rule="must be filled", remedy=f"give the {_words(name)}")
    if not complete or any(FIELD_OF[name] not in values for name in REQUIRED):
        return None
    return Row(**values, line=line.number)


def parse_cell(name: str, text: str, reading: Reading) -> object:
    """Return the value of a filled cell of a column.

    Raises
    ------
    FieldFault
        With the rule that is broken and what to do.
    """
    kind = COLUMNS[name]
    if kind is Kind.NAME:
        return parse_name(text)
    if kind is Kind.TEXT:
        return parse_text(text)
    if kind is Kind.SIZE:
        return parse_size(text, reading)
    if kind is Kind.BORDER:
        return parse_border(text, reading)
    if kind is Kind.TEETH:
        return float(parse_whole(text, reading, most=MAX_TEETH))
    if kind is Kind.COPIES:
        return parse_whole(text, reading, most=MAX_COPIES)
    if kind is Kind.FLAG:
        return parse_flag(text)
    if kind is Kind.CHOICE:
        return parse_choice(text, CHOICES[name])
    if kind is Kind.MOMENT:
        return parse_moment(text)
    if kind is Kind.LATER:
        raise FieldFault(f"'{name}' is not supported yet", "empty the cell and give image_across and image_around")
    return parse_group(text, reading, numeric=kind is Kind.GROUP_NUMBER)


def _words(name: str) -> str:
    return {"image_across": "image's size across", "image_around": "image's size around"}.get(name, name)


