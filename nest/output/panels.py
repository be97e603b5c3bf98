"""The text beside a sheet's drawing: blocks of lines that flow into columns.

Everything here is measured in reductions of the page (`Look.k`), so that blocks are made once while the page finds its
size; the sizes of text are those of ``Look(k=1.0)``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from nest.output.page import Look
from nest.output.text_fit import LEADING, shortened, text_width, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

Sample = Literal[
    "raw", "finish", "piece", "image", "keep-out", "lead", "arrow", "kept", "scrap", "check", "tick", "datum", "laser"
]
CHECK_MM = 100.0
CHECK_TITLE = "Check the scale"
ONE = Look(k=1.0)
_GAP_EM = 1.0
_LONGEST_CELL_EM = 13.0
TICK_EM = 1.8
"""Room for a box to tick."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Text at a distance from the column's left edge; ``right`` text ends there."""

    x: float
    words: str
    bold: bool = False
    right: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a block: its height, its cells, a sample of what it explains, how far it reaches."""

    height: float
    cells: tuple[Cell, ...] = ()
    sample: Sample | None = None
    rule: bool = False
    reach: float = 0.0


def line_of(height: float, *cells: Cell, sample: Sample | None = None, rule: bool = False, least: float = 0.0) -> Line:
    """Return a line that knows how far it reaches to the right, at least ``least``."""
    ends = (c.x if c.right else c.x + text_width(c.words, ONE.table, bold=c.bold) for c in cells)
    return Line(height=height, cells=cells, sample=sample, rule=rule, reach=max([least, *ends]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A titled block. ``head`` is repeated where the block goes on in the next column; ``whole`` blocks never do."""

    title: str
    lines: tuple[Line, ...]
    head: Line | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A line at its place: the distance of its top from the column's top."""

    y: float
    line: Line
    title: str | None = None


def table(
    title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, right: frozenset[int], tick: bool = False
) -> Block:
    """Return a table as a block, its columns as wide as their texts; long texts are shortened.

    ``right`` are the indices of columns that are aligned right; with ``tick`` every row starts with a box to tick.
    """
    size, gap = ONE.table, _GAP_EM * ONE.table
    limit = _LONGEST_CELL_EM * size
    cut = [[shortened(text, limit, size) for text in row] for row in rows]
    x, spots = (TICK_EM * size if tick else 0.0), []
    for index, head in enumerate(heads):
        width = max([text_width(head, size, bold=True), *(text_width(row[index], size) for row in cut)])
        spots.append(x + width if index in right else x)
        x += width + gap

    def line(texts: Sequence[str], *, head: bool) -> Line:
        cells = [
            Cell(x=spot, words=text, bold=head, right=index in right)
            for index, (spot, text) in enumerate(zip(spots, texts, strict=True))
        ]
        sample: Sample | None = "tick" if tick and not head else None
        return line_of(LEADING * size * (1.15 if head else 1.0), *cells, rule=head, sample=sample)

    return Block(title=title, head=line(heads, head=True), lines=tuple(line(row, head=False) for row in cut))


def block_width(block: Block) -> float:
    """Return how wide a block's cells reach."""
    lines = block.lines if block.head is None else (block.head, *block.lines)
    return max((line.reach for line in lines), default=0.0)


def paragraphs(title: str, texts: Sequence[str], width: float) -> Block:
    """Return running text as a block, each text a paragraph."""
    size = ONE.table
    lines = []
    for text in texts:
        broken = wrapped(text, width, size)
        for index, words in enumerate(broken):
            height = LEADING * size * (1.3 if index == len(broken) - 1 else 1.0)
            lines.append(line_of(height, Cell(x=0.0, words=words)))
    return Block(title=title, lines=tuple(lines), whole=True)


def fields(title: str, pairs: Sequence[tuple[str, str]], width: float) -> Block:
    """Return named values as a block: names in bold, values wrapped beside them."""
    size = ONE.table
    indent = max(text_width(name, size, bold=True) for name, _ in pairs) + size
    lines = []
    for name, value in pairs:
        for index, words in enumerate(wrapped(value, width - indent, size) or [""]):
            cells = [Cell(x=0.0, words=name, bold=True)] if index == 0 else []
            lines.append(line_of(LEADING * size, *cells, Cell(x=indent, words=words)))
    return Block(title=title, lines=tuple(lines), whole=True)


def numbered(title: str, entries: Sequence[tuple[str, Sequence[str]]], width: float) -> Block:
    """Return steps to tick as a block: each a number in bold and sentences, the first in bold beside it."""
    size = ONE.table
    indent = TICK_EM * size
    beside = max((text_width(name, size, bold=True) for name, _ in entries), default=0.0) + 0.8 * size
    lines = []
    for name, texts in entries:
        for place, text in enumerate(texts):
            bold = place == 0
            for index, words in enumerate(wrapped(text, (width - indent - beside) / (1.14 if bold else 1.0), size)):
                first = bold and index == 0
                cells = [Cell(x=indent, words=name, bold=True)] if first else []
                cells.append(Cell(x=indent + beside, words=words, bold=bold))
                lines.append(line_of(LEADING * size, *cells, sample="tick" if first else None))
        last = lines.pop()
        lines.append(replace(last, height=last.height + 0.5 * size))
    return Block(title=title, lines=tuple(lines))


def check_block(k: float) -> Block:
    """Return the 100 mm check lines with their words, for a page reduced by ``k``."""
    size, beside, long = ONE.table, 2.5 + 1.2 * ONE.table, CHECK_MM / k
    here = "measure before cutting" if k < 1.0005 else f"{long:.1f} mm on a page reduced 1 : {k:.2f}"
    first = line_of(LEADING * size, Cell(x=beside, words=f"around 100 mm: {here}"), sample="check", least=long + 2.0)
    drop = Line(height=max(0.0, long + 0.8 - 2.3 * LEADING * size))
    second = line_of(LEADING * size, Cell(x=beside, words=f"across 100 mm: {here}"))
    last = Line(height=1.3 * LEADING * size)
    return Block(title=CHECK_TITLE, lines=(first, drop, second, last), whole=True)
