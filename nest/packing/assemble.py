"""From filled bins back to the plate room's words: planned sheets with ids, copies, cuts, credits and free areas."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from nest.domain.credit import rest_credit
from nest.domain.plan import (
    Cut,
    CutStage,
    Edge,
    KeepOut,
    PlacedPiece,
    PlannedPlate,
    PlannedSheet,
    Rect,
    Rest,
    Source,
    SourceKind,
)
from nest.packing.cuts import finish_cuts
from nest.packing.draw_order import first_expired_first
from nest.packing.insert import item_box
from nest.packing.kernels.maxrects import put_free
from nest.packing.translate import keep_out_units
from nest.plates.groups import group_label, group_of
from nest.plates.pieces import turned_image
from nest.units import area_m2, money, to_mm, to_units

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.domain.room import Room
    from nest.packing.cuts import Box, Line
    from nest.packing.problem import BinLayout, PlateLayout, RestLayout, Solution
    from nest.packing.translate import MaterialProblem

FREE_SHOWN = 4
FREE_LEAST_MM = 40.0
LEADS = (Edge.Y0, Edge.X0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One filled bin with the problem it belongs to, before ids and copy numbers are given."""

    material: MaterialProblem
    layout: BinLayout


def rect(x: int, y: int, w: int, h: int) -> Rect:
    """Return a rectangle of units as mm."""
    return Rect(x=to_mm(x), y=to_mm(y), w=to_mm(w), h=to_mm(h))


def credit_of(room: Room, rate: float, w: int, h: int) -> float:
    """Return the credit of a kept rest in money, rounded half-even; ``rate`` is money per m2."""
    return rest_credit(room.costs, rate, to_mm(w), to_mm(h))


def free_areas(usable: Box, boxes: Iterable[Box]) -> tuple[Rect, ...]:
    """Return the largest empty rectangles of a usable area, largest first, leaving out narrow ones."""
    taken = list(boxes)
    cap = 8 * len(taken) + 64
    free = np.zeros((cap, 4), np.int64)
    free[0] = (0, 0, usable[2] - usable[0], usable[3] - usable[1])
    n = 1
    for x1, y1, x2, y2 in taken:
        n = int(put_free(free, n, x1 - usable[0], y1 - usable[1], x2 - x1, y2 - y1, cap))
    least = to_units(FREE_LEAST_MM)
    found = [tuple(r) for r in free[:n].tolist() if min(r[2], r[3]) >= least]
    found.sort(key=lambda r: (-r[2] * r[3], r))
    return tuple(rect(usable[0] + x, usable[1] + y, w, h) for x, y, w, h in found[:FREE_SHOWN])


def copy_numbers(drafts: list[Draft]) -> dict[tuple[int, int, int], int]:
    """Return the copy number of each placed item, by (draft, unit, item): 1.. in the order of the sheets."""
    seen: dict[tuple[str, str, str], int] = defaultdict(int)
    out = {}
    for d, draft in enumerate(drafts):
        for plate in draft.layout.plates:
            for placed in sorted(plate.placed, key=lambda p: (p.y, p.x)):
                key = draft.material.members[placed.unit][placed.item].row.key
                seen[key] += 1
                out[d, placed.unit, placed.item] = seen[key]
    return out


