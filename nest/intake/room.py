"""The room file: room.toml to the room, its own column headers, and every fault in it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from nest.domain.job import Turn
from nest.domain.line import USUAL_ROOM_LINE
from nest.domain.room import Buying, Costs, Cutting, Guides, Room, Unit
from nest.errors import NestError
from nest.intake.calendar import read_calendar
from nest.intake.columns import COLUMNS, IGNORE_ALL, HeaderMap
from nest.intake.faults import FaultList, offer, quoted
from nest.intake.keys import Keys
from nest.intake.line import read_line
from nest.intake.room_buying import read_buying
from nest.intake.room_parts import (
    MAX_BEVEL_DEG,
    read_costs,
    read_guides,
    read_imager,
    read_materials,
    read_offcuts,
    read_sheets,
    read_stations,
)
from nest.intake.room_rules import check_room
from nest.intake.room_selling import read_selling
from nest.intake.source import decode, read_bytes
from nest.intake.toml_lines import KeyPath, key_lines
from nest.plates.groups import GROUP_COLUMNS
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from pathlib import Path

MM_PER_UNIT = {Unit.MM: Fraction(1), Unit.INCH: Fraction(str(MM_PER_INCH))}
"""Exact millimetres of one unit of the files."""
SECTIONS = ("imager", "stations", "materials", "costs", "guides", "calendar", "buying", "selling", "line")
DEFAULT_SEAM_MM = 2.0
DEFAULT_GROUP_BY = ("relief", "resolution")
PLACE = re.compile(r" \(at (?:line (?P<line>[0-9]+), column (?P<column>[0-9]+)|end of document)\)$")
SAVE_AS_UTF8 = "save it as plain UTF-8 text"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomFile:
    """A room and how its shop names the columns of its jobs files.

    ``columns`` maps own headers to ours; ``ignore`` holds headers passed over, ``*`` for all unknown ones.
    """

    room: Room
    columns: dict[str, str]
    ignore: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomDraft:
    """What a room file says as far as it can be read; a part is None where the file is at fault in it."""

    unit: Unit | None = None
    headers: HeaderMap | None = None
    room: Room | None = None


def read_room(path: Path) -> RoomFile:
    """Return the room of a TOML file, lengths in mm, rates per m2.

    Raises
    ------
    InputError
        With every fault of the file, each with its line and key.
    """
    faults = FaultList(str(path))
    draft = gather_room(path, faults)
    faults.stop_if_any()
    if draft.room is None or draft.headers is None:
        raise NestError(f"{path}: no fault found, yet no room either")
    return RoomFile(room=draft.room, columns=dict(draft.headers.columns), ignore=draft.headers.ignore)


def gather_room(path: Path, faults: FaultList) -> RoomDraft:
    """Return what can be read of a room file; everything wrong is noted in ``faults``."""
    data = read_bytes(path, faults)
    text = None if data is None else decode(data, faults, SAVE_AS_UTF8)
    if text is None:
        return RoomDraft()
    try:
        table = tomllib.loads(text)
        lines = key_lines(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        _note_syntax(str(error), text, faults)
        return RoomDraft()
    except (ValueError, RecursionError):
        faults.add(rule="must be a plain TOML file", remedy="look for figures of thousands of digits or deep nesting")
        return RoomDraft()
    return _draft(table, lines, faults)


def _note_syntax(message: str, text: str, faults: FaultList) -> None:
    found = PLACE.search(message)
    rule = message[: found.start()] if found else message
    line = int(found["line"]) if found and found["line"] else text.rstrip().count("\n") + 1
    where = f"column {found['column']}" if found and found["column"] else "end of the file"
    faults.add(
        line=line, where=where, rule=f"not valid TOML ({rule})", remedy="correct the line; text stands in quotes"
    )


def _draft(table: dict[str, object], lines: dict[KeyPath, int], faults: FaultList) -> RoomDraft:
    """Return the room of a parsed file."""
    probe = Keys(table, (), lines, FaultList(faults.file), Fraction(1))
    unit = probe.choice("unit", Unit, Unit.MM)
    unit_known = not probe.faults
    keys = Keys(table, (), lines, faults, MM_PER_UNIT[unit])
    room = _room(keys)
    headers = _headers(keys)
    keys.finish()
    if room is not None:
        check_room(room, keys)
    return RoomDraft(unit=unit if unit_known else None, headers=headers, room=None if faults else room)


def _room(keys: Keys) -> Room | None:
    """Return the room, None where a part without which there is none is missing."""
    unit = keys.choice("unit", Unit, Unit.MM)
    parts = {name: keys.section(name) for name in SECTIONS}
    for name in ("imager", "materials"):
        if name not in keys:
            keys.note(None, rule=f"the required table [{name}] is missing", remedy=f"add [{name}]" + EXAMPLES[name])
    imager = read_imager(parts["imager"]) if parts["imager"] is not None else None
    stations = read_stations(parts["stations"]) if parts["stations"] is not None else ()
    materials = read_materials(parts["materials"]) if parts["materials"] is not None else {}
    if parts["materials"] is not None and not parts["materials"].table:
        keys.note("materials", rule="must hold at least one material", remedy="add a table" + EXAMPLES["materials"])
    named = None if parts["materials"] is None else tuple(parts["materials"].table)
    sheets = read_sheets(keys.tables("sheets"), named)
    offcuts = read_offcuts(keys.tables("offcuts"), named)
    costs = read_costs(parts["costs"]) if parts["costs"] is not None else Costs()
    guides = read_guides(parts["guides"], unit) if parts["guides"] is not None else Guides()
    calendar = read_calendar(parts["calendar"]) if parts["calendar"] is not None else None
    buying = read_buying(parts["buying"]) if parts["buying"] is not None else Buying()
    selling = read_selling(parts["selling"]) if parts["selling"] is not None else None
    line = read_line(parts["line"]) if parts["line"] is not None else USUAL_ROOM_LINE
    currency = keys.text("currency") or "EUR"
    plain = {name: keys.length_or(name, 0.0) for name in ("gap", "border")}
    bevel = keys.number_or("bevel_deg", 0.0, most=MAX_BEVEL_DEG)
    cutting, turn = keys.choice("cutting", Cutting, Cutting.GUILLOTINE), keys.choice("turn", Turn, Turn.SET)
    group_by, seam, pitch = _group_by(keys), keys.length_or("seam", DEFAULT_SEAM_MM), keys.length("pitch", above=True)
    if imager is None:
        return None
    return Room(
        unit=unit,
        currency=currency,
        cutting=cutting,
        gap_mm=plain["gap"],
        border_mm=plain["border"],
        bevel_deg=bevel,
        turn=turn,
        group_by=group_by,
        seam_mm=seam,
        pitch_mm=pitch,
        imager=imager,
        stations=stations,
        materials=materials,
        sheets=sheets,
        offcuts=offcuts,
        costs=costs,
        guides=guides,
        calendar=calendar,
        buying=buying,
        selling=selling,
        line=line,
    )


EXAMPLES = {
    "imager": " with max_across and max_around",
    "materials": " such as [materials.HB170] with thickness and base",
}


def _group_by(keys: Keys) -> tuple[str, ...]:
    """Return the columns whose values must agree on one plate."""
    value = keys.take("group_by")
    if value is None:
        return DEFAULT_GROUP_BY
    if not isinstance(value, list) or not all(isinstance(name, str) for name in value):
        keys.note("group_by", rule="must be a list of column names", got=quoted(value),
                  remedy='write it like ["relief", "resolution"]')
        return DEFAULT_GROUP_BY
    for n, name in enumerate(value):
        if name not in GROUP_COLUMNS:
            keys.note("group_by", rule=f"must name columns among {', '.join(GROUP_COLUMNS)}", got=quoted(name),
                      remedy=offer(name, GROUP_COLUMNS))
        elif name in value[:n]:
            keys.note("group_by", rule="must name each column once", got=quoted(name), remedy="remove one")
    return tuple(value)


def _headers(keys: Keys) -> HeaderMap | None:
    """Return the shop's own headers, None after noting what is wrong with them."""
    own = keys.section("columns")
    if own is None:
        return None if "columns" in keys else HeaderMap(columns={})
    columns: dict[str, str] = {}
    ignore: tuple[str, ...] = ()
    sound = True
    for key in own.table:
        value = own.take(key)
        if key == "ignore" and not isinstance(value, str):
            listed = isinstance(value, list) and all(isinstance(header, str) for header in value)
            ignore = tuple(str(header).strip() for header in value) if listed and isinstance(value, list) else ()
            rule, remedy = "must be a list of headers", f'write it like ["Operator"], or ["{IGNORE_ALL}"] for all'
        else:
            listed = isinstance(value, str) and value.strip() in COLUMNS
            columns[key.strip()] = str(value).strip()
            rule = "must name a column of ours"
            remedy = offer(value, COLUMNS) if isinstance(value, str) else "write the column in quotes"
        if not listed:
            sound = False
            own.note(key, rule=rule, got=quoted(value), remedy=remedy)
    for header in sorted(set(columns) & set(ignore)):
        sound = False
        own.note("ignore", rule="a header is either mapped or ignored", got=quoted(header), remedy="remove one of them")
    return HeaderMap(columns=columns, ignore=ignore) if sound else None
