"""How a sheet or plate lies before the operator: turned so that the lead edge is at the bottom, seen from either side.

Everything here gives sheets and plates in the frame of the drawing: origin bottom-left as one looks at it. Only what is
drawn is moved; figures that belong to the print side, such as a piece's turn, are read from the plan itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.domain.plan import Cut, CutStage, Edge, KeepOut, PlannedSheet, Rect
from nest.domain.room import Datum, Ruler, Sides

if TYPE_CHECKING:
    from nest.domain.plan import PlacedPiece, PlannedPlate
    from nest.domain.room import Guides

QUARTERS = {Edge.Y0: 0, Edge.X0: 1, Edge.Y1: 2, Edge.X1: 3}
"""Quarter turns anticlockwise that bring a lead edge to the bottom."""
_ROUND = (Edge.Y0, Edge.X1, Edge.Y1, Edge.X0)
"""The edges anticlockwise from the bottom."""


class Side(StrEnum):
    """The side of the sheet that faces the operator."""

    PRINT = "print"
    BASE = "base"

    @property
    def words(self) -> str:
        """The side as it stands on every guide."""
        return f"{self.value.upper()} SIDE"


def sides_of(guides: Guides) -> tuple[Side, ...]:
    """Return the sides that a room's guides are drawn from."""
    chosen = {Sides.PRINT: (Side.PRINT,), Sides.BASE: (Side.BASE,), Sides.BOTH: (Side.PRINT, Side.BASE)}
    return chosen[guides.sides]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """How a frame of w by h mm is laid: quarter turns anticlockwise, then turned over left to right or not."""

    w: float
    h: float
    quarters: int = 0
    over: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the frame as it lies."""
        return (self.w, self.h) if self.quarters % 2 == 0 else (self.h, self.w)

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Return a point of the frame as it lies.

        Examples
        --------
        >>> Placement(w=400.0, h=300.0, quarters=1).point(0.0, 0.0)
        (300.0, 0.0)
        """
        moved = ((x, y), (self.h - y, x), (self.w - x, self.h - y), (y, self.w - x))[self.quarters]
        return (self.size[0] - moved[0], moved[1]) if self.over else moved

    def rect(self, rect: Rect) -> Rect:
        """Return a rectangle of the frame as it lies."""
        one, other = self.point(rect.x, rect.y), self.point(rect.x + rect.w, rect.y + rect.h)
        x, y = min(one[0], other[0]), min(one[1], other[1])
        w, h = (rect.w, rect.h) if self.quarters % 2 == 0 else (rect.h, rect.w)
        return Rect(x=x, y=y, w=w, h=h)

    def edge(self, edge: Edge) -> Edge:
        """Return where an edge of the frame lies."""
        moved = _ROUND[(_ROUND.index(edge) + self.quarters) % 4]
        return {Edge.X0: Edge.X1, Edge.X1: Edge.X0}.get(moved, moved) if self.over else moved

    def turn(self, degrees: int) -> int:
        """Return a piece's turn as it looks."""
        seen = (degrees + 90 * self.quarters) % 360
        return (360 - seen) % 360 if self.over else seen

    def piece(self, piece: PlacedPiece) -> PlacedPiece:
        """Return a piece as it lies."""
        outline = None if piece.outline is None else tuple(self.point(x, y) for x, y in piece.outline)
        return replace(piece, rect=self.rect(piece.rect), image=self.rect(piece.image), turn=self.turn(piece.turn),
                       outline=outline)  # fmt: skip

    def plate(self, plate: PlannedPlate) -> PlannedPlate:
        """Return a plate as it lies, its pieces in the plan's order."""
        depth = {self.edge(edge).value: getattr(plate.keep_out, edge.value) for edge in Edge}
        return replace(
            plate, rect=self.rect(plate.rect), lead=self.edge(plate.lead), keep_out=KeepOut(**depth),
            pieces=tuple(map(self.piece, plate.pieces)), free=tuple(map(self.rect, plate.free)),
        )  # fmt: skip

    def cut(self, cut: Cut) -> Cut:
        """Return a cut as it lies."""
        (x1, y1), (x2, y2) = self.point(cut.x1, cut.y1), self.point(cut.x2, cut.y2)
        return replace(cut, x1=x1, y1=y1, x2=x2, y2=y2)




