"""The plan file: a plan as text with a fixed order of keys and a fixed precision, and back.

Writing rounds: lengths to 4 decimals of a mm, areas to 6 decimals of a m2, money to cents, ratios to 6 decimals. A plan
that went through `rounded_plan` is read back equal to what was written.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from nest.errors import Fault, InputError
from nest.output.calendar_file import calendar_to_json
from nest.output.plan_reading import plan_from_json, read_plan_text
from nest.units import money

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.plan import (
        Cut,
        PlacedPiece,
        Plan,
        PlannedPlate,
        PlannedSheet,
        Rect,
        Rest,
        Totals,
        Unplaced,
    )

FORMAT = "nest-plan"
VERSION = 1


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """Return a plan as the plain values of its file, in the order of keys in which they are written."""
    top: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "currency": plan.currency,
        "seed": plan.seed,
        "stopped_by": plan.stopped_by.value,
    }
    if plan.proof:
        top["proof"] = plan.proof
    if plan.made_by:
        top["made_by"] = plan.made_by
    top["sheets"] = [_sheet(sheet) for sheet in plan.sheets]
    top["unplaced"] = [_unplaced(row) for row in plan.unplaced]
    top["warnings"] = list(plan.warnings)
    top["totals"] = _totals(plan.totals)
    if plan.calendar is not None:
        top["calendar"] = calendar_to_json(plan.calendar)
    return top


def dump_plan(plan: Plan) -> str:
    """Return the text of the plan file: the same plan always gives the same bytes, one piece a line.

    Raises
    ------
    ValueError
        If a figure of the plan is not finite.
    """
    return _text(plan_to_json(plan), 0) + "\n"


def load_plan(path: Path) -> Plan:
    """Read a plan file.

    Raises
    ------
    InputError
        With every fault of the file: its JSON path, the rule, the value got and what to do.
    """
    values = read_plan_text(path)
    try:
        return plan_from_json(values)
    except ValueError as wrong:
        fault = Fault(file=str(path), where="$.calendar", rule="moments must be real dates and times", got=str(wrong),
                      remedy="make the plan again with nest plan")
        raise InputError((fault,)) from None


def rounded_plan(plan: Plan) -> Plan:
    """Return the plan with every figure at the precision of the file, so that reading it back gives the same plan."""
    return plan_from_json(plan_to_json(plan))


def _mm(value: float) -> float:
    # Adding zero turns -0.0 into 0.0, which would otherwise differ in the text.
    return round(float(value), 4) + 0.0


def _ratio(value: float) -> float:
    return round(float(value), 6) + 0.0


def _cents(value: float) -> float:
    return money(value) + 0.0


def _rect(rect: Rect) -> dict[str, float]:
    return {"x": _mm(rect.x), "y": _mm(rect.y), "w": _mm(rect.w), "h": _mm(rect.h)}


def _sheet(sheet: PlannedSheet) -> dict[str, Any]:
    out: dict[str, Any] = {
        "id": sheet.id,
        "source": {"kind": sheet.source.kind.value, "ref": sheet.source.ref},
        "material": sheet.material,
    }
    if sheet.lot is not None:
        out["lot"] = sheet.lot
    if sheet.expiry is not None:
        out["expiry"] = sheet.expiry
    return out | {
        "across": _mm(sheet.across_mm),
        "around": _mm(sheet.around_mm),
        "cost": _cents(sheet.cost),
        "plates": [_plate(plate) for plate in sheet.plates],
        "rests": [_rest(rest) for rest in sheet.rests],
        "cuts": [_cut(cut) for cut in sheet.cuts],
    }


def _plate(plate: PlannedPlate) -> dict[str, Any]:
    keep = plate.keep_out
    group = {"group": plate.group} if plate.group else {}
    batch = {"batch": plate.batch} if plate.batch else {}
    return {
        "id": plate.id,
        **group,
        **batch,
        **_rect(plate.rect),
        "lead": plate.lead.value,
        "keep_out": {"x0": _mm(keep.x0), "x1": _mm(keep.x1), "y0": _mm(keep.y0), "y1": _mm(keep.y1)},
        "process": _cents(plate.process),
        "pieces": [_piece(piece) for piece in plate.pieces],
        "free": [_rect(rect) for rect in plate.free],
    }


def _piece(piece: PlacedPiece) -> dict[str, Any]:
    outline = None if piece.outline is None else [[_mm(x), _mm(y)] for x, y in piece.outline]
    return {
        "job": piece.job,
        "separation": piece.separation,
        "part": piece.part,
        "copy": piece.copy,
        **_rect(piece.rect),
        "turn": piece.turn,
        "image": _rect(piece.image),
        "outline": outline,
    }


def _rest(rest: Rest) -> dict[str, Any]:
    return {"id": rest.id, **_rect(rest.rect), "kept": rest.kept, "credit": _cents(rest.credit)}


def _cut(cut: Cut) -> dict[str, Any]:
    ends = {"x1": _mm(cut.x1), "y1": _mm(cut.y1), "x2": _mm(cut.x2), "y2": _mm(cut.y2)}
    return {"order": cut.order, "stage": cut.stage.value, "plate": cut.plate, **ends}


def _unplaced(row: Unplaced) -> dict[str, Any]:
    return {
        "job": row.job,
        "separation": row.separation,
        "part": row.part,
        "copies": row.copies,
        "need": row.need.value,
        "reason": row.reason,
    }


def _totals(totals: Totals) -> dict[str, Any]:
    return {
        "cost": _cents(totals.cost),
        "bound": _cents(totals.bound),
        "bound_gap": _ratio(totals.bound_gap),
        "sheets": totals.sheets,
        "plates": totals.plates,
        "raw_cuts": totals.raw_cuts,
        "pieces": totals.pieces,
        "cost_parts": {name: _cents(value) for name, value in asdict(totals.cost_parts).items()},
        "area": {name: _ratio(value) for name, value in asdict(totals.area).items()},
        "yield": {name: _ratio(value) for name, value in asdict(totals.yields).items()},
    }


def _text(value: Any, depth: int) -> str:
    """Return JSON in which every member of a list of objects or texts has a line of its own."""
    indent = "\n" + " " * (depth + 1)
    if isinstance(value, list) and value and isinstance(value[0], dict | str):
        return "[" + indent + ("," + indent).join(_text(item, depth + 1) for item in value) + "]"
    if isinstance(value, dict) and any(_broken(item) for item in value.values()):
        out = ""
        for key, item in value.items():
            gap = ("" if not out else ",") + (indent if _broken(item) else " " if out else "")
            out += f"{gap}{json.dumps(key)}: {_text(item, depth + 1)}"
        return "{" + out + "}"
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _broken(value: Any) -> bool:
    """Whether a value is written over several lines."""
    if isinstance(value, dict):
        return any(isinstance(item, dict) for item in value.values()) and "cost" in value
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict | str)
