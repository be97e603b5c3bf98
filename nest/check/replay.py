"""Cuts played back one by one: what lies on the table after them."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

from nest.check.geometry import NOISE_MM, Box, same
from nest.check.violation import mm
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.plan import Cut

_CELL_MM = 0.01


class _Near:
    """Boxes found by two of their coordinates, up to the tolerance."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], dict[int, Box]] = {}

    def add(self, a: float, b: float, name: int, box: Box) -> None:
        self._cells.setdefault((floor(a / _CELL_MM), floor(b / _CELL_MM)), {})[name] = box

    def drop(self, a: float, b: float, name: int) -> None:
        del self._cells[(floor(a / _CELL_MM), floor(b / _CELL_MM))][name]

    def near(self, a: float, b: float) -> Iterator[tuple[int, Box]]:
        for p in sorted({floor((a - EPS_MM) / _CELL_MM), floor((a + EPS_MM) / _CELL_MM)}):
            for q in sorted({floor((b - EPS_MM) / _CELL_MM), floor((b + EPS_MM) / _CELL_MM)}):
                yield from self._cells.get((p, q), {}).items()


class Parting:
    """A rectangle under the knife. Every cut must go edge to edge through exactly one part on the table."""

    def __init__(self, whole: Box) -> None:
        self._parts: dict[int, Box] = {}
        self._spans = (_Near(), _Near())  # by the ends of the span that a cut across x, across y must have
        self._next = 0
        self._put(whole)

    @property
    def parts(self) -> list[Box]:
        """The parts on the table."""
        return sorted(self._parts.values())

    def _put(self, box: Box) -> None:
        self._parts[self._next] = box
        self._spans[0].add(box.y0, box.y1, self._next, box)
        self._spans[1].add(box.x0, box.x1, self._next, box)
        self._next += 1

    def _take(self, name: int) -> None:
        box = self._parts.pop(name)
        self._spans[0].drop(box.y0, box.y1, name)
        self._spans[1].drop(box.x0, box.x1, name)

    def cut(self, cut: Cut) -> str | None:
        """Make a cut; return what is wrong with it, or None where it was made."""
        across_x = abs(cut.x1 - cut.x2) <= EPS_MM
        across_y = abs(cut.y1 - cut.y2) <= EPS_MM
        line = f"({mm(cut.x1)}, {mm(cut.y1)}) to ({mm(cut.x2)}, {mm(cut.y2)})"
        if across_x == across_y:
            return f"a cut runs straight along x or y, got {line}"
        axis = 0 if across_x else 1
        at = cut.x1 if across_x else cut.y1
        ends = (cut.y1, cut.y2) if across_x else (cut.x1, cut.x2)
        low, high = min(ends), max(ends)
        for name, box in self._spans[axis].near(low, high):
            edge_to_edge = abs(box[1 - axis] - low) <= EPS_MM and abs(box[3 - axis] - high) <= EPS_MM
            within = min(at - box[axis], box[axis + 2] - at) >= EPS_MM - NOISE_MM
            if edge_to_edge and within:
                self._take(name)
                self._put(box._replace(**{"x1" if across_x else "y1": at}))
                self._put(box._replace(**{"x0" if across_x else "y0": at}))
                return None
        return f"a cut goes edge to edge through one part left by the cuts before, got {line}"


def unmatched(wanted: list[Box], parts: list[Box]) -> tuple[list[int], list[Box]]:
    """Return the indices of wanted boxes that are no part of their own, and the parts nobody wanted."""
    corner = _Near()
    for k, part in enumerate(parts):
        corner.add(part.x0, part.y0, k, part)
    used: set[int] = set()
    missing: list[int] = []
    for i, box in enumerate(wanted):
        hit = next((k for k, part in corner.near(box.x0, box.y0) if k not in used and same(part, box)), None)
        if hit is None:
            missing.append(i)
        else:
            used.add(hit)
    return missing, [part for k, part in enumerate(parts) if k not in used]
