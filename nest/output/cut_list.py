"""The cuts of a sheet as the operator sets them: which way the line runs and how far the stop is from one edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage, Rect
from nest.units import EPS_MM

if TYPE_CHECKING:
    from nest.domain.plan import Cut, PlannedSheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One cut with its stop setting.

    ``runs_across`` tells which way the line runs in the sheet's frame. ``stop_mm`` is the distance from the reference
    edge: the bottom edge for lines that run across, the left edge for lines that run around; of the sheet for raw cuts,
    of the plate as drawn for finish cuts. ``part_mm`` is the same from that edge of the part being cut, None where
    the cuts before do not leave a part that this one crosses edge to edge.
    """

    cut: Cut
    runs_across: bool
    stop_mm: float
    part_mm: float | None

    @property
    def edge(self) -> str:
        """The reference edge in a word."""
        return "bottom" if self.runs_across else "left"


def settings(sheet: PlannedSheet) -> tuple[Setting, ...]:
    """Return the stop settings of a sheet's cuts in cutting order."""
    whole = Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm)
    plates = {plate.id: plate.rect for plate in sheet.plates}
    parts: dict[str | None, list[Rect]] = {None: [whole], **{name: [rect] for name, rect in plates.items()}}
    out = []
    for cut in sorted(sheet.cuts, key=lambda cut: cut.order):
        frame = whole if cut.stage is CutStage.RAW or cut.plate is None else plates.get(cut.plate, whole)
        runs_across = abs(cut.y1 - cut.y2) <= abs(cut.x1 - cut.x2)
        at = cut.y1 if runs_across else cut.x1
        part = _part_of(parts.get(cut.plate, []), cut, runs_across)
        if part is not None:
            parts[cut.plate].remove(part)
            parts[cut.plate] += _split(part, at, runs_across)
        out.append(
            Setting(
                cut=cut,
                runs_across=runs_across,
                stop_mm=at - (frame.y if runs_across else frame.x),
                part_mm=None if part is None else at - (part.y if runs_across else part.x),
            )
        )
    return tuple(out)


def _part_of(parts: list[Rect], cut: Cut, runs_across: bool) -> Rect | None:
    """Return the part that a cut crosses from edge to edge."""
    for part in parts:
        if runs_across:
            ends, low, size, at, start = sorted((cut.x1, cut.x2)), part.x, part.w, cut.y1 - part.y, part.h
        else:
            ends, low, size, at, start = sorted((cut.y1, cut.y2)), part.y, part.h, cut.x1 - part.x, part.w
        spans = abs(ends[0] - low) <= EPS_MM and abs(ends[1] - low - size) <= EPS_MM
        if spans and EPS_MM < at < start - EPS_MM:
            return part
    return None


def _split(part: Rect, at: float, runs_across: bool) -> tuple[Rect, Rect]:
    if runs_across:
        low = at - part.y
        return Rect(x=part.x, y=part.y, w=part.w, h=low), Rect(x=part.x, y=at, w=part.w, h=part.h - low)
    low = at - part.x
    return Rect(x=part.x, y=part.y, w=low, h=part.h), Rect(x=at, y=part.y, w=part.w - low, h=part.h)