def letters(n: int) -> str:
    """Return the n-th plate letter of a sheet: A .. Z, then AA, AB, …."""
    return (letters(n // 26 - 1) if n >= 26 else "") + chr(ord("A") + n % 26)


def order_key(draft: Draft) -> tuple[object, ...]:
    """Return the order of sheets in a plan: by material, stock entry, then what lies on them."""
    keys = sorted(
        (draft.material.members[p.unit][p.item].row.key, p.x, p.y, p.axis)
        for plate in draft.layout.plates
        for p in plate.placed
    )
    stock = draft.material.stock[draft.layout.bin]
    return (draft.material.material, stock.is_offcut, draft.layout.bin, keys)


def planned_plate(
    room: Room, draft: Draft, plate: PlateLayout, name: str, copies: dict[tuple[int, int, int], int], at: int
) -> PlannedPlate:
    """Return one plate with its exact keep-outs (those of its own least border) and its pieces."""
    material, problem = draft.material, draft.material.problem
    members = material.members
    least = min(members[p.unit][p.item].least_border for p in plate.placed)
    lead, side = keep_out_units(room, material.material, least)
    at_x, at_y = (lead, side) if plate.lead == 1 else (side, lead)
    usable = (plate.x + at_x, plate.y + at_y, plate.x + plate.w - side, plate.y + plate.h - side)
    pieces = []
    for p in sorted(plate.placed, key=lambda p: (p.y, p.x)):
        piece = members[p.unit][p.item]
        turn = 90 * p.axis
        x1, y1, x2, y2 = item_box(problem, p)
        ix, iy, iw, ih = turned_image(piece, turn)
        pieces.append(
            PlacedPiece(
                job=piece.row.job,
                separation=piece.row.separation,
                part=piece.row.part,
                copy=copies[at, p.unit, p.item],
                rect=rect(x1, y1, x2 - x1, y2 - y1),
                turn=turn,
                image=rect(x1 + ix, y1 + iy, iw, ih),
            )
        )
    group = group_of(members[plate.placed[0].unit][0].row, room)
    return PlannedPlate(
        id=name,
        rect=rect(plate.x, plate.y, plate.w, plate.h),
        lead=LEADS[plate.lead],
        keep_out=KeepOut(x0=to_mm(at_x), x1=to_mm(side), y0=to_mm(at_y), y1=to_mm(side)),
        process=money(room.costs.process_per_m2 * area_m2(plate.w, plate.h)),
        pieces=tuple(pieces),
        free=free_areas(usable, (item_box(problem, p) for p in plate.placed)),
        group=group_label(group, room),
    )


def planned_rest(room: Room, draft: Draft, rest: RestLayout, name: str) -> Rest:
    """Return a rest with its credit; one whose credit is nothing is not kept unless the room credits nothing."""
    b = draft.material.problem.bins[draft.layout.bin]
    stock = draft.material.stock[draft.layout.bin]
    share = 1.0 if stock.is_offcut else room.costs.offcut_value
    rate = share * b.price / area_m2(b.w, b.h)
    credit = credit_of(room, rate, rest.w, rest.h) if rest.kept else 0.0
    kept = rest.kept and (credit > 0 or room.costs.offcut_value == 0)
    return Rest(id=name, rect=rect(rest.x, rest.y, rest.w, rest.h), kept=kept, credit=credit if kept else 0.0)


def cuts_of(draft: Draft, names: list[str]) -> tuple[Cut, ...]:
    """Return all cuts of a sheet, numbered: raw ones as the engine made them, then each plate's finish cuts."""
    lines: list[tuple[CutStage, str | None, Line]] = [(CutStage.RAW, None, line) for line in draft.layout.cuts]
    problem = draft.material.problem
    if not problem.limits.free_cutting:
        for name, plate in zip(names, draft.layout.plates, strict=True):
            box = (plate.x, plate.y, plate.x + plate.w, plate.y + plate.h)
            boxes = [item_box(problem, p) for p in plate.placed]
            lines += [(CutStage.FINISH, name, line) for line in finish_cuts(box, boxes)]
    return tuple(
        Cut(order=n, stage=stage, plate=plate, x1=to_mm(x1), y1=to_mm(y1), x2=to_mm(x2), y2=to_mm(y2))
        for n, (stage, plate, (x1, y1, x2, y2)) in enumerate(lines, 1)
    )


def ordered_drafts(solved: Iterable[tuple[MaterialProblem, Solution]]) -> list[Draft]:
    """Return the filled bins of all materials in the order of a plan's sheets."""
    drafts = [Draft(material=m, layout=one) for m, solution in solved for one in first_expired_first(m, solution.bins)]
    return sorted(drafts, key=order_key)


def planned_sheets(room: Room, solved: Iterable[tuple[MaterialProblem, Solution]]) -> tuple[PlannedSheet, ...]:
    """Return all sheets of a plan in a fixed order with ids S01, S02, … and plates S01-A, S01-B, …."""
    drafts = ordered_drafts(solved)
    copies = copy_numbers(drafts)
    digits = max(2, len(str(len(drafts))))
    return tuple(planned_sheet(room, draft, f"S{n + 1:0{digits}d}", copies, n) for n, draft in enumerate(drafts))


def planned_sheet(
    room: Room, draft: Draft, name: str, copies: dict[tuple[int, int, int], int], at: int
) -> PlannedSheet:
    """Return one sheet with its plates, rests and cuts."""
    layout, stock = draft.layout, draft.material.stock[draft.layout.bin]
    plates = sorted(layout.plates, key=lambda p: (p.y, p.x))
    draft = replace(draft, layout=replace(layout, plates=tuple(plates)))
    names = [f"{name}-{letters(i)}" for i in range(len(plates))]
    entry = stock.entry
    kind = SourceKind.OFFCUT if stock.is_offcut else SourceKind.SHEET
    b = draft.material.problem.bins[layout.bin]
    return PlannedSheet(
        id=name,
        source=Source(kind=kind, ref=entry.id),
        material=draft.material.material,
        across_mm=to_mm(b.w),
        around_mm=to_mm(b.h),
        cost=b.price,
        plates=tuple(
            planned_plate(room, draft, plate, plate_name, copies, at)
            for plate, plate_name in zip(plates, names, strict=True)
        ),
        rests=tuple(
            planned_rest(room, draft, rest, f"{name}-R{i}")
            for i, rest in enumerate(sorted(layout.rests, key=lambda r: (r.y, r.x)), 1)
        ),
        cuts=cuts_of(draft, names),
        lot=entry.lot,
        expiry=entry.expiry.isoformat() if entry.expiry else None,
    )
