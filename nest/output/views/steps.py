"""Cuts as steps: the part in hand, what it becomes, and from which edge the stop is set.

A raw sheet is not exactly as long as it is sold. What a stop is set from comes out exact, what lies beyond it takes the
error, so each raw cut is measured from the side that holds plates, and a rest takes the error wherever one can.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import Edge, Rect
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import Cut, PlannedSheet
    from nest.output.views.facing import Measure

SHEET_ERROR_MM = 2.0
"""How far a raw sheet may be off its nominal size (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One cut of a part into two; ``low`` is the left or the bottom half.

    The halves are None where the cuts before leave no part that this one crosses from edge to edge.
    """

    cut: Cut
    runs_across: bool
    part: Rect | None
    low: Rect | None
    high: Rect | None

    @property
    def at(self) -> float:
        """Where the line runs: y of one that runs across, x of one that runs around."""
        return self.cut.y1 if self.runs_across else self.cut.x1


@dataclass(frozen=True, slots=True, kw_only=True)
class RawStep:
    """A raw cut with its stop: ``edge`` of the part in hand is the one to measure from, ``kept`` comes out exact.

    ``other`` is what is left. ``takes`` tells what takes the error of the sheet there: None where there is none because
    the part in hand is exact already, True where a rest does, False where a plate has to.
    """

    step: Step
    edge: Edge
    stop_mm: float
    kept: Rect
    other: Rect
    takes: bool | None


def steps(whole: Rect, cuts: Sequence[Cut]) -> tuple[Step, ...]:
    """Return cuts in their order with the parts they halve, starting from the whole."""
    parts, out = [whole], []
    for cut in sorted(cuts, key=lambda cut: cut.order):
        runs_across = abs(cut.y1 - cut.y2) <= abs(cut.x1 - cut.x2)
        part = next((part for part in parts if _crosses(part, cut, runs_across)), None)
        low = high = None
        if part is not None:
            low, high = _halves(part, cut.y1 if runs_across else cut.x1, runs_across)
            parts.remove(part)
            parts += [low, high]
        out.append(Step(cut=cut, runs_across=runs_across, part=part, low=low, high=high))
    return tuple(out)


def _crosses(part: Rect, cut: Cut, runs_across: bool) -> bool:
    """Whether a cut crosses a part from edge to edge."""
    if runs_across:
        ends, low, size, at, whole = sorted((cut.x1, cut.x2)), part.x, part.w, cut.y1 - part.y, part.h
    else:
        ends, low, size, at, whole = sorted((cut.y1, cut.y2)), part.y, part.h, cut.x1 - part.x, part.w
    spans = abs(ends[0] - low) <= EPS_MM and abs(ends[1] - low - size) <= EPS_MM
    return spans and EPS_MM < at < whole - EPS_MM


def _halves(part: Rect, at: float, runs_across: bool) -> tuple[Rect, Rect]:
    if runs_across:
        low = at - part.y
        return Rect(x=part.x, y=part.y, w=part.w, h=low), Rect(x=part.x, y=at, w=part.w, h=part.h - low)
    low = at - part.x
    return Rect(x=part.x, y=part.y, w=low, h=part.h), Rect(x=at, y=part.y, w=part.w - low, h=part.h)


def same(one: Rect, other: Rect) -> bool:
    """Whether two rectangles are one, within the tolerance."""
    return (
        abs(one.x - other.x) <= EPS_MM and abs(one.y - other.y) <= EPS_MM
        and abs(one.w - other.w) <= EPS_MM and abs(one.h - other.h) <= EPS_MM
    )  # fmt: skip


def within(inner: Rect, outer: Rect) -> bool:
    """Whether a rectangle lies inside another, within the tolerance."""
    return (
        inner.x >= outer.x - EPS_MM and inner.y >= outer.y - EPS_MM
        and inner.x + inner.w <= outer.x + outer.w + EPS_MM and inner.y + inner.h <= outer.y + outer.h + EPS_MM
    )  # fmt: skip


def measured_from(step: Step, measure: Measure, pieces: Sequence[Rect]) -> tuple[Edge, float]:
    """Return the edge of the part in hand to set the stop from, and the stop; where no part is known, of the plate.

    Images lie true to the plate's lead edge and to the edge at the datum, pieces to every edge that is already cut, not
    to the plate's other edges as they came from raw cutting. Among true edges the one whose half holds pieces is
    taken, so that a strip takes what is off, else the one nearer the datum.
    """
    upright, level = measure.edges
    near = level if step.runs_across else upright
    part = step.part
    if part is None or step.low is None or step.high is None:
        return near, _distance(Rect(x=0.0, y=0.0, w=measure.w, h=measure.h), step.at, near)
    low, high = (Edge.Y0, Edge.Y1) if step.runs_across else (Edge.X0, Edge.X1)
    start, length, whole = (part.y, part.h, measure.h) if step.runs_across else (part.x, part.w, measure.w)
    fixed = Edge.Y0 if step.runs_across else near

    def rank(edge: Edge) -> tuple[bool, bool, bool]:
        outer = start <= EPS_MM if edge is low else start + length >= whole - EPS_MM
        half = step.low if edge is low else step.high
        holds = any(within(piece, half) for piece in pieces) if half is not None else False
        return outer and edge is not fixed, not holds, edge is not near

    edge = min((low, high), key=rank)
    return edge, _distance(part, step.at, edge)


def _distance(part: Rect, at: float, edge: Edge) -> float:
    low = {Edge.X0: at - part.x, Edge.Y0: at - part.y}
    return low[edge] if edge in low else (part.x + part.w - at if edge is Edge.X1 else part.y + part.h - at)


def raw_steps(sheet: PlannedSheet, cuts: Sequence[Step], measure: Measure) -> tuple[RawStep, ...]:
    """Return the raw cuts with the side each is measured from; cuts of no known part are left out."""
    exact: list[tuple[Rect, bool, bool]] = [
        (Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm), False, False)
    ]
    out = []
    for step in cuts:
        part, low, high_half = step.part, step.low, step.high
        if part is None or low is None or high_half is None:
            continue
        found = next(item for item in exact if same(item[0], part))
        exact.remove(found)
        sure = found[2] if step.runs_across else found[1]
        halves = {False: low, True: high_half}
        upright, level = measure.edges
        near = (level if step.runs_across else upright) in (Edge.X1, Edge.Y1)
        takers = {high: takes_error(half, cuts, sheet, step.runs_across) for high, half in halves.items()}
        # Measure from the side that must be exact; where both or neither could take the error, from the datum.
        high = near if sure or takers[True] == takers[False] else takers[False]
        kept, other = halves[high], halves[not high]
        edge = ((Edge.X0, Edge.X1), (Edge.Y0, Edge.Y1))[step.runs_across][high]
        out.append(RawStep(
            step=step, edge=edge, stop_mm=_distance(part, step.at, edge), kept=kept, other=other,
            takes=None if sure else takers[not high],
        ))  # fmt: skip
        for half, is_exact in ((kept, True), (other, sure)):
            exact.append((half, found[1], is_exact) if step.runs_across else (half, is_exact, found[2]))
    return tuple(out)


def takes_error(part: Rect, known: Sequence[Step], sheet: PlannedSheet, level: bool) -> bool:
    """Whether a part can take an error of its length along one axis (``level``: of lines that run across) by rests."""
    step = next((step for step in known if step.part is not None and same(step.part, part)), None)
    if step is None or step.low is None or step.high is None:
        return any(same(rest.rect, part) for rest in sheet.rests)
    ways = [takes_error(half, known, sheet, level) for half in (step.low, step.high)]
    return any(ways) if step.runs_across is level else all(ways)
