"""Sets that do not lie on one plate: the plates they are spread over must be exposed and processed alike."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.job import Turn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitSet:
    """One job's set of one material: pieces by plate, and pieces by lot where it lies on several (``""`` unstated)."""

    job: str
    material: str
    plates: dict[str, int]
    lots: dict[str, int]


def split_sets(plan: Plan, room: Room, rows: Sequence[Row]) -> list[SplitSet]:
    """Return the jobs whose set pieces of one material lie on more than one plate, in order of job."""
    sets = {row.key for row in rows if (row.turn or room.turn) is Turn.SET}
    plates: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    lots: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for sheet in plan.sheets:
        for plate in sheet.plates:
            for piece in plate.pieces:
                if piece.row in sets:
                    plates[piece.job, sheet.material][plate.id] += 1
                    lots[piece.job, sheet.material][sheet.lot or ""] += 1
    return [
        SplitSet(job=job, material=material, plates=dict(where),
                 lots=dict(lots[job, material]) if len(lots[job, material]) > 1 else {})
        for (job, material), where in sorted(plates.items())
        if len(where) > 1
    ]  # fmt: skip
