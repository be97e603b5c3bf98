"""Primitives of a drawing in mm on a page: the only module that knows svgwrite.

Page coordinates run right and down from the upper left corner; one user unit is 1 mm. Everything is black on white:
meaning is told by weight, dash, hatch and words.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import svgwrite

from nest.output.text_fit import ASCENT, DESCENT, Box

if TYPE_CHECKING:
    from collections.abc import Iterable

FONT = "sans-serif"
Point = tuple[float, float]


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


class Canvas:
    """A page to draw on, layer by layer; every element goes into the layer named."""

    def __init__(self, w: float, h: float, title: str, about: str) -> None:
        size = (f"{number(w)}mm", f"{number(h)}mm")
        self._svg: Any = svgwrite.Drawing(
            size=size, viewBox=f"0 0 {number(w)} {number(h)}", debug=False, role="img", font_family=FONT
        )
        self._svg.set_desc(title, about)
        self._svg.add(self._svg.rect((0, 0), (number(w), number(h)), fill="white"))
        self._layers: dict[str, Any] = {}
        self._patterns: set[str] = set()

    def layer(self, name: str, title: str) -> None:
        """Open a layer above all earlier ones."""
        group = self._svg.g(id=name)
        group.set_desc(title)
        self._layers[name] = self._svg.add(group)

    def rect(self, layer: str, box: Box, *, about: str | None = None, **look: Any) -> None:
        """Draw a rectangle; ``about`` is a title that viewers show on pointing."""
        self._add(
            layer,
            self._svg.rect((number(box.x), number(box.y)), (number(box.w), number(box.h)), **_look(look)),
            about,
        )

    def line(self, layer: str, start: Point, end: Point, *, about: str | None = None, **look: Any) -> None:
        """Draw a straight line."""
        self._add(layer, self._svg.line(_pair(start), _pair(end), **_look(look)), about)

    def polygon(self, layer: str, corners: Iterable[Point], *, about: str | None = None, **look: Any) -> None:
        """Draw a closed polygon."""
        self._add(layer, self._svg.polygon([_pair(corner) for corner in corners], **_look(look)), about)

    def text(
        self, layer: str, words: str, at: Point, size: float, *,
        anchor: str = "start", bold: bool = False, upward: bool = False, **look: Any,
    ) -> None:  # fmt: skip
        """Write one line of text with its base line at ``at``; upward text is turned left by a quarter about it."""
        if not words:
            return
        if bold:
            look["font_weight"] = "bold"
        if anchor != "start":
            look["text_anchor"] = anchor
        if upward:
            look["transform"] = f"rotate(-90 {number(at[0])} {number(at[1])})"
        self._add(layer, self._svg.text(words, _pair(at), font_size=number(size), **_look(look)), None)

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
        """Return the fill of parallel lines, made once a page."""
        if name not in self._patterns:
            self._patterns.add(name)
            pattern = self._svg.pattern(
                id=name, size=(number(step), number(step)), patternUnits="userSpaceOnUse",
                patternTransform=f"rotate({number(turn)})",
            )  # fmt: skip
            pattern.add(self._svg.line((0, 0), (0, number(step)), stroke="black", stroke_width=number(weight)))
            self._svg.defs.add(pattern)
        return f"url(#{name})"

    def svg(self) -> str:
        """Return the page as SVG text, an element a line, the same bytes for the same drawing."""
        body: str = self._svg.tostring()
        # Text escapes both signs, so this pair stands between elements only.
        return '<?xml version="1.0" encoding="UTF-8"?>\n' + body.replace("><", ">\n<") + "\n"

    def _add(self, layer: str, element: Any, about: str | None) -> None:
        if about is not None:
            element.set_desc(about)
        self._layers[layer].add(element)


def _pair(point: Point) -> tuple[str, str]:
    return number(point[0]), number(point[1])


def _look(look: dict[str, Any]) -> dict[str, Any]:
    return {
        ("class" if key == "kind" else key.replace("_", "-")): number(value) if isinstance(value, float) else value
        for key, value in look.items()
    }
