"""The cuts of a sheet as the report's operator page lists them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage
from nest.domain.room import Unit
from nest.output.cut_list import settings
from nest.output.words import decimal
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLine:
    """One cut as the operator sets it; stops in mm, and in inches for a room in inches (else empty)."""

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
    """Return the cuts of one stage of a sheet in cutting order."""
    unit = room.unit
    return tuple(
        CutLine(
            order=setting.cut.order,
            part="sheet" if setting.cut.plate is None else setting.cut.plate,
            of_plate=stage is CutStage.FINISH,
            runs="across" if setting.runs_across else "around",
            edge=setting.edge,
            stop=decimal(setting.stop_mm, 2),
            stop_in=_inches(setting.stop_mm, unit),
            in_hand="–" if setting.part_mm is None else decimal(setting.part_mm, 2),
            in_hand_in=_inches(setting.part_mm, unit),
        )
        for setting in settings(sheet) if setting.cut.stage is stage
    )  # fmt: skip


def _inches(mm: float | None, unit: Unit) -> str:
    if unit is Unit.MM:
        return ""
    return "–" if mm is None else decimal(mm / MM_PER_INCH, 3)
