"""Reading a plan file: text to plain values, plain values against the JSON Schema, then to a plan."""

from __future__ import annotations

import difflib
import json
import math
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from nest.domain.job import Need
from nest.domain.plan import (
    Areas,
    CostParts,
    Cut,
    CutStage,
    Edge,
    KeepOut,
    PlacedPiece,
    Plan,
    PlannedPlate,
    PlannedSheet,
    Rect,
    Rest,
    Source,
    SourceKind,
    StoppedBy,
    Totals,
    Unplaced,
    Yields,
)
from nest.errors import Fault, InputError
from nest.output.calendar_file import calendar_from_json

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from jsonschema.exceptions import ValidationError
    from jsonschema.protocols import Validator

SCHEMA_FILE = "plan.schema.json"
_AGAIN = "make the plan again with nest plan"
_TYPE_WORDS = {
    "object": "an object",
    "array": "a list",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "null",
}


def read_plan_text(path: Path) -> dict[str, Any]:
    """Return the plain values of a plan file that follows the schema.

    Raises
    ------
    InputError
        With every fault found.
    """
    file = str(path)
    text = _file_text(path)
    value = _parsed(text, file)
    faults = tuple(_faults(value, file))
    if faults:
        raise InputError(faults)
    return dict(value)


def _one(file: str, rule: str, remedy: str, got: str | None = None, line: int | None = None,
         where: str | None = None) -> InputError:
    return InputError((Fault(file=file, line=line, where=where, rule=rule, got=got, remedy=remedy),))


def _file_text(path: Path) -> str:
    file = str(path)
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise _one(file, "the plan file must exist", "give the path of a plan.json") from None
    except IsADirectoryError:
        raise _one(file, "a plan is a file", "give the plan.json inside this folder", "a folder") from None
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise _one(file, "the plan file must be readable", "check its path and rights", reason) from None
    if not raw.strip():
        raise _one(file, "a plan file holds a plan", _AGAIN, "an empty file")
    if b"\0" in raw:
        raise _one(file, "a plan file is UTF-8 text", "give a plan.json", "a binary file")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        got = f"byte 0x{raw[fault.start]:02x}"
        raise _one(file, "a plan file is UTF-8 text", "save it as UTF-8", got, line) from None


def _no_constant(word: str) -> float:
    raise ValueError(f"numbers must be finite, got {word}")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"numbers must be finite, got {text[:40]}")
    return value


def _whole(text: str) -> int:
    # Longer ones could not become a float; no count, size or seed of a plan is near it.
    if len(text) > 40:
        raise ValueError(f"numbers must have at most 40 digits, got {text[:20]}…")
    return int(text)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"a key may stand once in an object, got {twice!r} twice")
    return out


def _parsed(text: str, file: str) -> Any:
    try:
        value = json.loads(
            text, parse_constant=_no_constant, parse_float=_finite, parse_int=_whole, object_pairs_hook=_object
        )
    except json.JSONDecodeError as fault:
        got = f"{fault.msg.lower()} in column {fault.colno}"
        raise _one(file, "a plan file is JSON", _AGAIN, got, fault.lineno) from None
    except RecursionError:
        raise _one(file, "a plan file is JSON of a few levels", _AGAIN, "lists nested too deep") from None
    except ValueError as fault:
        rule, _, got = str(fault).partition(", got ")
        raise _one(file, rule, _AGAIN, got or None) from None
    # A lone surrogate can only come from a \u escape; it could never be written out again.
    if "\\ud" in text.lower():
        try:
            json.dumps(value, ensure_ascii=False).encode()
        except UnicodeEncodeError:
            raise _one(file, "text must be Unicode", _AGAIN, "half of a surrogate pair") from None
    return value


@cache
def _validator() -> Validator:
    # Imported here: half of the time of a command that reads no plan would go into it.
    from jsonschema import Draft202012Validator

    schema = json.loads(resources.files("nest.output").joinpath(SCHEMA_FILE).read_text(encoding="utf-8"))
    return Draft202012Validator(_without_refs(schema, schema.pop("$defs")))


def _without_refs(part: Any, defs: Mapping[str, Any]) -> Any:
    """Return the schema with each reference replaced by what it names: checking is a fifth faster then."""
    if isinstance(part, dict):
        if "$ref" in part:
            return _without_refs(defs[part["$ref"].rpartition("/")[2]], defs)
        return {key: _without_refs(value, defs) for key, value in part.items()}
    return [_without_refs(item, defs) for item in part] if isinstance(part, list) else part


def _faults(value: Any, file: str) -> Iterable[Fault]:
    if not isinstance(value, dict):
        got = _shown(value)
        yield Fault(file=file, where="$", rule="must be an object", got=got, remedy="give a plan.json")
        return
    for key, want in (("format", "nest-plan"), ("version", 1)):
        # A different format or version explains every other difference: one fault says it all.
        if value.get(key) != want or isinstance(value.get(key), bool):
            got = _shown(value[key]) if key in value else "no such key"
            yield Fault(file=file, where=f"$.{key}", rule=f"must be {json.dumps(want)}", got=got, remedy=_AGAIN)
            return
    for error in sorted(_validator().iter_errors(value), key=_place):
        yield from _fault(error, file)


def _place(error: ValidationError) -> list[str]:
    return [f"{step:09}" if isinstance(step, int) else step for step in error.path]


