"""Which rectangles hold a few pieces: the exact frontier of least sizes, for the exhaustive search of ``brute``.

Lengths are whole units of 0.0001 mm. A *size* is (along x, along y). The *frontier* of some pieces is the set of sizes
that hold them and of which neither side can be made shorter; a rectangle holds the pieces if and only if it is at
least as large, both ways, as one size of the frontier.

**Guillotine.** The first edge-to-edge cut parts the pieces into two groups that lie left and right of it (or below and
above). With gap 0 the two groups need exactly the sum of their widths and the larger of their heights, so the
frontier of a set is the best of the joins of the frontiers of all its two-part splits: complete by induction. With a
gap, a cut may run between a piece of each group that keep their gap the other way round, so the sum is not always
needed, but only if both groups have two pieces: with one piece on a side, that piece could be cut off the other way
round, or the sum is needed after all. Frontiers with a gap are therefore given for up to three pieces only.

**Free.** Each piece is made larger by the gap, and so is the rectangle: then "the gap apart in x or in y" is "do not
overlap". For any placement there is an order in which every piece comes after all that lie left of it or below it
(one of the two sequences of a sequence pair: Murata, Fujiyoshi, Nakatake & Kajitani, IEEE Trans. CAD 15(12), 1996).
In this order, an earlier piece i with upper right corner (X, Y) asks of a later one at (x, y) only: x >= X or y >= Y.
What matters of the earlier pieces is thus the staircase under their upper right corners, and the least positions for
the next piece are the inner corners of the staircase (corner points: Martello, Pisinger & Vigo, Operations Research
48(2), 2000). A position further right or up, or a staircase that contains another, never allows more later on. So
trying every last piece, turn and inner corner on every staircase of the others meets every least size.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations, product
from typing import TYPE_CHECKING

from nest.domain.room import Cutting
from nest.units import to_units

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from nest.domain.room import Room

Size = tuple[int, int]
Turns = tuple[Size, ...]
"""The sizes one piece may take, one for each turn that is allowed."""
Region = tuple[tuple[Size, ...], Size]
"""Least sizes and the one largest size of a plate with its lead edge on one axis."""

UNLIMITED = 10**12


def least(sizes: Iterable[Size]) -> tuple[Size, ...]:
    """Return the sizes that no other one fits into, narrowest first."""
    kept: list[Size] = []
    for size in sorted(set(sizes)):
        if not kept or size[1] < kept[-1][1]:
            kept.append(size)
    return tuple(kept)


def frontier(pieces: Iterable[Turns], cutting: Cutting, gap: int, limit: Size) -> tuple[Size, ...]:
    """Return the least sizes up to ``limit`` that hold all pieces; empty where they don't fit.

    Raises
    ------
    ValueError
        If a guillotine plate of more than three pieces is to have a gap.
    """
    ordered = tuple(sorted(pieces))
    if cutting is Cutting.FREE:
        found = _staircases(ordered, gap, (limit[0] + gap, limit[1] + gap))
        return least((steps[-1][0] - gap, steps[0][1] - gap) for steps in found)
    if gap and len(ordered) > 3:
        raise ValueError("the frontier of more than three guillotined pieces with a gap is not known")
    return _joined(ordered, gap, limit)


@lru_cache(maxsize=100_000)
def _joined(pieces: tuple[Turns, ...], gap: int, limit: Size) -> tuple[Size, ...]:
    """Return the frontier of a guillotine plate: all joins of all two-part splits."""
    if len(pieces) == 1:
        return least(size for size in pieces[0] if size[0] <= limit[0] and size[1] <= limit[1])
    found = set()
    for one, other in _splits(pieces):
        for a, b in product(_joined(one, gap, limit), _joined(other, gap, limit)):
            found.add((a[0] + gap + b[0], max(a[1], b[1])))
            found.add((max(a[0], b[0]), a[1] + gap + b[1]))
    return least(size for size in found if size[0] <= limit[0] and size[1] <= limit[1])


def _splits(pieces: tuple[Turns, ...]) -> Iterator[tuple[tuple[Turns, ...], tuple[Turns, ...]]]:
    """Yield every split of the pieces into two groups, the first piece always in the first group."""
    places = range(1, len(pieces))
    for count in range(1, len(pieces)):
        for second in combinations(places, count):
            yield (tuple(p for i, p in enumerate(pieces) if i not in second), tuple(pieces[i] for i in second))


Steps = tuple[Size, ...]
"""Outer corners of a staircase, from left to right: x grows, y falls."""


@lru_cache(maxsize=100_000)
def _staircases(pieces: tuple[Turns, ...], gap: int, limit: Size) -> tuple[Steps, ...]:
    """Return the staircases under the pieces' upper right corners, without those that contain another."""
    if not pieces:
        return ((),)
    found: set[Steps] = set()
    for last in sorted(set(pieces)):
        others = list(pieces)
        others.remove(last)
        for steps in _staircases(tuple(others), gap, limit):
            for (w, h), (x, y) in product(last, _inner_corners(steps)):
                corner = (x + w + gap, y + h + gap)
                if corner[0] <= limit[0] and corner[1] <= limit[1]:
                    found.add(_with_corner(steps, corner))
    return _smallest(found)


