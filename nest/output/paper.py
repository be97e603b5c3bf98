"""Sheets of paper, and how a drawing and its tables share them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, repeat
from typing import TYPE_CHECKING

from nest.domain.room import Paper
from nest.output.panels import CHECK_TITLE, ONE, Line, Placed, check_block
from nest.output.text_fit import LEADING, text_width

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.output.panels import Block

PAPERS = {
    Paper.A4: (210.0, 297.0),
    Paper.A3: (297.0, 420.0),
    Paper.LETTER: (215.9, 279.4),
    Paper.TABLOID: (279.4, 431.8),
}
"""Upright width and height in mm (ISO 216; ANSI/ASME Y14.1)."""
MARGIN = 8.0
"""Edge that printers leave white, mm."""
GAP = 5.0
"""Between the drawing and the columns, and between columns, mm on paper."""
_STEPS = (1.0, 1.06, 1.12, 1.2, 1.3, 1.4)
"""Reductions tried, in those the drawing needs on its own."""
_LEAST_COLUMN = (45.0, 25.0)
_TITLE_H = LEADING * ONE.head * 1.15
_Measured = tuple["Block", float, float]
"""A block, how wide it reaches and the height it needs to start in a column."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lanes:
    """Room kept free around the drawing, mm on paper."""

    left: float
    right: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of lines on a page, in mm on paper from the page's upper left corner."""

    x: float
    y: float
    w: float
    lines: tuple[Placed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PageLayout:
    """Pages for one drawing: the reduction, paper size, where the drawing lies, and each page's columns.

    Everything is mm on paper; ``k`` is how much smaller than life the drawing is.
    """

    k: float
    w: float
    h: float
    left: float
    top: float
    pages: tuple[tuple[Column, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Area:
    x: float
    y: float
    w: float
    h: float


def lay_out(
    across: float, around: float, lanes: Lanes, blocks: Sequence[Block], paper: Paper, head: float, first: int
) -> PageLayout:
    """Return how a drawing of across by around mm and its blocks share pages.

    As few pages as can be, then the largest drawing; the paper lies either way, tables stand beside or beneath the
    drawing. Blocks that find no room on the first page go on further pages.

    Parameters
    ----------
    across, around
        Size of the drawing in life, mm.
    lanes
        Room around it.
    blocks
        What else to show, in order; the one titled as the check lines is made anew for each reduction.
    paper
        The paper.
    head
        Height of the page's heading, mm on paper.
    first
        How many of the blocks should stand on the first page.
    """
    short, long = PAPERS[paper]
    measured = [_measured(block) for block in blocks]
    check = next((at for at, block in enumerate(blocks) if block.title == CHECK_TITLE), None)
    found: tuple[tuple[bool, int, float], PageLayout] | None = None
    for w, h in ((long, short), (short, long)):
        inner = _Area(x=MARGIN, y=MARGIN + head, w=w - 2 * MARGIN, h=h - 2 * MARGIN - head)
        most_w, most_h = inner.w - lanes.left - lanes.right, inner.h - lanes.top - lanes.bottom
        alone = max(1.0, across / most_w, around / most_h)
        for step in _STEPS:
            k = alone * step
            if check is not None:
                measured[check] = _measured(check_block(k))
            wide, tall = across / k + lanes.left + lanes.right, around / k + lanes.top + lanes.bottom
            for area in (
                _Area(x=inner.x + wide + GAP, y=inner.y, w=inner.w - wide - GAP, h=inner.h),
                _Area(x=inner.x, y=inner.y + tall + GAP, w=inner.w, h=inner.h - tall - GAP),
            ):
                pages, whole = _flow(measured, chain((area,), repeat(inner)))
                rank = (whole < first, len(pages), k)
                if found is None or rank < found[0]:
                    found = rank, PageLayout(
                        k=k, w=w, h=h, left=inner.x + lanes.left, top=inner.y + lanes.top, pages=pages
                    )
            if found is not None and found[0][:2] == (False, 1) and found[0][2] <= k:
                break
    assert found is not None
    return found[1]


def _flow(blocks: Sequence[_Measured], areas: Iterable[_Area]) -> tuple[tuple[tuple[Column, ...], ...], int]:
    """Return blocks as columns on pages, and how many blocks the first page holds to their end."""
    pages: list[tuple[Column, ...]] = []
    state, whole = (0, 0), 0
    for number, area in enumerate(areas):
        columns: list[Column] = []
        x = 0.0
        while state[0] < len(blocks) and area.w - x >= _LEAST_COLUMN[0] and area.h >= _LEAST_COLUMN[1]:
            room = area.w - x if number == 0 or x > 0 else None
            lines, after, width = _column(blocks, state, area.h, room)
            if not lines:
                break
            columns.append(Column(x=area.x + x, y=area.y, w=width, lines=tuple(lines)))
            x, state = x + width + GAP, after
        pages.append(tuple(columns))
        if number == 0:
            whole = state[0]
        if state[0] >= len(blocks):
            break
    return tuple(pages), whole


def _column(
    blocks: Sequence[_Measured], state: tuple[int, int], height: float, room: float | None
) -> tuple[list[Placed], tuple[int, int], float]:
    """Return the lines of one column, where the blocks go on after it, and how wide it is.

    A block that must stay whole and is too tall, or is too wide for the room, does not start here; without ``room``, at
    the left of a fresh page, it starts whatever its size.
    """
    gap = 1.4 * ONE.table
    placed: list[Placed] = []
    y, width = 0.0, 0.0
    index, line_at = state
    while index < len(blocks):
        block, wide, opening = blocks[index]
        if room is not None and wide > room + 1e-6:
            break
        if line_at == 0:
            if y + opening > height and (y > 0 or room is not None):
                break
            placed.append(Placed(y=y, line=Line(height=_TITLE_H), title=block.title))
            y += _TITLE_H
        if block.head is not None:
            placed.append(Placed(y=y, line=block.head))
            y += block.head.height
        width, begun = max(width, wide), line_at
        while line_at < len(block.lines):
            line = block.lines[line_at]
            if y + line.height > height and line_at > begun:
                return placed, (index, line_at), width
            placed.append(Placed(y=y, line=line))
            y, line_at = y + line.height, line_at + 1
        index, line_at, y = index + 1, 0, y + gap
    return placed, (index, 0), width


def _measured(block: Block) -> _Measured:
    heights = [line.height for line in block.lines]
    head_h = block.head.height if block.head else 0.0
    lines = block.lines if block.head is None else (block.head, *block.lines)
    wide = max([text_width(block.title, ONE.head, bold=True), *(line.reach for line in lines)])
    return block, wide, _TITLE_H + head_h + sum(heights if block.whole else heights[:2])
