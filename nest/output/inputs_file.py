"""The inputs a plan was made from, as read: kept beside plan.json so that the plan can be checked from its folder.

The file is JSON: format, version, whether the reserve could be drawn, the rows and the room, each with every field of
its record, lengths in mm, rates per m2. Numbers are written so that they are read back exactly. What stands from an
earlier plan is told under ``standing``, a key that other plans leave out.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass, fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Union, get_args, get_origin, get_type_hints

from nest.domain.job import Row  # noqa: TC001 - the records are built from their type hints
from nest.domain.room import Room  # noqa: TC001
from nest.domain.standing import NONE, Standing
from nest.errors import Fault, InputError

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


class _Wrong(Exception):
    """A value of the file does not suit its place."""

    def __init__(self, place: str, rule: str, got: object) -> None:
        super().__init__(rule)
        self.place, self.rule, self.got = place, rule, got


def dump_inputs(inputs: Inputs) -> str:
    """Return the text of the file, one row a line; the same inputs always give the same bytes.

    Raises
    ------
    ValueError
        If a number is not finite.
    """
    rows = ",\n  ".join(_json(asdict(row)) for row in inputs.rows)
    return (
        f'{{"format": {_json(FORMAT)}, "version": {VERSION}, "use_reserve": {_json(inputs.use_reserve)},\n'
        f' "rows": [\n  {rows}],\n "room": {_json(asdict(inputs.room))}{_standing_text(inputs.standing)}}}\n'
    )


def _standing_text(standing: Standing) -> str:
    if standing == NONE:
        return ""
    withdrawn = tuple(
        _Withdrawn(job=job, separation=separation, part=part, copies=copies)
        for (job, separation, part), copies in sorted(standing.withdrawn.items())
    )
    told = _Standing(sheets=tuple(sorted(standing.sheets)), withdrawn=withdrawn)
    return f',\n "standing": {_json(asdict(told))}'


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
        read = _value(_File, value, "")
        if (read.format, read.version) != (FORMAT, VERSION):
            raise _Wrong("format", f"must be {FORMAT}, version {VERSION}", f"{read.format}, version {read.version}")
    except _Wrong as wrong:
        raise _fault(path, wrong.rule, repr(wrong.got)[:60], _REMEDY, wrong.place or None) from None
    standing = Standing(
        sheets=frozenset(read.standing.sheets),
        withdrawn={(one.job, one.separation, one.part): one.copies for one in read.standing.withdrawn},
    )
    return Inputs(rows=read.rows, room=read.room, use_reserve=read.use_reserve, standing=standing)


def _fault(path: Path, rule: str, got: str | None, remedy: str, where: str | None = None) -> InputError:
    return InputError((Fault(file=str(path), where=where, rule=rule, got=got, remedy=remedy),))


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_moment)


def _moment(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"no JSON for {type(value).__name__}")


def _value(kind: Any, value: Any, place: str) -> Any:
    """Return a JSON value as the type of its field wants it.

    Raises
    ------
    _Wrong
        If it does not suit.
    """
    if get_origin(kind) in (Union, UnionType):
        return _either(get_args(kind), value, place)
    if is_dataclass(kind) and isinstance(kind, type):
        return _record(kind, value, place)
    if get_origin(kind) is tuple and isinstance(value, list):
        item = get_args(kind)[0]
        return tuple(_value(item, one, f"{place}[{n}]") for n, one in enumerate(value))
    if get_origin(kind) is dict and isinstance(value, dict):
        item = get_args(kind)[1]
        return {key: _value(item, one, f"{place}.{key}") for key, one in value.items()}
    return _plain(kind, value, place)


def _either(kinds: tuple[Any, ...], value: Any, place: str) -> Any:
    if value is None and NoneType in kinds:
        return None
    for kind in (one for one in kinds if one is not NoneType):
        try:
            return _value(kind, value, place)
        except _Wrong as wrong:
            last = wrong
    raise last


def _record(kind: type, value: Any, place: str) -> Any:
    if not isinstance(value, dict):
        raise _Wrong(place, "must be an object", value)
    hints = _hints(kind)
    names = [field.name for field in fields(kind)]
    for name in sorted({*names} ^ {*value}):
        rule = "is missing" if name in names else "is unknown"
        raise _Wrong(f"{place}.{name}".lstrip("."), rule, value.get(name))
    return kind(**{name: _value(hints[name], value[name], f"{place}.{name}".lstrip(".")) for name in names})


@cache
def _hints(kind: type) -> dict[str, Any]:
    # the domain imports its dates for type checking only
    return get_type_hints(kind, localns={"date": date, "datetime": datetime})


def _plain(kind: Any, value: Any, place: str) -> Any:
    """Return a single value: text, number, yes or no, choice, date."""
    if kind is float and isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        return float(value)
    if kind in (bool, int, str) and type(value) is kind:
        return value
    if isinstance(kind, type) and issubclass(kind, StrEnum | date) and isinstance(value, str):
        try:
            return kind.fromisoformat(value) if issubclass(kind, date) else kind(value)
        except ValueError:
            raise _Wrong(place, f"must be a {kind.__name__.lower()}", value) from None
    raise _Wrong(place, f"must be a {getattr(kind, '__name__', str(kind))}", value)


