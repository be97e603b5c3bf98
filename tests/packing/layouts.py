"""Boxes that edge-to-edge cuts can part, made by recursive splitting, and cutting played through."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

if TYPE_CHECKING:
    from collections.abc import Sequence

    from hypothesis.strategies import DrawFn

Box = tuple[int, int, int, int]
PLATE: Box = (1_000, 2_000, 901_000, 1_202_000)
LEAST = 40
"""Twice the tolerance of 0.002 mm: strips thinner than that are no parts."""


@st.composite
def split_layouts(draw: DrawFn) -> list[Box]:
    """Return boxes inside ``PLATE`` made by cutting it edge to edge, each part then shrunk or left empty.

    Strips taken off are either nothing or wider than the tolerance.
    """
    parts, boxes = [PLATE], []
    for _ in range(draw(st.integers(0, 9))):
        at = draw(st.integers(0, len(parts) - 1))
        x1, y1, x2, y2 = parts.pop(at)
        upright = draw(st.booleans())
        low, high = (x1, x2) if upright else (y1, y2)
        if high - low < 4 * LEAST:
            parts.append((x1, y1, x2, y2))
            continue
        cut = draw(st.integers(low + LEAST, high - LEAST))
        parts += [(x1, y1, cut, y2), (cut, y1, x2, y2)] if upright else [(x1, y1, x2, cut), (x1, cut, x2, y2)]
    for part in parts:
        if draw(st.integers(0, 5)):
            boxes.append(shrunk(draw, part))
    return boxes


def shrunk(draw: DrawFn, part: Box) -> Box:
    """Return a box inside a part, on each side flush with it or more than the tolerance inside."""
    x1, y1, x2, y2 = part
    out = []
    for low, high in ((x1, x2), (y1, y2)):
        room = (high - low - LEAST) // 2
        take = [draw(st.just(0) | st.integers(LEAST, room)) if room > LEAST else 0 for _ in range(2)]
        out.append((low + take[0], high - take[1]))
    return (out[0][0], out[1][0], out[0][1], out[1][1])


def play(plate: Box, lines: Sequence[Box]) -> list[Box]:
    """Return the parts after cutting along the lines in order; every line must cross one current part fully.

    Raises
    ------
    ValueError
        If a line is no cut of exactly one part.
    """
    parts = [plate]
    for x1, y1, x2, y2 in lines:
        if x1 == x2:
            hit = [p for p in parts if p[0] < x1 < p[2] and (p[1], p[3]) == (y1, y2)]
        else:
            hit = [p for p in parts if p[1] < y1 < p[3] and (p[0], p[2]) == (x1, x2)]
        if len(hit) != 1:
            raise ValueError(f"line {(x1, y1, x2, y2)} crosses {len(hit)} parts from edge to edge")
        part = hit[0]
        parts.remove(part)
        if x1 == x2:
            parts += [(part[0], part[1], x1, part[3]), (x1, part[1], part[2], part[3])]
        else:
            parts += [(part[0], part[1], part[2], y1), (part[0], y1, part[2], part[3])]
    return parts


def pinwheel(x: int = 0, y: int = 0, size: int = 100) -> list[Box]:
    """Return five boxes that no edge-to-edge cut can part.

    ::

        +------+---+
        |  d   |   |
        +--+---+ c |
        |  | e |   |
        | a+---+---+
        |  |   b   |
        +--+-------+
    """
    s = size
    made = [
        (0, 0, s, 2 * s),
        (s, 0, 3 * s, s),
        (2 * s, s, 3 * s, 3 * s),
        (0, 2 * s, 2 * s, 3 * s),
        (s, s, 2 * s, 2 * s),
    ]
    return [(x + a, y + b, x + c, y + d) for a, b, c, d in made]