def _inner_corners(steps: Steps) -> list[Size]:
    """Return the least positions for a next piece."""
    xs = [0, *(x for x, _ in steps)]
    ys = [*(y for _, y in steps), 0]
    return list(zip(xs, ys, strict=True))


def _with_corner(steps: Steps, corner: Size) -> Steps:
    """Return the staircase that also covers the new outer corner."""
    return tuple(sorted([s for s in steps if s[0] > corner[0] or s[1] > corner[1]] + [corner]))


def _smallest(found: set[Steps]) -> tuple[Steps, ...]:
    """Drop every staircase that contains another one."""
    kept: list[Steps] = []
    for steps in sorted(found, key=_area):
        if not any(_contains(steps, smaller) for smaller in kept):
            kept.append(steps)
    return tuple(kept)


def _area(steps: Steps) -> int:
    lefts = (0, *(x for x, _ in steps))
    return sum((x - left) * y for left, (x, y) in zip(lefts, steps, strict=False))


def _contains(large: Steps, small: Steps) -> bool:
    return all(any(x <= X and y <= Y for X, Y in large) for x, y in small)


def plate_regions(
    pieces: tuple[Turns, ...], least_border: int, room: Room, material: str, *, strip: int, largest: Size
) -> tuple[Region, ...]:
    """Return the sizes a plate of these pieces may have, a region for each lead axis and way through the stations.

    Parameters
    ----------
    pieces
        Allowed turns of each piece.
    least_border
        Smallest floor border of all pieces, 0.0001 mm; counts only where the border may lie under clamp and tape.
    strip
        Least side of any part, 0.0001 mm: the raw strip for plates that are cut from a sheet.
    largest
        No sheet is larger than this; spares the search larger plates.

    """
    imager, gap = room.imager, to_units(room.gap_of(material))
    under = least_border if imager.border_under_hold else 0
    trim = to_units(room.trim_of(material))
    clamp = to_units(max([imager.clamp_mm, *(station.bar_mm for station in room.stations)]))
    lead, side = max(trim, clamp - under), max(trim, to_units(imager.drum_tape_mm) - under)
    least_keep = side + min(lead, side)  # without a clamp the lead edge may keep out less than a side does
    inner = frontier(pieces, room.cutting, gap, (largest[0] - least_keep, largest[1] - least_keep))
    low = (to_units(imager.min_across_mm), to_units(imager.min_around_mm))
    high = (to_units(imager.max_across_mm), to_units(imager.max_around_mm))
    across_x = [(low, high, (2 * side, lead + side)), (low[::-1], high[::-1], (lead + side, 2 * side))]
    regions: set[Region] = set()
    for (mins, maxs, keep), limits in product(across_x, _station_limits(room)):
        floor = tuple(max(strip, mins[k], *(lim[0][k] for lim in limits)) for k in (0, 1))
        roof = min([maxs[0], *(lim[1][0] for lim in limits)]), min([maxs[1], *(lim[1][1] for lim in limits)])
        sizes = ((max(w + keep[0], floor[0]), max(h + keep[1], floor[1])) for w, h in inner)
        points = least(size for size in sizes if size[0] <= roof[0] and size[1] <= roof[1])
        if points:
            regions.add((points, roof))
    return tuple(sorted(regions))


def _station_limits(room: Room) -> list[tuple[tuple[Size, Size], ...]]:
    """Return every combination of which side of the plate is the longer one at each station: (least, largest) size.

    "The longer side is at least p and the shorter at least q" is "x >= p and y >= q, or x >= q and y >= p"; the same
    with at most.
    """
    ways: list[list[tuple[Size, Size]]] = [[((0, 0), (UNLIMITED, UNLIMITED))]]
    for station in room.stations:
        a, b = to_units(station.min_a_mm), to_units(station.min_b_mm)
        most = [UNLIMITED if m is None else to_units(m) for m in (station.max_a_mm, station.max_b_mm)]
        ways.append(
            [(low, high) for low in ((a, b), (b, a)) for high in ((most[0], most[1]), (most[1], most[0]))]
        )
    return list(product(*ways))