def _fault(error: ValidationError, file: str) -> Iterable[Fault]:
    where = error.json_path
    keyword, want = str(error.validator), error.validator_value
    got: Any = error.instance
    if keyword == "required":
        # One error comes for each missing key; its text starts with the key in quotes.
        key = error.message.split("'")[1]
        yield Fault(file=file, where=where, rule=f"must have the key {key!r}", got="none", remedy=_AGAIN)
    elif keyword == "additionalProperties":
        known = list(error.schema["properties"]) if isinstance(error.schema, dict) else []
        for key in sorted(set(got) - set(known)):
            near = difflib.get_close_matches(key, known, 1)
            remedy = f"did you mean {near[0]!r}?" if near else "take it out"
            yield Fault(file=file, where=where, rule="may hold known keys only", got=_shown(key), remedy=remedy)
    else:
        yield Fault(file=file, where=where, rule=_rule(keyword, want), got=_shown(got), remedy=_AGAIN)


def _rule(keyword: str, want: Any) -> str:
    if keyword == "type":
        names = want if isinstance(want, list) else [want]
        return "must be " + " or ".join(_TYPE_WORDS[name] for name in names)
    words = {
        "minimum": f"must be at least {want}",
        "exclusiveMinimum": f"must be above {want}",
        "minLength": "must not be empty",
        "minItems": f"must have at least {want} members",
        "maxItems": f"must have at most {want} members",
        "const": f"must be {json.dumps(want)}",
    }
    if keyword == "enum":
        return "must be one of " + ", ".join(json.dumps(choice) for choice in want)
    return words.get(keyword, f"must keep the rule {keyword} {want}")


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else text[:59] + "…"


def plan_from_json(data: Mapping[str, Any]) -> Plan:
    """Return the plan of plain values that follow the schema (they are not checked again here)."""
    return Plan(
        currency=data["currency"],
        seed=int(data["seed"]),
        stopped_by=StoppedBy(data["stopped_by"]),
        sheets=tuple(_sheet(item) for item in data["sheets"]),
        unplaced=tuple(_unplaced(item) for item in data["unplaced"]),
        warnings=tuple(data["warnings"]),
        totals=_totals(data["totals"]),
        proof=data.get("proof", ""),
        made_by=data.get("made_by", ""),
        calendar=calendar_from_json(data["calendar"]) if "calendar" in data else None,
    )


def _rect(data: Mapping[str, Any]) -> Rect:
    return Rect(x=float(data["x"]), y=float(data["y"]), w=float(data["w"]), h=float(data["h"]))


def _sheet(data: Mapping[str, Any]) -> PlannedSheet:
    return PlannedSheet(
        id=data["id"],
        source=Source(kind=SourceKind(data["source"]["kind"]), ref=data["source"]["ref"]),
        material=data["material"],
        across_mm=float(data["across"]),
        around_mm=float(data["around"]),
        cost=float(data["cost"]),
        plates=tuple(_plate(item) for item in data["plates"]),
        rests=tuple(
            Rest(id=item["id"], rect=_rect(item), kept=item["kept"], credit=float(item["credit"]))
            for item in data["rests"]
        ),
        cuts=tuple(_cut(item) for item in data["cuts"]),
        lot=data.get("lot"),
        expiry=data.get("expiry"),
    )


def _plate(data: Mapping[str, Any]) -> PlannedPlate:
    return PlannedPlate(
        id=data["id"],
        rect=_rect(data),
        lead=Edge(data["lead"]),
        keep_out=KeepOut(**{edge: float(depth) for edge, depth in data["keep_out"].items()}),
        process=float(data["process"]),
        pieces=tuple(_piece(item) for item in data["pieces"]),
        free=tuple(_rect(item) for item in data["free"]),
        group=data.get("group", ""),
        batch=data.get("batch", ""),
    )


def _piece(data: Mapping[str, Any]) -> PlacedPiece:
    outline = data.get("outline")
    return PlacedPiece(
        job=data["job"],
        separation=data["separation"],
        part=data["part"],
        copy=int(data["copy"]),
        rect=_rect(data),
        turn=int(data["turn"]),
        image=_rect(data["image"]),
        outline=None if outline is None else tuple((float(x), float(y)) for x, y in outline),
    )


def _cut(data: Mapping[str, Any]) -> Cut:
    return Cut(
        order=int(data["order"]),
        stage=CutStage(data["stage"]),
        plate=data["plate"],
        x1=float(data["x1"]),
        y1=float(data["y1"]),
        x2=float(data["x2"]),
        y2=float(data["y2"]),
    )


def _unplaced(data: Mapping[str, Any]) -> Unplaced:
    return Unplaced(
        job=data["job"],
        separation=data["separation"],
        part=data["part"],
        copies=int(data["copies"]),
        need=Need(data["need"]),
        reason=data["reason"],
    )


def _totals(data: Mapping[str, Any]) -> Totals:
    def figures(key: str) -> dict[str, float]:
        return {name: float(value) for name, value in data[key].items()}

    return Totals(
        cost=float(data["cost"]),
        bound=float(data["bound"]),
        bound_gap=float(data["bound_gap"]),
        sheets=int(data["sheets"]),
        plates=int(data["plates"]),
        raw_cuts=int(data["raw_cuts"]),
        pieces=int(data["pieces"]),
        cost_parts=CostParts(**figures("cost_parts")),
        area=Areas(**figures("area")),
        yields=Yields(**figures("yield")),
    )
