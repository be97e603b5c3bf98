"""Finding room for text on a drawing: numbers on cut lines, and the clear part of a box."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from nest.output.text_fit import Box

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.output.marks import Point

EVENLY = tuple(step / 24 for step in range(25))
"""Parts of a line at which a place is tried: from its start, evenly."""


def spot_on_line(
    start: Point, end: Point, w: float, h: float, taken: Sequence[Box], spared: Sequence[Box], within: Box | None,
    *, parts: Sequence[float] = EVENLY,
) -> Box | None:
    """Return a box on a line that touches nothing taken, None where there is no place.

    Among the free places the one covering the least of ``spared`` is taken, the first in the order of ``parts`` (of
    the line's length) where several cover the same.
    """
    best: tuple[float, int, Box] | None = None
    near = _near(start, end, w, h, taken)
    soft = _near(start, end, w, h, spared)
    for step, part in enumerate(parts):
        box = _box_at(start, end, part, w, h)
        if (within is not None and not _inside(box, within)) or any(box.touches(other) for other in near):
            continue
        rank = (round(sum(overlap(box, other) for other in soft), 3), step, box)
        if best is None or rank[:2] < best[:2]:
            best = rank
    return None if best is None else best[2]


def spot_beside(
    point: Point, w: float, h: float, taken: Sequence[Box], spared: Sequence[Box], within: Box
) -> Box | None:
    """Return a box near a point, for a text with a leader line to it, None where there is no place.

    Boxes are tried on rings around the point. The leader, from the box's middle to the point, crosses nothing taken
    either. Among the free places the one covering the least of ``spared`` is taken, the nearest where several cover the
    same.
    """
    reach = _RINGS * h + w
    field = Box(x=point[0] - reach, y=point[1] - reach, w=2 * reach, h=2 * reach)
    near = [box for box in taken if box.touches(field)]
    soft = [box for box in spared if box.touches(field)]
    best: tuple[float, int, int, Box] | None = None
    for ring in range(1, _RINGS + 1):
        for spoke in range(_SPOKES):
            angle = math.tau * spoke / _SPOKES
            mid = (point[0] + (ring * h + w / 2) * math.cos(angle), point[1] + (ring * h) * math.sin(angle))
            box = Box(x=mid[0] - w / 2, y=mid[1] - h / 2, w=w, h=h)
            if not _inside(box, within) or any(box.touches(other) for other in near):
                continue
            rank = (round(sum(overlap(box, other) for other in soft), 3), ring, spoke, box)
            if (best is None or rank[:3] < best[:3]) and not any(
                one.touches(other) for one in leader_boxes(point, box, h / 8) for other in near
            ):
                best = rank
    return None if best is None else best[3]


_RINGS, _SPOKES = 6, 16


def leader_boxes(point: Point, box: Box, size: float) -> list[Box]:
    """Return small boxes along the line from a point to the middle of a box, outside that box."""
    mid = (box.x + box.w / 2, box.y + box.h / 2)
    count = max(2, math.ceil(math.dist(point, mid) / size))
    spots = [
        (point[0] + (mid[0] - point[0]) * step / count, point[1] + (mid[1] - point[1]) * step / count)
        for step in range(count + 1)
    ]
    boxes = [Box(x=x - size / 4, y=y - size / 4, w=size / 2, h=size / 2) for x, y in spots]
    return [one for one in boxes if not one.touches(box)]


def _box_at(start: Point, end: Point, part: float, w: float, h: float) -> Box:
    """Return the box at a part of a line, held back from the ends by half its size."""
    (x0, y0), (x1, y1) = start, end
    back_x = min(w / 2, abs(x1 - x0) / 2) * (1 if x1 > x0 else -1 if x1 < x0 else 0)
    back_y = min(h / 2, abs(y1 - y0) / 2) * (1 if y1 > y0 else -1 if y1 < y0 else 0)
    x = x0 + back_x + (x1 - x0 - 2 * back_x) * part
    y = y0 + back_y + (y1 - y0 - 2 * back_y) * part
    return Box(x=x - w / 2, y=y - h / 2, w=w, h=h)


def _near(start: Point, end: Point, w: float, h: float, boxes: Iterable[Box]) -> list[Box]:
    x0, x1 = sorted((start[0], end[0]))
    y0, y1 = sorted((start[1], end[1]))
    lane = Box(x=x0 - w / 2, y=y0 - h / 2, w=x1 - x0 + w, h=y1 - y0 + h)
    return [box for box in boxes if box.touches(lane)]


def _inside(box: Box, outer: Box) -> bool:
    slack = 1e-6
    return (
        box.x >= outer.x - slack
        and box.y >= outer.y - slack
        and box.x + box.w <= outer.x + outer.w + slack
        and box.y + box.h <= outer.y + outer.h + slack
    )


def overlap(one: Box, other: Box) -> float:
    """Return the area two boxes share."""
    w = min(one.x + one.w, other.x + other.w) - max(one.x, other.x)
    h = min(one.y + one.h, other.y + other.h) - max(one.y, other.y)
    return max(0.0, w) * max(0.0, h)


def clear_part(box: Box, taken: Iterable[Box]) -> Box:
    """Return a large part of a box that touches nothing taken: for each thing in the way the best side is kept."""
    for other in taken:
        if not box.touches(other):
            continue
        right, low = box.x + box.w, box.y + box.h
        o_right, o_low = other.x + other.w, other.y + other.h
        sides = [
            Box(x=box.x, y=box.y, w=max(0.0, other.x - box.x), h=box.h),
            Box(x=o_right, y=box.y, w=max(0.0, right - o_right), h=box.h),
            Box(x=box.x, y=box.y, w=box.w, h=max(0.0, other.y - box.y)),
            Box(x=box.x, y=o_low, w=box.w, h=max(0.0, low - o_low)),
        ]
        box = max(sides, key=lambda side: side.w * side.h)
    return box
