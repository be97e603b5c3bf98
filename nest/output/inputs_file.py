"""The inputs a plan was made from, as read: kept beside plan.json so that the plan can be checked from its folder.

The file is JSON: format, version, whether the reserve could be drawn, the rows and the room, each with every field of
its record, lengths in mm, rates per m2. Numbers are written so that they are read back exactly. What stands from an
earlier plan is told under ``standing``, a key that other plans leave out.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from nest.domain.job import Row  # noqa: TC001 - the records are built from their type hints
from nest.domain.room import Room  # noqa: TC001
from nest.domain.standing import NONE, Standing
from nest.errors import Fault, InputError
from nest.output.records import Wrong, json_text, value_as

if TYPE_CHECKING:
    from pathlib import Path

FORMAT = "nest-inputs"
VERSION = 1
NAME = "inputs.json"
_REMEDY = "make the plan again with nest plan, or give --jobs and --room"


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What a plan was made from."""

    rows: tuple[Row, ...]
    room: Room
    use_reserve: bool = False
    standing: Standing = NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class _Withdrawn:
    """Copies of a row that are no longer made."""

    job: str
    separation: str
    part: str
    copies: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Standing:
    """What stands from an earlier plan, as the file has it."""

    sheets: tuple[str, ...] = ()
    withdrawn: tuple[_Withdrawn, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    """The whole file."""

    format: str
    version: int
    use_reserve: bool
    rows: tuple[Row, ...]
    room: Room
    standing: _Standing


def dump_inputs(inputs: Inputs) -> str:
    """Return the text of the file, one row a line; the same inputs always give the same bytes.

    Raises
    ------
    ValueError
        If a number is not finite.
    """
    rows = ",\n  ".join(json_text(asdict(row)) for row in inputs.rows)
    return (
        f'{{"format": {json_text(FORMAT)}, "version": {VERSION}, "use_reserve": {json_text(inputs.use_reserve)},\n'
        f' "rows": [\n  {rows}],\n "room": {json_text(asdict(inputs.room))}{_standing_text(inputs.standing)}}}\n'
    )


def _standing_text(standing: Standing) -> str:
    if standing == NONE:
        return ""
    withdrawn = tuple(
        _Withdrawn(job=job, separation=separation, part=part, copies=copies)
        for (job, separation, part), copies in sorted(standing.withdrawn.items())
    )
    told = _Standing(sheets=tuple(sorted(standing.sheets)), withdrawn=withdrawn)
    return f',\n "standing": {json_text(asdict(told))}'


def load_inputs(path: Path) -> Inputs:
    """Read the file.

    Raises
    ------
    InputError
        If it is missing or is not as `dump_inputs` writes it: the place, the rule, the value got and what to do.
    """
    try:
        value = json.loads(path.read_bytes().decode("utf-8"))
    except FileNotFoundError:
        raise _fault(path, "the inputs of the plan must stand beside it", None, _REMEDY) from None
    except (OSError, ValueError, RecursionError) as error:
        raise _fault(path, "the inputs of a plan are readable JSON", str(error), _REMEDY) from None
    try:
        if isinstance(value, dict):
            value.setdefault("standing", {"sheets": [], "withdrawn": []})
        read = value_as(_File, value, "")
        if (read.format, read.version) != (FORMAT, VERSION):
            raise Wrong("format", f"must be {FORMAT}, version {VERSION}", f"{read.format}, version {read.version}")
    except Wrong as wrong:
        raise _fault(path, wrong.rule, repr(wrong.got)[:60], _REMEDY, wrong.place or None) from None
    standing = Standing(
        sheets=frozenset(read.standing.sheets),
        withdrawn={(one.job, one.separation, one.part): one.copies for one in read.standing.withdrawn},
    )
    return Inputs(rows=read.rows, room=read.room, use_reserve=read.use_reserve, standing=standing)


def _fault(path: Path, rule: str, got: str | None, remedy: str, where: str | None = None) -> InputError:
    return InputError((Fault(file=str(path), where=where, rule=rule, got=got, remedy=remedy),))
