"""Figures of a whole plan: cost parts, where the area goes, the three yields, the gap to the bound."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from nest.domain.plan import Areas, CostParts, CutStage, PlannedSheet, Totals, Yields
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import PlannedPlate, Rect
    from nest.domain.room import Room


def m2(rect: Rect) -> float:
    """Return the area of a rectangle in m2."""
    return rect.w * rect.h / 1e6


def usable_m2(plate: PlannedPlate) -> float:
    """Return the area inside a plate's keep-outs in m2."""
    k = plate.keep_out
    return max(0.0, plate.rect.w - k.x0 - k.x1) * max(0.0, plate.rect.h - k.y0 - k.y1) / 1e6


def sheet_cost(sheet: PlannedSheet, room: Room) -> float:
    """Return what one sheet costs: price and plates, process and raw cuts, less the credit of kept rests."""
    raw = sum(cut.stage is CutStage.RAW for cut in sheet.cuts)
    credit = sum(rest.credit for rest in sheet.rests)
    process = sum(plate.process for plate in sheet.plates)
    return sheet.cost - credit + room.costs.plate * len(sheet.plates) + process + room.costs.cut * raw


def cost_parts(sheets: Sequence[PlannedSheet], room: Room) -> CostParts:
    """Return where the money goes, each part in cents."""
    plates = sum(len(sheet.plates) for sheet in sheets)
    cuts = sum(cut.stage is CutStage.RAW for sheet in sheets for cut in sheet.cuts)
    return CostParts(
        sheets=money(math.fsum(sheet.cost for sheet in sheets)),
        credit=money(math.fsum(rest.credit for sheet in sheets for rest in sheet.rests)),
        plates=money(room.costs.plate * plates),
        process=money(math.fsum(plate.process for sheet in sheets for plate in sheet.plates)),
        cuts=money(room.costs.cut * cuts),
    )


def areas_of(sheets: Sequence[PlannedSheet]) -> tuple[Areas, float]:
    """Return where the drawn area goes, and the area of all pieces, m2."""
    plates = [plate for sheet in sheets for plate in sheet.plates]
    pieces = [piece for plate in plates for piece in plate.pieces]
    rests = [rest for sheet in sheets for rest in sheet.rests]
    piece = math.fsum(m2(p.rect) for p in pieces)
    image = math.fsum(m2(p.image) for p in pieces)
    usable = math.fsum(usable_m2(plate) for plate in plates)
    areas = Areas(
        drawn=math.fsum(sheet.across_mm * sheet.around_mm / 1e6 for sheet in sheets),
        image=image,
        border=piece - image,
        keep_out=math.fsum(m2(plate.rect) for plate in plates) - usable,
        unused=usable - piece,
        kept=math.fsum(m2(rest.rect) for rest in rests if rest.kept),
        scrap=math.fsum(m2(rest.rect) for rest in rests if not rest.kept),
    )
    return areas, piece


def yields_of(areas: Areas, piece_m2: float) -> Yields:
    """Return gross, image and credited yield; all 0 where nothing is drawn."""
    if areas.drawn <= 0:
        return Yields(gross=0.0, image=0.0, credited=0.0)
    return Yields(
        gross=piece_m2 / areas.drawn,
        image=areas.image / areas.drawn,
        credited=piece_m2 / (areas.drawn - areas.kept),
    )


def totals_of(sheets: Sequence[PlannedSheet], room: Room, bound: float) -> Totals:
    """Return all figures of a plan; ``bound`` is the sum of the materials' proven bounds."""
    parts = cost_parts(sheets, room)
    cost = money(parts.sheets - parts.credit + parts.plates + parts.process + parts.cuts)
    bound = round(max(0.0, bound), 2)
    areas, piece = areas_of(sheets)
    return Totals(
        cost=cost,
        bound=bound,
        bound_gap=(cost - bound) / cost if cost > 0 else 0.0,
        sheets=len(sheets),
        plates=sum(len(sheet.plates) for sheet in sheets),
        raw_cuts=sum(cut.stage is CutStage.RAW for sheet in sheets for cut in sheet.cuts),
        pieces=sum(len(plate.pieces) for sheet in sheets for plate in sheet.plates),
        cost_parts=parts,
        area=areas,
        yields=yields_of(areas, piece),
    )
