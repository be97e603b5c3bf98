"""A job given by options on the command line instead of a jobs file: read by the same rules, told by option."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.errors import InputError
from nest.intake.columns import HeaderMap
from nest.intake.faults import FaultList
from nest.intake.jobs import JobsContext, rows_of
from nest.intake.room import gather_room
from nest.intake.table import Line, Table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room

COLUMN_OF = {
    "--job": "job", "--colours": "separation", "--material": "material", "--across": "image_across",
    "--around": "image_around", "--repeat": "repeat", "--teeth": "teeth", "--copies": "copies", "--border": "border",
    "--at-plate-size": "at_plate_size",
}  # fmt: skip
"""The column that each option stands for."""
_OPTION_OF = {column: option for option, column in COLUMN_OF.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionTable(Table):
    """One record whose places are options."""

    def note(
        self, faults: FaultList, line: int, column: int | None, *, rule: str, remedy: str, got: str | None = None,
        name: str | None = None,
    ) -> None:  # fmt: skip
        """Note a fault of an option."""
        faults.add(line=line, show=False, where=_OPTION_OF.get(name or "", name), rule=rule, got=got, remedy=remedy)


def read_job(values: Mapping[str, str], colours: Sequence[str], room_path: Path) -> tuple[tuple[Row, ...], Room]:
    """Return a row for each colour, and the room.

    Parameters
    ----------
    values
        What was given, by option, as typed; ``--colours`` aside.
    colours
        Names of the separations.
    room_path
        The room file.

    Raises
    ------
    InputError
        With every fault of the room file and of the options.
    """
    room_faults, faults = FaultList(str(room_path)), FaultList("options")
    draft = gather_room(room_path, room_faults)
    given = {COLUMN_OF[option]: value.strip() for option, value in values.items() if value}
    cells = {"separation": colours[0], "image_across": "", "image_around": "", "material": "", **given}
    table = OptionTable(header=tuple(cells), header_line=1, lines=(Line(number=1, cells=tuple(cells.values())),))
    context = JobsContext(
        headers=HeaderMap(columns={}), unit=draft.unit, room=draft.room, room_name=str(room_path)
    )
    rows = rows_of(table, context, faults)
    found = (*room_faults.in_order(), *faults.in_order())
    if found or draft.room is None:
        raise InputError(found)
    return tuple(replace(rows[0], separation=colour) for colour in colours), draft.room
