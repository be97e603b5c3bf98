"""The text beside a sheet's drawing: blocks of lines that flow into columns.

Everything here is measured in reductions of the page (`Look.k`), so that blocks are made once while the page finds its
size; the sizes of text are those of ``Look(k=1.0)``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from nest.output.page import Look
from nest.output.text_fit import LEADING, shortened, text_width, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

Sample = Literal["raw", "finish", "piece", "image", "keep-out", "lead", "arrow", "kept", "scrap", "check"]
CHECK_MM = 100.0
ONE = Look(k=1.0)
_GAP_EM = 1.0
_LONGEST_CELL_EM = 15.0


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
    """A line at its place: column index and the distance of its top from the column's top."""

    column: int
    y: float
    line: Line
    title: str | None = None


def table(
    title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, right: frozenset[int]
) -> Block:
    """Return a table as a block, its columns as wide as their texts; long texts are shortened.

    ``right`` are the indices of columns that are aligned right.
    """
    size, gap = ONE.table, _GAP_EM * ONE.table
    limit = _LONGEST_CELL_EM * size
    cut = [[shortened(text, limit, size) for text in row] for row in rows]
    x, spots = 0.0, []
    for index, head in enumerate(heads):
        width = max([text_width(head, size, bold=True), *(text_width(row[index], size) for row in cut)])
        spots.append(x + width if index in right else x)
        x += width + gap

    def line(texts: Sequence[str], *, head: bool) -> Line:
        cells = [
            Cell(x=spot, words=text, bold=head, right=index in right)
            for index, (spot, text) in enumerate(zip(spots, texts, strict=True))
        ]
        return line_of(LEADING * size * (1.15 if head else 1.0), *cells, rule=head)

    return Block(title=title, head=line(heads, head=True), lines=tuple(line(row, head=False) for row in cut))


def block_width(block: Block) -> float:
    """Return how wide a block's cells reach."""
    lines = block.lines if block.head is None else (block.head, *block.lines)
    return max((line.reach for line in lines), default=0.0)


def column_widths(placed: Sequence[Placed]) -> list[float]:
    """Return how wide the lines of each column reach."""
    widths = [0.0] * (max(item.column for item in placed) + 1)
    for item in placed:
        title = 0.0 if item.title is None else text_width(item.title, ONE.label, bold=True)
        widths[item.column] = max(widths[item.column], title, item.line.reach)
    return widths


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


def flow(blocks: Sequence[Block], height: float) -> list[Placed]:
    """Return the lines of all blocks placed in columns of a height.

    A block that must stay whole starts a new column where it does not fit; one taller than a column is broken.
    """
    title_h, gap = LEADING * ONE.label * 1.15, 1.6 * ONE.table
    placed: list[Placed] = []
    column, y = 0, 0.0
    for block in blocks:
        opening = title_h + (block.head.height if block.head else 0.0) + (block.lines[0].height if block.lines else 0.0)
        need = title_h + sum(line.height for line in block.lines) if block.whole else opening
        if y > 0 and y + need > height:
            column, y = column + 1, 0.0
        placed.append(Placed(column=column, y=y, line=Line(height=title_h), title=block.title))
        y += title_h
        for line in (*((block.head,) if block.head else ()), *block.lines):
            if y + line.height > height and y > 0:
                column, y = column + 1, 0.0
                if block.head and line is not block.head:
                    placed.append(Placed(column=column, y=y, line=block.head))
                    y += block.head.height
            placed.append(Placed(column=column, y=y, line=line))
            y += line.height
        y += gap
    return placed
