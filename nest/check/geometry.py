"""Rectangles of a plan: distance, guillotine separability and empty areas.

Own code on purpose: it judges what the packing code made and shares nothing with it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from nest.domain.plan import Rect

NOISE_MM = 1e-6
"""Binary noise of sums of mm; what fits up to this, fits exactly."""


class Box(NamedTuple):
    """A rectangle by its two corners, mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def w(self) -> float:
        """Extent in x."""
        return self.x1 - self.x0

    @property
    def h(self) -> float:
        """Extent in y."""
        return self.y1 - self.y0

    @property
    def area(self) -> float:
        """Area in mm2."""
        return self.w * self.h


def box_of(rect: Rect) -> Box:
    """Return the corners of a rectangle."""
    return Box(rect.x, rect.y, rect.x + rect.w, rect.y + rect.h)


def inside(inner: Box, outer: Box, tolerance: float = EPS_MM) -> bool:
    """Return whether a box lies in another one, up to the tolerance."""
    return (
        inner.x0 >= outer.x0 - tolerance
        and inner.y0 >= outer.y0 - tolerance
        and inner.x1 <= outer.x1 + tolerance
        and inner.y1 <= outer.y1 + tolerance
    )


def same(a: Box, b: Box) -> bool:
    """Return whether two boxes agree at all four edges."""
    return all(abs(p - q) <= EPS_MM for p, q in zip(a, b, strict=True))


def overlaps(a: Box, b: Box, gap: float = 0.0, tolerance: float = EPS_MM) -> bool:
    """Return whether two boxes are closer than ``gap`` both in x and in y, by more than the tolerance."""
    reach = gap - tolerance
    return a.x0 < b.x1 + reach and b.x0 < a.x1 + reach and a.y0 < b.y1 + reach and b.y0 < a.y1 + reach


def close_pairs(boxes: Sequence[Box], gap: float) -> Iterator[tuple[int, int]]:
    """Yield the pairs of boxes that are less than ``gap`` apart both in x and in y.

    A sweep along x keeps the boxes that can still touch the next one, so that a plate of n pieces in rows takes about
    n*sqrt(n) steps instead of all pairs.
    """
    active: list[int] = []
    for i in sorted(range(len(boxes)), key=lambda k: (boxes[k], k)):
        here = boxes[i]
        active = [j for j in active if boxes[j].x1 + gap - EPS_MM > here.x0]
        for j in active:
            if overlaps(boxes[j], here, gap):
                yield (min(i, j), max(i, j))
        active.append(i)


def _bands(boxes: Sequence[Box], group: list[int], axis: int) -> list[list[int]]:
    """Part a group at every line across ``axis`` that goes through no box of it."""
    ordered = sorted(group, key=lambda k: (boxes[k][axis], k))
    bands: list[list[int]] = []
    reach = float("-inf")
    for k in ordered:
        if boxes[k][axis] >= reach - EPS_MM:
            bands.append([])
        bands[-1].append(k)
        reach = max(reach, boxes[k][axis + 2])
    return bands


def inseparable(boxes: Sequence[Box]) -> list[int]:
    """Return boxes that no edge-to-edge cut can part, or an empty list where all can be parted.

    Any cut that goes through no box may be taken: what can be parted whole can be parted in every subset, so no choice
    of cut spoils a later one.
    """
    stack = [list(range(len(boxes)))] if boxes else []
    while stack:
        group = stack.pop()
        if len(group) == 1:
            continue
        bands = _bands(boxes, group, 0)
        if len(bands) == 1:
            bands = _bands(boxes, group, 1)
        if len(bands) == 1:
            return sorted(group)
        stack.extend(bands)
    return []


def _without(room: Box, taken: Box, least: float) -> list[Box]:
    """Return the largest boxes of ``room`` beside ``taken`` that are at least ``least`` wide and high."""
    parts = (
        Box(room.x0, room.y0, min(room.x1, taken.x0), room.y1),
        Box(max(room.x0, taken.x1), room.y0, room.x1, room.y1),
        Box(room.x0, room.y0, room.x1, min(room.y1, taken.y0)),
        Box(room.x0, max(room.y0, taken.y1), room.x1, room.y1),
    )
    return [part for part in parts if part.w >= least - NOISE_MM and part.h >= least - NOISE_MM]


def empty_boxes(inner: Box, boxes: Sequence[Box], gap: float, least: float) -> list[Box]:
    """Return the largest empty boxes of a plate at ``gap`` from its pieces.

    Parameters
    ----------
    inner : Box
        The plate inside its keep-outs.
    boxes : sequence of Box
        Its pieces.
    gap : float
        Distance in mm owed to a piece; none is owed at the keep-outs.
    least : float
        Smallest side in mm that matters: narrower empty boxes are left out.
    """
    found = [inner] if inner.w >= least - NOISE_MM and inner.h >= least - NOISE_MM else []
    for box in sorted(boxes, key=lambda b: (b.y0, b.x0)):
        taken = Box(box.x0 - gap, box.y0 - gap, box.x1 + gap, box.y1 + gap)
        hit = [overlaps(room, taken, tolerance=NOISE_MM) for room in found]
        pool = [room for room, cut in zip(found, hit, strict=True) if not cut]
        fresh = {part for room, cut in zip(found, hit, strict=True) if cut for part in _without(room, taken, least)}
        for part in sorted(fresh, key=lambda b: (-b.area, b)):
            if not any(inside(part, other, NOISE_MM) for other in pool):
                pool.append(part)
        found = pool
    return sorted(found)


def corners(room: Box, w: float, h: float) -> Iterator[Box]:
    """Yield a box of the given size in each corner of a larger one."""
    for x in sorted({room.x0, room.x1 - w}):
        for y in sorted({room.y0, room.y1 - h}):
            yield Box(x, y, x + w, y + h)
