"""What a page is made of: rectangles, lines, polygons and lines of text, as recorded before they are written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

Point = tuple[float, float]
Shape = Literal["rect", "line", "polygon", "text"]


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark on a page in mm.

    ``points`` are the corners in order (of a rectangle all four); a text has one, where its base line starts, is in
    the middle or ends. ``look`` holds the SVG presentation attributes; ``words`` and ``size`` are those of a text,
    ``upward`` text is turned left by a quarter about its point.
    """

    shape: Shape
    layer: str
    points: tuple[Point, ...]
    look: Mapping[str, object]
    words: str = ""
    size: float = 0.0
    anchor: str = "start"
    bold: bool = False
    upward: bool = False
    about: str | None = None
