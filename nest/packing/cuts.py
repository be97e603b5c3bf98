"""Finish cuts: the edge-to-edge cuts, in order, that part a plate into its items at their exact size.

Each part is first trimmed to the box of its items, then parted between two of them; items that touch share one cut.
Whether rectangles can be parted at all (any number of stages) is decided by the same recursion: if any order of cuts
works, this one does, since a cut that crosses no item never takes away a later one (Ben Messaoud, Chu & Espinouse
2008, doi 10.1016/j.ejor.2007.08.040, characterise such patterns).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.units import EPS_MM, to_units

if TYPE_CHECKING:
    from collections.abc import Sequence

Box = tuple[int, int, int, int]
"""x1, y1, x2, y2."""
Line = tuple[int, int, int, int]
SAME = to_units(EPS_MM)


def dividing_line(boxes: Sequence[Box], axis: int) -> int | None:
    """Return how many boxes, sorted along an axis, lie before the first line that crosses none, or None.

    ``axis`` 0 asks for an upright line between boxes, 1 for a level one. ``boxes`` must be sorted by that coordinate.
    """
    reach = boxes[0][axis + 2]
    for n in range(1, len(boxes)):
        if boxes[n][axis] >= reach:
            return n
        reach = max(reach, boxes[n][axis + 2])
    return None


def can_be_parted(boxes: Sequence[Box]) -> bool:
    """Return whether edge-to-edge cuts can part the boxes."""
    todo = [list(boxes)]
    while todo:
        group = todo.pop()
        if len(group) < 2:
            continue
        for axis in (0, 1):
            group.sort(key=lambda b: b[axis])
            n = dividing_line(group, axis)
            if n is not None:
                todo += [group[:n], group[n:]]
                break
        else:
            return False
    return True


def trim_lines(part: Box, hull: Box) -> tuple[list[Line], Box]:
    """Return the cuts that trim a part to a box inside it, and what is left; slivers below the tolerance stay."""
    x1, y1, x2, y2 = part
    lines: list[Line] = []
    if hull[1] - y1 > SAME:
        lines.append((x1, hull[1], x2, hull[1]))
        y1 = hull[1]
    if y2 - hull[3] > SAME:
        lines.append((x1, hull[3], x2, hull[3]))
        y2 = hull[3]
    if hull[0] - x1 > SAME:
        lines.append((hull[0], y1, hull[0], y2))
        x1 = hull[0]
    if x2 - hull[2] > SAME:
        lines.append((hull[2], y1, hull[2], y2))
        x2 = hull[2]
    return lines, (x1, y1, x2, y2)


def finish_cuts(plate: Box, boxes: Sequence[Box]) -> list[Line]:
    """Return the cuts that part a plate into the boxes, in cutting order; each crosses one current part fully.

    Raises
    ------
    ValueError
        If edge-to-edge cuts cannot part the boxes.
    """
    lines: list[Line] = []
    todo: list[tuple[Box, list[Box]]] = [(plate, list(boxes))]
    while todo:
        part, group = todo.pop()
        if not group:
            continue
        hull = (min(b[0] for b in group), min(b[1] for b in group), max(b[2] for b in group), max(b[3] for b in group))
        trims, part = trim_lines(part, hull)
        lines += trims
        if len(group) == 1:
            continue
        for axis in (1, 0):
            group.sort(key=lambda b: (b[axis], b))
            n = dividing_line(group, axis)
            if n is None:
                continue
            at = max(b[axis + 2] for b in group[:n])
            x1, y1, x2, y2 = part
            if axis == 1:
                lines.append((x1, at, x2, at))
                low, high = (x1, y1, x2, at), (x1, at, x2, y2)
            else:
                lines.append((at, y1, at, y2))
                low, high = (x1, y1, at, y2), (at, y1, x2, y2)
            todo += [(high, group[n:]), (low, group[:n])]
            break
        else:
            raise ValueError("edge-to-edge cuts cannot part these boxes")
    return lines
