"""A page in mm to draw on, and how it becomes SVG: the only module that knows svgwrite.

Page coordinates run right and down from the upper left corner; one user unit is 1 mm. Everything is black on white:
meaning is told by weight, dash, hatch and words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import svgwrite

from nest.output.marks import Mark, Point
from nest.output.text_fit import ASCENT, DESCENT, Box

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from nest.output.marks import Shape

FONT = "sans-serif"


def number(value: float) -> str:
    """Return a coordinate with at most 4 decimals.

    Raises
    ------
    ValueError
        If the number is not finite.
    """
    text = f"{value:.4f}"
    if not text.lstrip("-")[0].isdigit():
        raise ValueError(f"a coordinate must be finite, got {value}")
    text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def id_of(*parts: str | int) -> str:
    """Return an element id of letters, digits, points and hyphens made of any words."""
    return re.sub(r"[^A-Za-z0-9.-]", "_", "-".join(str(part) for part in parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """A fill of parallel lines: their distance and weight in mm, their turn in degrees."""

    step: float
    weight: float
    turn: float


class Canvas:
    """A page to draw on, layer by layer; every mark goes into the layer named and is kept until it is written.

    Several pages may stand on one canvas: `shift` moves the origin for what is drawn next, and puts a prefix before
    its ids.
    """

    def __init__(self, w: float, h: float, title: str, about: str) -> None:
        self.w, self.h, self.title, self.about = w, h, title, about
        self.layers: dict[str, str] = {}
        self.marks: list[Mark] = []
        self.hatches: dict[str, Hatch] = {}
        self._origin = (0.0, 0.0)
        self._prefix = ""

    def layer(self, name: str, title: str) -> None:
        """Open a layer above all earlier ones."""
        self.layers.setdefault(name, title)

    def shift(self, x: float, y: float, prefix: str = "") -> None:
        """Draw what follows with this origin and ids with this prefix."""
        self._origin, self._prefix = (x, y), prefix

    def rect(self, layer: str, box: Box, *, about: str | None = None, **look: Any) -> None:
        """Draw a rectangle; ``about`` is a title that viewers show on pointing."""
        right, low = box.x + box.w, box.y + box.h
        self._add("rect", layer, ((box.x, box.y), (right, box.y), (right, low), (box.x, low)), look, about=about)

    def line(self, layer: str, start: Point, end: Point, *, about: str | None = None, **look: Any) -> None:
        """Draw a straight line."""
        self._add("line", layer, (start, end), look, about=about)

    def polygon(self, layer: str, corners: Iterable[Point], *, about: str | None = None, **look: Any) -> None:
        """Draw a closed polygon."""
        self._add("polygon", layer, tuple(corners), look, about=about)

    def text(
        self, layer: str, words: str, at: Point, size: float, *,
        anchor: str = "start", bold: bool = False, upward: bool = False, **look: Any,
    ) -> None:  # fmt: skip
        """Write one line of text with its base line at ``at``; upward text is turned left by a quarter about it."""
        if words:
            self._add("text", layer, (at,), look, words=words, size=size, anchor=anchor, bold=bold, upward=upward)

    def lines_in(
        self, layer: str, box: Box, lines: Iterable[str], size: float, leading: float, *,
        upward: bool = False, bold_first: bool = False, **look: Any,
    ) -> None:  # fmt: skip
        """Write lines of text in the middle of a box, level or upward."""
        lines = list(lines)
        tall = size * (ASCENT + DESCENT + leading * (len(lines) - 1))
        mid_x, mid_y = box.x + box.w / 2, box.y + box.h / 2
        for index, words in enumerate(lines):
            along = size * (ASCENT + leading * index) - tall / 2
            at = (mid_x + along, mid_y) if upward else (mid_x, mid_y + along)
            self.text(layer, words, at, size, anchor="middle", upward=upward, bold=bold_first and index == 0, **look)

    def hatch(self, name: str, step: float, weight: float, turn: float) -> str:
        """Return the fill of parallel lines, made once under each name."""
        name = self._prefix + name
        self.hatches.setdefault(name, Hatch(step=step, weight=weight, turn=turn))
        return f"url(#{name})"

    def svg(self) -> str:
        """Return the page as SVG text, an element a line, the same bytes for the same drawing."""
        body: str = _document(self).tostring()
        # Text escapes both signs, so this pair stands between elements only.
        return '<?xml version="1.0" encoding="UTF-8"?>\n' + body.replace("><", ">\n<") + "\n"

    def _add(
        self, shape: Shape, layer: str, points: tuple[Point, ...], look: dict[str, Any], **more: Any
    ) -> None:
        x, y = self._origin
        if x or y:
            points = tuple((px + x, py + y) for px, py in points)
        if self._prefix and "id" in look:
            look["id"] = self._prefix + look["id"]
        self.marks.append(Mark(shape, layer, points, look, **more))


def _document(canvas: Canvas) -> Any:
    w, h = number(canvas.w), number(canvas.h)
    svg: Any = svgwrite.Drawing(
        size=(f"{w}mm", f"{h}mm"), viewBox=f"0 0 {w} {h}", debug=False, role="img", font_family=FONT
    )
    svg.set_desc(canvas.title, canvas.about)
    svg.add(svg.rect((0, 0), (w, h), fill="white"))
    layers = {}
    for name, title in canvas.layers.items():
        group = svg.g(id=name)
        group.set_desc(title)
        layers[name] = svg.add(group)
    for name, hatch in canvas.hatches.items():
        step = number(hatch.step)
        pattern = svg.pattern(id=name, size=(step, step), patternUnits="userSpaceOnUse",
                              patternTransform=f"rotate({number(hatch.turn)})")  # fmt: skip
        pattern.add(svg.line((0, 0), (0, step), stroke="black", stroke_width=number(hatch.weight)))
        svg.defs.add(pattern)
    for mark in canvas.marks:
        element = _element(svg, mark)
        if mark.about is not None:
            element.set_desc(mark.about)
        layers[mark.layer].add(element)
    return svg


def _element(svg: Any, mark: Mark) -> Any:
    look = _look(mark.look)
    first = mark.points[0]
    if mark.shape == "line":
        return svg.line(_pair(first), _pair(mark.points[1]), **look)
    if mark.shape == "polygon":
        return svg.polygon([_pair(corner) for corner in mark.points], **look)
    if mark.shape == "rect":
        low = mark.points[2]
        return svg.rect(_pair(first), (number(low[0] - first[0]), number(low[1] - first[1])), **look)
    if mark.bold:
        look["font-weight"] = "bold"
    if mark.anchor != "start":
        look["text-anchor"] = mark.anchor
    if mark.upward:
        look["transform"] = f"rotate(-90 {number(first[0])} {number(first[1])})"
    return svg.text(mark.words, _pair(first), font_size=number(mark.size), **look)


def _pair(point: Point) -> tuple[str, str]:
    return number(point[0]), number(point[1])


def _look(look: Mapping[str, object]) -> dict[str, Any]:
    return {
        ("class" if key == "kind" else key.replace("_", "-")): number(value) if isinstance(value, float) else value
        for key, value in look.items()
    }
