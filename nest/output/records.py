"""Frozen records to JSON and back by their type hints: numbers read back exactly, wrong values named."""

from __future__ import annotations

import json
import math
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime, time
from enum import StrEnum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from nest.domain.job import Row


class Wrong(Exception):
    """A value of the file does not suit its place."""

    def __init__(self, place: str, rule: str, got: object) -> None:
        super().__init__(rule)
        self.place, self.rule, self.got = place, rule, got


def json_text(value: object) -> str:
    """Return a value as JSON; dates in ISO form."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_moment)


def _moment(value: object) -> str:
    if isinstance(value, date | time):
        return value.isoformat()
    raise TypeError(f"no JSON for {type(value).__name__}")


def value_as(kind: Any, value: Any, place: str) -> Any:
    """Return a JSON value as the type of its field wants it.

    Raises
    ------
    Wrong
        If it does not suit.
    """
    if get_origin(kind) in (Union, UnionType):
        return _either(get_args(kind), value, place)
    if is_dataclass(kind) and isinstance(kind, type):
        return _record(kind, value, place)
    if get_origin(kind) is tuple and isinstance(value, list):
        item = get_args(kind)[0]
        return tuple(value_as(item, one, f"{place}[{n}]") for n, one in enumerate(value))
    if get_origin(kind) is dict and isinstance(value, dict):
        item = get_args(kind)[1]
        return {key: value_as(item, one, f"{place}.{key}") for key, one in value.items()}
    return _plain(kind, value, place)


def _either(kinds: tuple[Any, ...], value: Any, place: str) -> Any:
    if value is None and NoneType in kinds:
        return None
    for kind in (one for one in kinds if one is not NoneType):
        try:
            return value_as(kind, value, place)
        except Wrong as wrong:
            last = wrong
    raise last


def _record(kind: type, value: Any, place: str) -> Any:
    if not isinstance(value, dict):
        raise Wrong(place, "must be an object", value)
    hints = _hints(kind)
    known = {field.name: field for field in fields(kind)}
    # a field with a usual value may be younger than the file; a row says all: a missing count must not pass for one
    needed = {name for name, field in known.items()
              if kind is Row or (field.default is MISSING and field.default_factory is MISSING)}
    for name in sorted({*needed} - {*value} | {*value} - {*known}):
        rule = "is missing" if name in known else "is unknown"
        raise Wrong(f"{place}.{name}".lstrip("."), rule, value.get(name))
    given = [name for name in known if name in value]
    return kind(**{name: value_as(hints[name], value[name], f"{place}.{name}".lstrip(".")) for name in given})


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
    if isinstance(kind, type) and issubclass(kind, StrEnum | date | time) and isinstance(value, str):
        try:
            return kind.fromisoformat(value) if issubclass(kind, date | time) else kind(value)
        except ValueError:
            raise Wrong(place, f"must be a {kind.__name__.lower()}", value) from None
    raise Wrong(place, f"must be a {getattr(kind, '__name__', str(kind))}", value)
