"""Pieces left out although a plate of the plan takes one more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.check.calendar import suits_batch
from nest.check.facts import row_name
from nest.check.geometry import NOISE_MM, Box, box_of, corners, empty_boxes, inseparable, inside
from nest.check.left import Left, left_over
from nest.check.plates import keep_outs_of
from nest.check.replay import Parting, unmatched
from nest.check.violation import Violation, mm
from nest.domain.plan import CutStage, Edge
from nest.domain.room import Cutting

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts, Located
    from nest.check.pieces import GroupKey
    from nest.domain.job import RowKey
    from nest.domain.plan import PlannedPlate


class _Openings:
    """The empty boxes of one plate, found once for every set of keep-outs asked for."""

    def __init__(self, facts: Facts, found: list[Located], least: float) -> None:
        self._facts, self._sheet, self._plate, self._least = facts, found[0].sheet, found[0].plate, least
        self._boxes = [box_of(one.piece.rect) for one in found]
        self._gap = max(one.wanted.gap for one in found)
        self._least_border = min(one.wanted.least_border for one in found)
        self._guillotine = facts.room.cutting is Cutting.GUILLOTINE
        self._inners: dict[float, Box | None] = {}
        self._known: dict[Box, list[Box]] = {}
        self._tried: dict[tuple[Box, float, float], Box | None] = {}

    def spot(self, left: Left) -> Box | None:
        """Return a place for one more piece of the row, or None."""
        border = min(self._least_border, left.wanted.least_border)
        if border not in self._inners:
            self._inners[border] = self._inner(border)
        inner = self._inners[border]
        if inner is None:
            return None
        for w, h in left.sizes():
            key = (inner, w, h)
            if key not in self._tried:
                self._tried[key] = self._place(inner, w, h)
            if self._tried[key] is not None:
                return self._tried[key]
        return None

    def _inner(self, border: float) -> Box | None:
        """Return the plate inside its keep-outs at a least border, None where its pieces would not stay inside."""
        out = keep_outs_of(self._facts.room, self._sheet.material, self._plate.lead, border)
        box = box_of(self._plate.rect)
        inner = Box(box.x0 + out[Edge.X0], box.y0 + out[Edge.Y0], box.x1 - out[Edge.X1], box.y1 - out[Edge.Y1])
        return inner if all(inside(piece, inner) for piece in self._boxes) else None

    def _place(self, inner: Box, w: float, h: float) -> Box | None:
        for room in self._openings(inner):
            if room.w < w - NOISE_MM or room.h < h - NOISE_MM:
                continue
            if not self._guillotine:
                return Box(room.x0, room.y0, room.x0 + w, room.y0 + h)
            for spot in self._spots(room, w, h):
                if not inseparable([*self._boxes, spot]):
                    return spot
        return None

    def _spots(self, room: Box, w: float, h: float) -> Iterator[Box]:
        """Yield places inside an empty box: its corners, then in line with edges of other pieces."""
        yield from corners(room, w, h)
        xs, ys = {room.x0, room.x1 - w}, {room.y0, room.y1 - h}
        for box in self._boxes:
            xs |= {box.x0, box.x0 - self._gap - w, box.x1 - w, box.x1 + self._gap}
            ys |= {box.y0, box.y0 - self._gap - h, box.y1 - h, box.y1 + self._gap}
        for x in sorted(x for x in xs if room.x0 <= x <= room.x1 - w):
            for y in sorted(y for y in ys if room.y0 <= y <= room.y1 - h):
                yield Box(x, y, x + w, y + h)

    def _openings(self, inner: Box) -> list[Box]:
        """Return the largest empty boxes; under a guillotine also what they share with parts that hold no piece."""
        if inner not in self._known:
            rooms = empty_boxes(inner, self._boxes, self._gap, self._least)
            if self._guillotine:
                rooms = sorted({*rooms, *(_common(a, b) for a in self._waste() for b in rooms)})
            self._known[inner] = [r for r in rooms if min(r.w, r.h) >= self._least - NOISE_MM]
        return self._known[inner]

    def _waste(self) -> list[Box]:
        table = Parting(box_of(self._plate.rect))
        for cut in sorted(self._sheet.cuts, key=lambda one: one.order):
            if cut.stage is CutStage.FINISH and cut.plate == self._plate.id:
                table.cut(cut)
        _, waste = unmatched(self._boxes, table.parts)
        return [part for part in waste if min(part.w, part.h) >= self._least]


def _common(a: Box, b: Box) -> Box:
    return Box(max(a.x0, b.x0), max(a.y0, b.y0), min(a.x1, b.x1), min(a.y1, b.y1))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Company:
    """Who is on a plate: groups, rows, jobs, and the jobs among them that share with no other."""

    groups: frozenset[GroupKey]
    rows: frozenset[RowKey]
    jobs: frozenset[str]
    closed: frozenset[str]

    @classmethod
    def of(cls, found: list[Located]) -> _Company:
        return cls(
            groups=frozenset(one.wanted.group for one in found),
            rows=frozenset(one.piece.row for one in found),
            jobs=frozenset(one.wanted.row.job for one in found),
            closed=frozenset(one.wanted.row.job for one in found if one.wanted.row.alone),
        )

    def welcomes(self, left: Left) -> bool:
        """Return whether one more piece of a row may join: group, apart and alone."""
        row = left.wanted.row
        if self.groups != {left.wanted.group} or (row.apart and row.key in self.rows):
            return False
        return self.closed <= {row.job} and not (row.alone and self.jobs != {row.job})


def free_places(facts: Facts) -> Iterator[Violation]:
    """Check that no piece is left out that some plate takes as it is, by room and by every rule of its row."""
    rest = left_over(facts)
    pieces = facts.by_plate() if rest else {}
    for sheet in facts.plan.sheets if rest else ():
        source = facts.source_of(sheet)
        for plate in sheet.plates if source is not None else ():
            found = pieces[plate.id]
            if sheet.id in facts.standing.sheets or source is None or not found or len(found) != len(plate.pieces):
                continue
            company = _Company.of(found)
            able = [one for one in rest if one.axes and company.welcomes(one) and one.served_by(source)
                    and suits_batch(facts, found, one.wanted.row)]  # fmt: skip
            for one, spot in _taken_in(facts, found, able):
                rest.remove(one)
                yield Violation(
                    place=row_name(one.wanted.row.key), rule="unplaced-free",
                    text=f"unplaced, although plate {plate.id} takes one at x {mm(spot.x0)}, y {mm(spot.y0)} "
                         f"({mm(spot.w)} x {mm(spot.h)} mm)",
                )


def _taken_in(facts: Facts, found: list[Located], able: list[Left]) -> list[tuple[Left, Box]]:
    """Return which of some rows a plate takes one more piece of, each on its own, and where."""
    empty = _empty_mm2(found[0].plate) + NOISE_MM
    small = [one for one in able if one.wanted.w * one.wanted.h <= empty]
    if not small:
        return []
    least = min(min(one.wanted.w, one.wanted.h) for one in small)
    openings = _Openings(facts, found, least)
    spots = [(one, openings.spot(one)) for one in small]
    return [(one, spot) for one, spot in spots if spot is not None]


def _empty_mm2(plate: PlannedPlate) -> float:
    return box_of(plate.rect).area - sum(box_of(piece.rect).area for piece in plate.pieces)
