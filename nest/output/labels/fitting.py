"""Text and arrow of a label fitted to its cell: large where there is room, shortened where it must be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.text_fit import ASCENT, DESCENT, Box, shortened, text_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.output.labels.content import LabelText

Point = tuple[float, float]
INSET_MM = 2.5
"""Distance of everything printed from the edge of its label: label stock is never fed exactly."""
LEAST_MM = 1.9
"""Least font size, about 5.4 points."""
_MOST_HEAD_MM, _MOST_MM = 11.0, 4.6
_HEAD = 1.9
"""Height of the head's line in heights of the others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One line of text on the page: base line start, font size, all in mm."""

    words: str
    x: float
    y: float
    size: float
    bold: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """What is drawn in one cell: lines of text, an arrow (shaft and head as corner lists), a bar at a lead edge."""

    box: Box
    written: tuple[Written, ...]
    shaft: tuple[Point, Point]
    tip: tuple[Point, Point, Point]
    bar: Box | None


def fitted(label: LabelText, box: Box) -> Fitting:
    """Return how a label fills its cell; lines that would be too small to read are left out from the last one up."""
    inner = box.inset(min(INSET_MM, box.w / 8, box.h / 8))
    bar = None
    if label.lead:
        bar = Box(x=inner.x, y=inner.y + inner.h - 1.2, w=inner.w, h=1.2)
        inner = Box(x=inner.x, y=inner.y, w=inner.w, h=inner.h - 1.8)
    lane = min(7.0, 0.14 * inner.w)
    room = Box(x=inner.x + lane, y=inner.y, w=inner.w - lane, h=inner.h)
    lines = list(label.lines)
    tall = ASCENT + DESCENT
    while len(lines) > 1 and room.h / (len(lines) + _HEAD) < LEAST_MM * tall:
        lines.pop()
    step = min(room.h / (len(lines) + _HEAD), _MOST_MM * tall)
    head_h = min(room.h - step * len(lines), _MOST_HEAD_MM * tall)
    written = [_line(label.head, room, room.y, head_h, _MOST_HEAD_MM, bold=True)]
    even = _even_size(lines, room.w, min(_MOST_MM, step / tall))
    written += [
        _line(words, room, room.y + head_h + step * index, step, even, bold=False) for index, words in enumerate(lines)
    ]
    shaft, tip = _arrow(Box(x=inner.x, y=inner.y, w=lane, h=inner.h))
    return Fitting(box=box, written=tuple(written), shaft=shaft, tip=tip, bar=bar)


def _even_size(lines: Sequence[str], width: float, most: float) -> float:
    """Return the size at which most lines are written alike: that of the longest, as long as it is not far smaller."""
    fits = min(width / max(text_width(words, 1.0), 1e-9) for words in lines)
    return min(most, max(fits, 0.75 * most))


def _line(words: str, room: Box, y: float, height: float, most: float, *, bold: bool) -> Written:
    """Return a line as large as its height and width allow; one too long is shortened at a readable size."""
    tall = ASCENT + DESCENT
    by_height = min(most, height / tall)
    size = min(by_height, room.w / max(text_width(words, 1.0, bold=bold), 1e-9))
    readable = min(by_height, LEAST_MM * (1.4 if bold else 1.0))
    if size < readable:
        size, words = readable, shortened(words, room.w, readable, bold=bold)
    base = y + (height - size * tall) / 2 + size * ASCENT
    return Written(words=words, x=round(room.x, 4), y=round(base, 4), size=round(size, 4), bold=bold)


def _arrow(lane: Box) -> tuple[tuple[Point, Point], tuple[Point, Point, Point]]:
    """Return an arrow that points up, the way the piece runs from lead to tail."""
    x, wide = lane.x + lane.w / 2 - 0.6, min(1.6, lane.w / 3)
    top, low = lane.y + 0.1 * lane.h, lane.y + 0.9 * lane.h
    neck = min(top + 2.2 * wide, low)
    tip = (_point(x, top), _point(x + wide, neck), _point(x - wide, neck))
    return (_point(x, low), _point(x, neck)), tip


def _point(x: float, y: float) -> Point:
    return round(x, 4), round(y, 4)
