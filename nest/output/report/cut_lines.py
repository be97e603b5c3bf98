"""The cuts of a sheet as the report's operator page lists them, with the stops of the cutting guides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage, Edge, Rect
from nest.domain.room import Unit
from nest.output.views.facing import Side, measure_of, plate_seen
from nest.output.views.steps import measured_from, raw_steps, steps
from nest.output.words import decimal
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room
    from nest.output.views.steps import Step

_EDGES = {Edge.X0: "left", Edge.X1: "right", Edge.Y0: "bottom", Edge.Y1: "top"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLine:
    """One cut as the operator sets it; stops in mm, and in inches for a room in inches (else empty).

    The stop is set from an edge of the part in hand, whose length along the stop is told beside it.
    """

    order: int
    part: str
    of_plate: bool
    runs: str
    edge: str
    stop: str
    stop_in: str
    in_hand: str
    in_hand_in: str


def cut_lines(sheet: PlannedSheet, room: Room, stage: CutStage) -> tuple[CutLine, ...]:
    """Return the cuts of one stage of a sheet in cutting order, seen from the print side.

    Raw cuts are told on the sheet as it is drawn, finish cuts on the plate as it is loaded, lead edge at the bottom.
    """
    if stage is CutStage.RAW:
        return _raw(sheet, room)
    return tuple(line for index in range(len(sheet.plates)) for line in _finish(sheet, index, room))


def _raw(sheet: PlannedSheet, room: Room) -> tuple[CutLine, ...]:
    measure = measure_of(room.guides, Side.PRINT, sheet.across_mm, sheet.around_mm)
    whole = Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm)
    made = steps(whole, [cut for cut in sheet.cuts if cut.stage is CutStage.RAW])
    known = {raw.step.cut.order: (raw.edge, raw.stop_mm) for raw in raw_steps(sheet, made, measure)}
    return tuple(
        _line(step, "sheet", *known.get(step.cut.order, measured_from(step, measure, ())), room.unit, of_plate=False)
        for step in made
    )


def _finish(sheet: PlannedSheet, index: int, room: Room) -> tuple[CutLine, ...]:
    seen = plate_seen(sheet, index, Side.PRINT)
    measure = measure_of(room.guides, Side.PRINT, seen.across_mm, seen.around_mm)
    shapes = [piece.rect for piece in seen.plates[0].pieces]
    made = steps(Rect(x=0.0, y=0.0, w=seen.across_mm, h=seen.around_mm), seen.cuts)
    name = sheet.plates[index].id
    return tuple(_line(step, name, *measured_from(step, measure, shapes), room.unit, of_plate=True) for step in made)


def _line(step: Step, part: str, edge: Edge, stop_mm: float, unit: Unit, *, of_plate: bool) -> CutLine:
    whole = step.part
    hand = None if whole is None else whole.h if step.runs_across else whole.w
    return CutLine(
        order=step.cut.order,
        part=part,
        of_plate=of_plate,
        runs="across" if step.runs_across else "around",
        edge=_EDGES[edge],
        stop=decimal(stop_mm, 2),
        stop_in=_inches(stop_mm, unit),
        in_hand="–" if hand is None else decimal(hand, 2),
        in_hand_in=_inches(hand, unit),
    )


def _inches(mm: float | None, unit: Unit) -> str:
    if unit is Unit.MM:
        return ""
    return "–" if mm is None else decimal(mm / MM_PER_INCH, 3)
