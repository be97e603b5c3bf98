"""A large drawing at full size on many sheets of paper: tiles that overlap, with register marks that meet."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nest.output.text_fit import Box

OVERLAP_MM = 12.0
"""How much of the drawing two neighbouring tiles share."""
TILE_MARGIN_MM = 10.0
FOOT_MM = 12.0
"""Strip at the foot of each tile for its place and a 100 mm line."""
Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One sheet of paper of a large drawing.

    ``window`` is the part of the drawing it shows, ``marks`` are the points of the drawing where register marks stand,
    ``seams`` the lines along which it is cut or laid over its neighbours. All in mm on the drawing. ``row`` and
    ``column`` count from 1 from the upper left, ``rows`` and ``columns`` are how many there are.
    """

    row: int
    column: int
    rows: int
    columns: int
    window: Box
    marks: tuple[Point, ...]
    seams: tuple[tuple[Point, Point], ...]
    paper: tuple[float, float]


def tiles_of(drawing: Box, paper: tuple[float, float]) -> tuple[Tile, ...]:
    """Return the tiles that show a drawing at full size, row by row, on paper laid the way that needs fewer.

    Register marks stand on the middle of each overlap, at a quarter and three quarters of every seam between two
    neighbours, so that the same points of the drawing carry marks on both.

    Parameters
    ----------
    drawing
        The part of a page to show, mm.
    paper
        Width and height of the upright paper, mm.
    """
    short, long = paper
    ways = [_grid(drawing, size) for size in ((long, short), (short, long))]
    return min(ways, key=len)


def _grid(drawing: Box, paper: tuple[float, float]) -> tuple[Tile, ...]:
    usable = (paper[0] - 2 * TILE_MARGIN_MM, paper[1] - 2 * TILE_MARGIN_MM - FOOT_MM)
    columns, rows = _count(drawing.w, usable[0]), _count(drawing.h, usable[1])
    step_x, step_y = usable[0] - OVERLAP_MM, usable[1] - OVERLAP_MM
    seams_x = [drawing.x + column * step_x + OVERLAP_MM / 2 for column in range(1, columns)]
    seams_y = [drawing.y + row * step_y + OVERLAP_MM / 2 for row in range(1, rows)]
    out = []
    for row in range(rows):
        for column in range(columns):
            x, y = drawing.x + column * step_x, drawing.y + row * step_y
            w, h = min(usable[0], drawing.x + drawing.w - x), min(usable[1], drawing.y + drawing.h - y)
            window = Box(x=x, y=y, w=w, h=h)
            mine_x = [seam for seam in seams_x if window.x < seam < window.x + window.w]
            mine_y = [seam for seam in seams_y if window.y < seam < window.y + window.h]
            # Between the seams of neighbours the marks' places come from the grid, so both sides have the same.
            spots_y = _spots(drawing.y, drawing.h, step_y, row)
            spots_x = _spots(drawing.x, drawing.w, step_x, column)
            marks = [(seam, at) for seam in mine_x for at in spots_y]
            marks += [(at, seam) for seam in mine_y for at in spots_x]
            seams = [((seam, window.y), (seam, window.y + window.h)) for seam in mine_x]
            seams += [((window.x, seam), (window.x + window.w, seam)) for seam in mine_y]
            out.append(Tile(row=row + 1, column=column + 1, rows=rows, columns=columns, window=window,
                            marks=tuple(marks), seams=tuple(seams), paper=paper))  # fmt: skip
    return tuple(out)


def _count(length: float, usable: float) -> int:
    return max(1, math.ceil((length - OVERLAP_MM) / (usable - OVERLAP_MM) - 1e-9))


def _spots(start: float, length: float, step: float, index: int) -> tuple[float, float]:
    """Return the places of marks along a row or column of the grid, a quarter and three quarters of what it shows."""
    low = start + index * step
    high = min(low + step + OVERLAP_MM, start + length)
    return low + (high - low) / 4, low + 3 * (high - low) / 4
