"""Plans with plates cut by hand, for rooms of any line: what a timetable needs and no more."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from nest.domain.job import Row
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
    Source,
    SourceKind,
    StoppedBy,
    Totals,
    Yields,
)
from nest.domain.room import Imager, Material, Room, Station

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.line import Line

IMAGER = Imager(
    max_across_mm=1270.0, max_around_mm=1600.0, clamp_mm=12.0, drum_tape_mm=10.0, trim_mm=8.0, rpm=300.0, beams=32
)
THIN = Material(name="QF170", thickness_mm=1.70, base_mm=0.125, relief=0.5)
THICK = Material(name="QF284", thickness_mm=2.84, base_mm=0.178, relief=0.7)
KEEP = KeepOut(x0=10.0, x1=10.0, y0=14.0, y1=10.0)
NOTHING = Totals(
    cost=0.0, bound=0.0, bound_gap=0.0, sheets=0, plates=0, raw_cuts=0, pieces=0,
    cost_parts=CostParts(sheets=0.0, credit=0.0, plates=0.0, process=0.0, cuts=0.0),
    area=Areas(drawn=0.0, image=0.0, border=0.0, keep_out=0.0, unused=0.0, kept=0.0, scrap=0.0),
    yields=Yields(gross=0.0, image=0.0, credited=0.0),
)  # fmt: skip

Size = tuple[str, float, float]
"""Material, across and around of a plate."""


def line_room(line: Line, stations: Sequence[Station] = (), imager: Imager = IMAGER, *more: Material) -> Room:
    materials = {one.name: one for one in (THIN, THICK, *more)}
    return Room(imager=imager, materials=materials, line=line, stations=tuple(stations))


def hand_plate(name: str, across: float, around: float, job: str, batch: str = "") -> PlannedPlate:
    box = Rect(x=10.0, y=14.0, w=across - 20.0, h=around - 24.0)
    piece = PlacedPiece(job=job, separation="Cyan", part="", copy=1, rect=box, turn=0, image=box)
    return PlannedPlate(
        id=name, rect=Rect(x=0.0, y=0.0, w=across, h=around), lead=Edge.Y0, keep_out=KEEP, process=0.0,
        pieces=(piece,), batch=batch,
    )  # fmt: skip


def hand_plan(sizes: Sequence[Size], *, cut: bool = False, batches: Sequence[str] = ()) -> Plan:
    """Return a plan of one plate a sheet; with ``cut`` a strip of 100 mm is cut off each sheet first."""
    sheets = []
    for n, (material, across, around) in enumerate(sizes, 1):
        batch = batches[n - 1] if batches else ""
        plate = hand_plate(f"S{n:02d}-A", across, around, f"31{n:02d}", batch)
        raw = Cut(order=1, stage=CutStage.RAW, plate=None, x1=0.0, y1=around, x2=across, y2=around)
        sheets.append(PlannedSheet(
            id=f"S{n:02d}", source=Source(kind=SourceKind.SHEET, ref=f"{material} {across:g}x{around + 100 * cut:g}"),
            material=material, across_mm=across, around_mm=around + 100.0 * cut, cost=0.0, plates=(plate,), rests=(),
            cuts=(raw,) if cut else (), lot="A6-118",
        ))  # fmt: skip
    return Plan(
        currency="EUR", seed=0, stopped_by=StoppedBy.WORK_LIMIT, sheets=tuple(sheets), unplaced=(), warnings=(),
        totals=NOTHING,
    )  # fmt: skip


def rows_of(plan: Plan) -> tuple[Row, ...]:
    return tuple(
        Row(job=piece.job, separation="Cyan", material=sheet.material, image_across_mm=piece.image.w,
            image_around_mm=piece.image.h)
        for sheet in plan.sheets for plate in sheet.plates for piece in plate.pieces
    )  # fmt: skip


def invented_sizes(count: int, seed: int) -> list[Size]:
    chance = random.Random(seed)
    return [
        (chance.choice(["QF170", "QF170", "QF284"]), float(chance.choice([300, 420, 600, 900])),
         float(chance.choice([400, 600, 900, 1200])))
        for _ in range(count)
    ]  # fmt: skip
