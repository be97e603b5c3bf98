"""A proven lower bound of the lateness of any plan on a calendar.

Relaxation: pieces may be split between batches, and a batch holds no more piece area than its plates (or its imager
minutes) could. Lateness of every plan is one of its solutions, so its optimum is a bound (linear programming).
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import highspy

from nest.calendar.imaging import imaging_minutes
from nest.packing.linear import QuietHighs, add_column, add_row
from nest.packing.problem import NEVER

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.calendar.timing import Timing
    from nest.domain.calendar import Batch
    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlannedPlate
    from nest.domain.room import Room

INF = highspy.kHighsInf


def least_lateness(
    plates: Sequence[PlannedPlate], rows: Mapping[RowKey, Row], room: Room, timing: Timing
) -> float:
    """Return the bound for the pieces on these plates, 0 or more, in the room's currency.

    The last batch stands for all later ones: it takes whatever the others do not.
    """
    areas: dict[tuple[str, tuple[float, ...]], float] = {}
    pieces: Counter[tuple[str, tuple[float, ...]]] = Counter()
    for plate in plates:
        for piece in plate.pieces:
            kind = (rows[piece.row].material, timing.late[piece.row])
            areas[kind] = areas.get(kind, 0.0) + piece.rect.w * piece.rect.h
            pieces[kind] += 1
    if not pieces or not timing.batches:
        return 0.0
    alone = sum(n * min(costs) for (_, costs), n in pieces.items())
    if all(batch.plates is None and batch.minutes is None for batch in timing.batches):
        return alone if alone < NEVER else 0.0
    lp = QuietHighs()
    last = len(timing.batches) - 1
    held = [add_row(lp, -INF, INF if at == last else _capacity(batch)) for at, batch in enumerate(timing.batches)]
    spent = [add_row(lp, -INF, INF if at == last or b.minutes is None else b.minutes)
             for at, b in enumerate(timing.batches)]  # fmt: skip
    largest = {material: largest_area(room, material) for material, _ in pieces}
    slowest = imaging_minutes(room.imager, 1.0, _coarsest(rows, room.imager.resolution)) / room.imager.max_around_mm
    for (material, costs), n in sorted(pieces.items()):
        once = add_row(lp, 1.0, 1.0)
        area = areas[(material, costs)]
        for at, cost in enumerate(costs):
            if cost < NEVER:
                add_column(lp, n * cost, {once: 1.0, held[at]: area / largest[material], spent[at]: area * slowest})
    lp.run()
    if lp.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return 0.0
    return max(0.0, float(lp.getInfo().objective_function_value))


def _capacity(batch: Batch) -> float:
    return INF if batch.plates is None else float(batch.plates)


def _coarsest(rows: Mapping[RowKey, Row], usual: float) -> float:
    """Return the coarsest resolution of any row: no plate takes fewer minutes for its width."""
    stated = [row.resolution for row in rows.values()]
    return min((float(one) if isinstance(one, float) and one > 0 else usual for one in stated), default=usual)


def largest_area(room: Room, material: str) -> float:
    """Return the most piece area in mm2 that one plate of a material can hold: that of its largest plate."""
    imager = room.imager
    loads = imager.max_across_mm * imager.max_around_mm
    stock = [one.across_mm * one.around_mm for one in room.sheets if one.material == material]
    stock += [one.across_mm * one.around_mm for one in room.offcuts if one.material == material]
    return min(loads, max(stock, default=loads))
