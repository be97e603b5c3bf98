"""A page in mm to draw on, and how it becomes SVG.

Page coordinates run right and down from the upper left corner; one user unit is 1 mm. Everything is black on white:
meaning is told by weight, dash, hatch and words.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from nest.output.marks import Mark, Point
from nest.output.text_fit import ASCENT, DESCENT, Box

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

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
        return "\n".join([*_document(self), ""])

    def _add(
        self, shape: Shape, layer: str, points: tuple[Point, ...], look: dict[str, Any], **more: Any
    ) -> None:
        x, y = self._origin
        if x or y:
            points = tuple((px + x, py + y) for px, py in points)
        if self._prefix and "id" in look:
            look["id"] = self._prefix + look["id"]
        self.marks.append(Mark(shape, layer, points, look, **more))


def _document(canvas: Canvas) -> Iterator[str]:
    """Return the lines of the SVG file."""
    w, h = number(canvas.w), number(canvas.h)
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" '
        f'role="img" font-family="{FONT}">'
    )
    yield f"<title>{_text(canvas.title)}</title>"
    yield f"<desc>{_text(canvas.about)}</desc>"
    yield f'<rect x="0" y="0" width="{w}" height="{h}" fill="white"/>'
    if canvas.hatches:
        yield from ("<defs>", *(_pattern(name, hatch) for name, hatch in canvas.hatches.items()), "</defs>")
    layers: dict[str, list[str]] = {name: [] for name in canvas.layers}
    for mark in canvas.marks:
        layers[mark.layer].append(_element(mark))
    for name, title in canvas.layers.items():
        yield from (f'<g id="{name}">', f"<title>{_text(title)}</title>", *layers[name], "</g>")
    yield "</svg>"


def _pattern(name: str, hatch: Hatch) -> str:
    step = number(hatch.step)
    return (
        f'<pattern id="{name}" width="{step}" height="{step}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate({number(hatch.turn)})"><line x1="0" y1="0" x2="0" y2="{step}" stroke="black" '
        f'stroke-width="{number(hatch.weight)}"/></pattern>'
    )


def _element(mark: Mark) -> str:
    x, y = number(mark.points[0][0]), number(mark.points[0][1])
    look = _look(mark.look)
    if mark.shape == "text":
        if mark.bold:
            look += ' font-weight="bold"'
        if mark.anchor != "start":
            look += f' text-anchor="{mark.anchor}"'
        if mark.upward:
            look += f' transform="rotate(-90 {x} {y})"'
        return f'<text x="{x}" y="{y}" font-size="{number(mark.size)}"{look}>{_text(mark.words)}</text>'
    if mark.shape == "line":
        x2, y2 = mark.points[1]
        start = f'<line x1="{x}" y1="{y}" x2="{number(x2)}" y2="{number(y2)}"{look}'
    elif mark.shape == "polygon":
        corners = " ".join(f"{number(px)},{number(py)}" for px, py in mark.points)
        start = f'<polygon points="{corners}"{look}'
    else:
        (left, top), (right, low) = mark.points[0], mark.points[2]
        start = f'<rect x="{x}" y="{y}" width="{number(right - left)}" height="{number(low - top)}"{look}'
    end = "/>" if mark.about is None else f"><title>{_text(mark.about)}</title></{mark.shape}>"
    return start + end


def _look(look: Mapping[str, object]) -> str:
    return "".join(
        f' {"class" if key == "kind" else key.replace("_", "-")}='
        f'"{number(value) if isinstance(value, float) else _text(str(value))}"'
        for key, value in look.items()
    )


def _text(words: str) -> str:
    return escape(words, {'"': "&quot;"})
