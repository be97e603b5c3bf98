"""Sizes that a supplier offers: a TOML file of ``[[sheets]]`` written like those of the room file."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING

from nest.intake.faults import FaultList
from nest.intake.keys import Keys
from nest.intake.room import MM_PER_UNIT, SAVE_AS_UTF8
from nest.intake.room_parts import read_sheets
from nest.intake.source import decode, read_bytes
from nest.intake.toml_lines import key_lines

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.room import Room, Sheet


def read_offer(path: Path, room: Room) -> tuple[Sheet, ...]:
    """Return the sheets of an offer, lengths in the unit of the room file they are offered to.

    Raises
    ------
    InputError
        With every fault of the file, each with its line and key.
    """
    faults = FaultList(str(path))
    data = read_bytes(path, faults)
    text = None if data is None else decode(data, faults, SAVE_AS_UTF8)
    sheets: tuple[Sheet, ...] = ()
    if text is not None:
        try:
            table = tomllib.loads(text)
            lines = key_lines(text.replace("\r\n", "\n"))
        except (ValueError, RecursionError) as error:
            faults.add(rule=f"not valid TOML ({error})", remedy="write [[sheets]] like those of the room file")
        else:
            keys = Keys(table, (), lines, faults, MM_PER_UNIT[room.unit])
            sheets = read_sheets(keys.tables("sheets"), room.materials)
            if "sheets" not in keys:
                keys.note(None, rule="must hold at least one sheet", remedy="add [[sheets]] as in the room file")
            keys.finish()
    faults.stop_if_any()
    return sheets
