"""A small invented plate room for the engine's tests, and a way to plan in it that never skips the check."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from nest.check.opinion import check_plan
from nest.domain.job import Need, Row
from nest.domain.room import Costs, Imager, Material, Offcut, Room, Sheet
from nest.output.plan_file import rounded_plan
from nest.packing.translate import material_problem
from nest.pipeline import Outcome, Settings, make_plan
from nest.plates.pieces import piece_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import PlacedPiece, Plan, PlannedPlate
    from nest.packing.translate import MaterialProblem

MATERIAL = "KV170"
QUICK = 20
"""Work limit of the usual test, in thousands of attempts."""


def row(separation: str, across: float, around: float, /, **more: Any) -> Row:
    """Return a row whose sizes are already at plate size, so that its piece has round sizes."""
    values: dict[str, Any] = {"job": "3101", "material": MATERIAL, "at_plate_size": True, **more}
    return Row(separation=separation, image_across_mm=across, image_around_mm=around, **values)


def sheet(across: float, around: float, price: float = 50.0, name: str = "", **more: Any) -> Sheet:
    values: dict[str, Any] = {"material": MATERIAL, **more}
    return Sheet(
        id=name or f"{MATERIAL} {across:g}x{around:g}", across_mm=across, around_mm=around, price=price, **values
    )


def offcut(across: float, around: float, value: float = 5.0, name: str = "R-0101", **more: Any) -> Offcut:
    return Offcut(id=name, material=MATERIAL, across_mm=across, around_mm=around, value=value, **more)


def imager(**changes: Any) -> Imager:
    """Return an imager without keep-outs that takes any plate of these tests."""
    values: dict[str, Any] = {"max_across_mm": 2000.0, "max_around_mm": 2000.0, **changes}
    return Imager(**values)


def costs(**changes: Any) -> Costs:
    return Costs(**changes)


def room(*sheets: Sheet, **changes: Any) -> Room:
    """Return a room without keep-outs, borders or costs, besides what is asked for."""
    values: dict[str, Any] = {
        "imager": imager(),
        "materials": {MATERIAL: Material(name=MATERIAL, thickness_mm=1.70, base_mm=0.125)},
        **changes,
    }
    return Room(sheets=sheets, **values)


def outcome(rows: Sequence[Row], at: Room, **settings: Any) -> Outcome:
    """Return a plan that holds as it was made and as its file would state it."""
    chosen = Settings(**{"work_limit": QUICK, **settings})
    made = make_plan(rows, at, chosen)
    for plan in (made.plan, rounded_plan(made.plan)):
        assert check_plan(plan, tuple(rows), at, use_reserve=chosen.use_reserve) == ()
    return made


def planned(rows: Sequence[Row], at: Room, **settings: Any) -> Plan:
    return outcome(rows, at, **settings).plan


def plates(plan: Plan) -> list[PlannedPlate]:
    return [plate for one in plan.sheets for plate in one.plates]


def pieces(plan: Plan) -> list[PlacedPiece]:
    return [piece for plate in plates(plan) for piece in plate.pieces]


def reasons(plan: Plan) -> list[str]:
    return [left.reason for left in plan.unplaced]


def problem_of(rows: Sequence[Row], at: Room, use_reserve: bool = False) -> MaterialProblem:
    """Return the packing problem of rows of the one material."""
    ordered = sorted(rows, key=lambda r: r.key)
    made = [piece_of(r, at) for r in ordered]
    must = [p for p in made if p.row.need is Need.MUST]
    fill = [p for p in made if p.row.need is Need.FILL]
    return material_problem(at, MATERIAL, must, fill, ordered, use_reserve)


def with_costs(at: Room, **changes: Any) -> Room:
    return replace(at, costs=replace(at.costs, **changes))