def sheet_seen(sheet: PlannedSheet, side: Side) -> PlannedSheet:
    """Return a sheet as one sees it from a side: bottom edge at the bottom, the base side turned over left to right."""
    lies = Placement(w=sheet.across_mm, h=sheet.around_mm, over=side is Side.BASE)
    rests = tuple(replace(rest, rect=lies.rect(rest.rect)) for rest in sheet.rests)
    plates, cuts = tuple(map(lies.plate, sheet.plates)), tuple(map(lies.cut, sheet.cuts))
    return replace(sheet, plates=plates, rests=rests, cuts=cuts)


def plate_seen(sheet: PlannedSheet, index: int, side: Side) -> PlannedSheet:
    """Return a plate of a sheet as one sees it from a side, lead edge at the bottom, as a sheet of its own."""
    plate = sheet.plates[index]
    shift = Placement(w=plate.rect.w, h=plate.rect.h, quarters=QUARTERS[plate.lead], over=side is Side.BASE)
    at_origin = _moved(plate, -plate.rect.x, -plate.rect.y)
    cuts = [
        replace(cut, x1=cut.x1 - plate.rect.x, x2=cut.x2 - plate.rect.x, y1=cut.y1 - plate.rect.y,
                y2=cut.y2 - plate.rect.y)
        for cut in sheet.cuts if cut.stage is CutStage.FINISH and cut.plate == plate.id
    ]  # fmt: skip
    w, h = shift.size
    return replace(sheet, across_mm=w, around_mm=h, plates=(shift.plate(at_origin),), rests=(),
                   cuts=tuple(map(shift.cut, cuts)))  # fmt: skip


def _moved(plate: PlannedPlate, dx: float, dy: float) -> PlannedPlate:
    def rect(one: Rect) -> Rect:
        return replace(one, x=one.x + dx, y=one.y + dy)

    pieces = tuple(
        replace(
            piece, rect=rect(piece.rect), image=rect(piece.image),
            outline=None if piece.outline is None else tuple((x + dx, y + dy) for x, y in piece.outline),
        )
        for piece in plate.pieces
    )  # fmt: skip
    return replace(plate, rect=rect(plate.rect), pieces=pieces, free=tuple(map(rect, plate.free)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """From which corner of a drawing of w by h mm figures are taken, as one looks at it."""

    w: float
    h: float
    from_left: bool
    from_bottom: bool

    def x_of(self, rect: Rect) -> float:
        """Return how far the nearer upright edge of a rectangle is from the datum."""
        return rect.x if self.from_left else self.w - rect.x - rect.w

    def y_of(self, rect: Rect) -> float:
        """Return how far the nearer level edge of a rectangle is from the datum."""
        return rect.y if self.from_bottom else self.h - rect.y - rect.h

    @property
    def corner(self) -> str:
        """The datum corner in words."""
        return f"{'bottom' if self.from_bottom else 'top'} {'left' if self.from_left else 'right'}"

    @property
    def edges(self) -> tuple[Edge, Edge]:
        """The upright and the level edge that meet at the datum."""
        return Edge.X0 if self.from_left else Edge.X1, Edge.Y0 if self.from_bottom else Edge.Y1


def measure_of(guides: Guides, side: Side, w: float, h: float) -> Measure:
    """Return from where figures are taken on a drawing of w by h mm seen from a side."""
    left = guides.datum in (Datum.BOTTOM_LEFT, Datum.TOP_LEFT)
    if side is Side.BASE and guides.ruler is Ruler.PRINT_SIDE:
        left = not left
    return Measure(w=w, h=h, from_left=left, from_bottom=guides.datum in (Datum.BOTTOM_LEFT, Datum.BOTTOM_RIGHT))
