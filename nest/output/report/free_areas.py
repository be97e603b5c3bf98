"""Free areas for rush work: the largest empty rectangle inside the keep-outs of each plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.totals import m2
from nest.output.words import size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.room import Room
    from nest.output.patterns import Pattern


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeArea:
    """The largest free rectangle of a plate, in the sheet's directions; ``times`` plates are alike."""

    sheet: str
    plate: str
    times: int
    material: str
    group: str
    size: str
    m2: float


def free_areas(drawn: Sequence[Pattern], room: Room) -> tuple[FreeArea, ...]:
    """Return a line per plate of each pattern that has a free rectangle, the largest first."""
    found = []
    for number, pattern in enumerate(drawn, 1):
        for plate in pattern.first.plates:
            if not plate.free:
                continue
            rect = max(plate.free, key=lambda r: (r.w * r.h, -r.x, -r.y))
            found.append(
                FreeArea(sheet=f"sheet-{number}", plate=plate.id, times=len(pattern.sheets),
                         material=pattern.first.material, group=plate.group,
                         size=size_words(rect.w, rect.h, room.unit), m2=m2(rect))
            )  # fmt: skip
    return tuple(sorted(found, key=lambda free: -free.m2))
