"""Places along the edges of a plate or sheet on the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.plan import Edge
from nest.output.text_fit import Box
from nest.units import EPS_MM

if TYPE_CHECKING:
    from nest.output.marks import Point


def edge_strip(box: Box, edge: Edge, depth: float) -> Box:
    """Return the strip of a depth along an edge of a plate, on the page."""
    if edge is Edge.Y0:
        return Box(x=box.x, y=box.y + box.h - depth, w=box.w, h=depth)
    if edge is Edge.Y1:
        return Box(x=box.x, y=box.y, w=box.w, h=depth)
    if edge is Edge.X0:
        return Box(x=box.x, y=box.y, w=depth, h=box.h)
    return Box(x=box.x + box.w - depth, y=box.y, w=depth, h=box.h)


def beside(box: Box, edge: Edge, away: float) -> tuple[Point, Point]:
    """Return the line along an edge of a plate, so far inside it (outside where negative), on the page."""
    left, right, top, low = box.x, box.x + box.w, box.y, box.y + box.h
    if edge is Edge.Y0:
        return (left, low - away), (right, low - away)
    if edge is Edge.Y1:
        return (left, top + away), (right, top + away)
    if edge is Edge.X0:
        return (left + away, top), (left + away, low)
    return (right - away, top), (right - away, low)


def on_edge(box: Box, sheet: Box, edge: Edge) -> bool:
    """Whether an edge of a plate is an edge of its sheet."""
    mine, whole = beside(box, edge, 0.0)[0], beside(sheet, edge, 0.0)[0]
    axis = 0 if edge in (Edge.X0, Edge.X1) else 1
    return abs(mine[axis] - whole[axis]) <= EPS_MM
