"""Figures of two plans side by side."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.job import Need
from nest.domain.plan import SourceKind
from nest.domain.room import Unit
from nest.output.comparison.moves import Moves, moves
from nest.output.guide import plan_key
from nest.output.words import decimal, percent, size_words
from nest.units import money

if TYPE_CHECKING:
    from nest.domain.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One figure of both plans and its difference, second less first, in words; ``note`` says what it is."""

    name: str
    first: str
    second: str
    difference: str
    note: str = ""

    @property
    def differs(self) -> bool:
        """Whether there is a difference to see."""
        return self.difference not in ("0", "0.0 points")


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two plans side by side; ``titled`` are tables of lines by title."""

    first: str
    second: str
    titled: dict[str, tuple[Line, ...]]
    moves: Moves


def compared(first: Plan, second: Plan, names: tuple[str, str]) -> Comparison:
    """Return two plans side by side; ``names`` say where they were read from."""
    told = tuple(f"{name} (plan {plan_key(plan)})" for name, plan in zip(names, (first, second), strict=True))
    return Comparison(
        first=told[0],
        second=told[1],
        titled={
            "Yield": _yields(first, second),
            f"Cost, {first.currency}" if first.currency == second.currency else "Cost": _costs(first, second),
            "Area, m2": _areas(first, second),
            "Counts": _counts(first, second),
            "Sheets drawn": _counted(_sheets(first), _sheets(second)),
            "Plates": _counted(_plates(first), _plates(second)),
        },
        moves=moves(first, second),
    )


def _yields(first: Plan, second: Plan) -> tuple[Line, ...]:
    notes = {"gross": "piece area per area drawn", "image": "image area per area drawn",
             "credited": "piece area per area drawn less rests kept"}  # fmt: skip
    lines = []
    for name, note in notes.items():
        one, other = (getattr(plan.totals.yields, name) for plan in (first, second))
        points = f"{100 * (other - one):+.1f}"
        points = "0.0" if points in ("+0.0", "-0.0") else points
        lines.append(Line(name=name, first=percent(one), second=percent(other), difference=f"{points} points",
                          note=note))  # fmt: skip
    return tuple(lines)


def _costs(first: Plan, second: Plan) -> tuple[Line, ...]:
    def figures(plan: Plan) -> dict[str, float]:
        parts, totals = plan.totals.cost_parts, plan.totals
        return {"sheets": parts.sheets, "credit": -parts.credit + 0.0, "plates": parts.plates,
                "process": parts.process, "cuts": parts.cuts, "cost": totals.cost, "bound": totals.bound}  # fmt: skip

    notes = {"sheets": "sheets and offcuts drawn", "credit": "rests kept", "cost": "all of it",
             "bound": "proven least cost"}  # fmt: skip
    one, other = figures(first), figures(second)
    same = first.currency == second.currency
    return tuple(
        Line(
            name=name,
            first=f"{one[name]:.2f}" + ("" if same else f" {first.currency}"),
            second=f"{other[name]:.2f}" + ("" if same else f" {second.currency}"),
            difference=_signed(money(other[name] - one[name]), 2) if same else "–",
            note=notes.get(name, ""),
        )
        for name in one
    )


def _areas(first: Plan, second: Plan) -> tuple[Line, ...]:
    names = {"image": "image", "border": "border", "keep_out": "keep-out", "unused": "unused", "kept": "kept",
             "scrap": "scrap", "drawn": "drawn"}  # fmt: skip
    lines = []
    for key, name in names.items():
        one, other = getattr(first.totals.area, key), getattr(second.totals.area, key)
        lines.append(Line(name=name, first=f"{one:.4f}", second=f"{other:.4f}",
                          difference=_signed(round(other - one, 4), 4)))  # fmt: skip
    return tuple(lines)


def _counts(first: Plan, second: Plan) -> tuple[Line, ...]:
    def figures(plan: Plan) -> dict[str, int]:
        left = sum(row.copies for row in plan.unplaced if row.need is Need.MUST)
        totals = plan.totals
        return {"sheets": totals.sheets, "plates": totals.plates, "raw cuts": totals.raw_cuts,
                "pieces": totals.pieces, "not placed": left, "warnings": len(plan.warnings)}  # fmt: skip

    one, other = figures(first), figures(second)
    return tuple(_count_line(name, one[name], other[name]) for name in one)


def _sheets(plan: Plan) -> Counter[str]:
    def name(kind: SourceKind, ref: str, size: str, material: str) -> str:
        return f"offcut {ref}, {material}, {size}" if kind is SourceKind.OFFCUT else f"sheet {material}, {size}"

    return Counter(
        name(sheet.source.kind, sheet.source.ref, size_words(sheet.across_mm, sheet.around_mm, Unit.MM), sheet.material)
        for sheet in plan.sheets
    )


def _plates(plan: Plan) -> Counter[str]:
    return Counter(
        f"{sheet.material}{f', {plate.group}' if plate.group else ''}, "
        f"{size_words(plate.across_mm, plate.around_mm, Unit.MM)} on the drum"
        for sheet in plan.sheets
        for plate in sheet.plates
    )


def _counted(one: Counter[str], other: Counter[str]) -> tuple[Line, ...]:
    return tuple(_count_line(name, one[name], other[name]) for name in sorted({*one, *other}))


def _count_line(name: str, one: int, other: int) -> Line:
    return Line(name=name, first=str(one), second=str(other), difference=_signed(other - one, 0))


def _signed(value: float, places: int) -> str:
    """Return a difference with its sign; nothing is ``0``.

    Examples
    --------
    >>> _signed(-1.5, 2), _signed(2, 0), _signed(0.0, 2)
    ('-1.50', '+2', '0')
    """
    return decimal(0.0, 0) if value == 0 else f"{value:+.{places}f}"
