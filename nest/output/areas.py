"""Where the area of one sheet goes, from its plan alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.domain.plan import PlacedPiece, PlannedSheet, Rect

_MM2_PER_M2 = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetAreas:
    """Areas of one sheet in m2; all but ``drawn`` and ``pieces`` add up to ``drawn`` (pieces = image + border)."""

    drawn: float
    pieces: float
    image: float
    border: float
    keep_out: float
    unused: float
    kept: float
    scrap: float

    @property
    def gross(self) -> float:
        """Piece area per drawn area."""
        return self.pieces / self.drawn

    @property
    def image_yield(self) -> float:
        """Image area per drawn area."""
        return self.image / self.drawn

    @property
    def credited(self) -> float:
        """Piece area per drawn area without the rests kept."""
        return self.pieces / max(self.drawn - self.kept, 1e-12)


def polygon_area(corners: Iterable[tuple[float, float]]) -> float:
    """Return the area inside a closed polygon (shoelace formula), in the square of its corners' unit.

    Examples
    --------
    >>> polygon_area([(0, 0), (2, 0), (2, 3)])
    3.0
    """
    points = list(corners)
    after = points[1:] + points[:1]
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, after, strict=True))) / 2


def sheet_areas(sheet: PlannedSheet) -> SheetAreas:
    """Return where a sheet's area goes.

    A piece with an outline counts its polygon; its image, whose own polygon a plan does not carry, counts as the box of
    the image, at most the piece.
    """
    pieces = [piece for plate in sheet.plates for piece in plate.pieces]
    piece = sum(map(_piece_mm2, pieces))
    image = sum(min(_mm2(p.image), _piece_mm2(p)) for p in pieces)
    inside = sum(
        max(0.0, plate.rect.w - plate.keep_out.x0 - plate.keep_out.x1)
        * max(0.0, plate.rect.h - plate.keep_out.y0 - plate.keep_out.y1)
        for plate in sheet.plates
    )
    plates = sum(_mm2(plate.rect) for plate in sheet.plates)
    return SheetAreas(
        drawn=sheet.across_mm * sheet.around_mm / _MM2_PER_M2,
        pieces=piece / _MM2_PER_M2,
        image=image / _MM2_PER_M2,
        border=(piece - image) / _MM2_PER_M2,
        keep_out=(plates - inside) / _MM2_PER_M2,
        unused=(inside - piece) / _MM2_PER_M2,
        kept=sum(_mm2(rest.rect) for rest in sheet.rests if rest.kept) / _MM2_PER_M2,
        scrap=sum(_mm2(rest.rect) for rest in sheet.rests if not rest.kept) / _MM2_PER_M2,
    )


def _mm2(rect: Rect) -> float:
    return rect.w * rect.h


def _piece_mm2(piece: PlacedPiece) -> float:
    return _mm2(piece.rect) if piece.outline is None else polygon_area(piece.outline)
