"""The cheapest way to part one sheet into given plates and rests; why the tried cuts suffice is told in ``brute``.

Lengths are whole units of 0.0001 mm, x is axis 0, y is axis 1. The search is a plain recursion over rectangles: a part
is a plate, a rest, or is cut in two, at each of the positions that may matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from math import inf
from typing import TYPE_CHECKING, Protocol

from nest.units import area_m2, money, to_mm, to_units

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.room import Costs
    from tests.brute_fit import Region, Size


@dataclass(frozen=True, slots=True)
class Bin:
    """A kind of sheet or an offcut: size, what drawing one costs, and what a kept m2 of it earns at the full rate."""

    size: Size
    price: float
    rate: float


@dataclass(frozen=True, slots=True)
class Shape:
    """Sizes a plate may have: as a whole sheet (``whole``), and as one part of a cut one (``part``)."""

    whole: tuple[Region, ...]
    part: tuple[Region, ...]

    @property
    def least_m2(self) -> float:
        """Area of the smallest such plate, infinite where there is none."""
        return min((area_m2(*point) for points, _ in self.whole for point in points), default=inf)


def holds(regions: tuple[Region, ...], size: Size) -> bool:
    """Whether a plate of this size is one of the regions."""
    w, h = size
    return any(
        w <= roof[0] and h <= roof[1] and any(x <= w and y <= h for x, y in points) for points, roof in regions
    )


@lru_cache(maxsize=200_000)
def credit(size: Size, rate: float, costs: Costs) -> float:
    """Return what keeping a rest earns, 0 where it may not be kept (design, section 5)."""
    m2, short = area_m2(*size), to_mm(min(size))
    if short < costs.offcut_min_side_mm or m2 < costs.offcut_min_area_m2 - 1e-9:
        return 0.0
    share = min(1.0, short / costs.offcut_full_side_mm) if costs.offcut_full_side_mm else 1.0
    return money(max(0.0, rate * m2 * share - costs.offcut_handling))


class Positions(Protocol):
    """Says where a cut of a rectangle may have to lie; ``low`` and ``high`` are the plates of its two sides."""

    def __call__(self, parting: Parting, size: Size, axis: int, low: int, high: int, spare: int) -> set[int]: ...


class Parting:
    """Exhaustive search for the cheapest parting of one sheet into given plates.

    Sets of plates are bit masks. All results are costs of plates, processing and cuts less credits of rests. A result
    is exact where it is under the limit ``below`` that the caller gives, and not under it otherwise: what can't become
    cheaper than something already found need not be looked into.
    """

    def __init__(self, stock: Bin, shapes: tuple[Shape, ...], costs: Costs, positions: Positions) -> None:
        self.stock, self.shapes, self.costs, self.positions = stock, shapes, costs, positions
        self.strip = to_units(costs.raw_min_strip_mm)
        self.keep_side = max(self.strip, to_units(costs.offcut_min_side_mm))
        self._exact: dict[tuple[Size, int, int, int], float] = {}
        self._not_under: dict[tuple[Size, int, int, int], float] = {}
        self._bounds: dict[tuple[Size, int, int], float] = {}
        self._tight: dict[tuple[Size, int, int], set[int]] = {}

    def cheapest(self, below: float = inf) -> float:
        """Return the least cost of the sheet without its price."""
        mask, costs = (1 << len(self.shapes)) - 1, self.costs
        if len(self.shapes) == 1 and holds(self.shapes[0].whole, self.stock.size):
            below = min(below, self.plate(self.stock.size))
        if self.at_least(self.stock.size, mask, costs.offcuts_per_sheet) >= below:
            return below
        return self.cut(self.stock.size, mask, costs.raw_parts_max, costs.offcuts_per_sheet, below)

    def part(self, size: Size, mask: int, parts: int, kept: int, below: float) -> float:
        """Return the least cost of a part of a cut sheet that makes the plates ``mask``, inf where it can't.

        At most ``parts`` plates and rests come of it, at most ``kept`` of them kept rests.
        """
        if parts < max(1, mask.bit_count()) or self.at_least(size, mask, kept) >= below:
            return inf
        if mask == 0:  # two rests side by side are never better than both in one: not cut again
            return -credit(size, self.stock.rate, self.costs) if kept else 0.0
        key = (size, mask, parts, kept)
        if key in self._exact:
            return self._exact[key]
        if self._not_under.get(key, -inf) >= below:
            return inf
        alone = mask.bit_count() == 1 and holds(self.shapes[mask.bit_length() - 1].part, size)
        found = self.cut(size, mask, parts, kept, min(below, self.plate(size) if alone else inf))
        if found >= below < inf:
            self._not_under[key] = below
            return inf
        self._exact[key] = found
        return found

    def cut(self, size: Size, mask: int, parts: int, kept: int, best: float) -> float:
        """Return the least cost when the rectangle is cut in two, or ``best`` where that is not more."""
        for axis, (low, high) in product((0, 1), _pairs(mask)):
            if parts < max(1, low.bit_count()) + max(1, high.bit_count()):
                continue
            for at in sorted(self.positions(self, size, axis, low, high, parts - mask.bit_count())):
                if 0 < at < size[axis]:
                    best = self._cut_at(_cut(size, axis, at), (low, high), (parts, kept), best)
        return best

    def _cut_at(self, sides: tuple[Size, Size], masks: tuple[int, int], budget: tuple[int, int], best: float) -> float:
        """Return the least cost of one cut, over all ways to share parts and kept rests out; or ``best``."""
        (one, two), (low, high), (parts, kept) = sides, masks, budget
        for keep in range(kept + 1):
            other = self.costs.cut + self.at_least(two, high, kept - keep)
            if other + self.at_least(one, low, keep) >= best:
                continue
            for share in range(max(1, low.bit_count()), parts - max(1, high.bit_count()) + 1):
                if high == 0 and share < parts - 1:
                    continue  # a rest is one part: all others are for the low side
                first = self.costs.cut + self.part(one, low, share, keep, best - other)
                if first < inf:
                    best = min(best, first + self.part(two, high, parts - share, kept - keep, best - first))
        return best

    def plate(self, size: Size) -> float:
        """Return what making one plate of this size costs."""
        return self.costs.plate + money(self.costs.process_per_m2 * area_m2(*size))

    def at_least(self, size: Size, mask: int, kept: int) -> float:
        """Return a lower bound of the cost of making the plates of this part, inf where they don't fit."""
        key = (size, mask, kept)
        if key not in self._bounds:
            self._bounds[key] = self._at_least(size, mask, kept)
        return self._bounds[key]

    def _at_least(self, size: Size, mask: int, kept: int) -> float:
        """Bound what rests earn: by the area that the plates leave, and by the strips beside each plate."""
        whole, costs, count = size == self.stock.size, self.costs, mask.bit_count()
        if not whole and (min(size) < self.strip or min(size) <= 0):
            return inf
        if mask == 0:
            return -credit(size, self.stock.rate, costs) if kept else 0.0
        plates, most = 0.0, inf
        for k, shape in enumerate(self.shapes):
            if mask >> k & 1:
                fitting = [p for points, _ in (shape.whole if whole else shape.part) for p in points
                           if p[0] <= size[0] and p[1] <= size[1]]
                if not fitting:
                    return inf
                plates += min(area_m2(*point) for point in fitting)
                w, h = min(w for w, _ in fitting), min(h for _, h in fitting)
                beside = (size[0] - w, size[1]), (size[0], size[1] - h)
                most = min(most, max(credit(rest, self.stock.rate, costs) for rest in beside))
        spare = area_m2(*size) - plates
        if spare < -1e-9:
            return inf
        earned = min(kept * most, max(0.0, self.stock.rate * spare - costs.offcut_handling)) if kept else 0.0
        rounding = 0.005 * (kept + (count if costs.process_per_m2 else 0)) + 1e-9
        return count * costs.plate + costs.process_per_m2 * plates + (count - 1) * costs.cut - earned - rounding

    def tight(self, k: int, size: Size, axis: int) -> set[int]:
        """Return the extents along the axis at which plate k can't be made shorter or longer, inside the rectangle."""
        key = (size, axis, k)
        if key not in self._tight:
            found: set[int] = set()
            for points, roof in self.shapes[k].part:
                fitting = {point[axis] for point in points if point[0] <= size[0] and point[1] <= size[1]}
                found |= fitting | ({roof[axis]} if fitting else set())
            self._tight[key] = found
        return self._tight[key]


def _cut(size: Size, axis: int, at: int) -> tuple[Size, Size]:
    if axis == 0:
        return (at, size[1]), (size[0] - at, size[1])
    return (size[0], at), (size[0], size[1] - at)


def _pairs(mask: int) -> Iterator[tuple[int, int]]:
    """Yield every way to share the plates between the two sides of a cut, the first plate always on the low side."""
    first = mask & -mask
    others = mask ^ first
    high = 0
    while True:
        yield mask ^ high, high
        if high == others:
            return
        high = (high - others) & others


def chained(parting: Parting, size: Size, axis: int, low: int, high: int, spare: int) -> set[int]:
    """Return the cut positions that a chain of tight parts ties to either end of the rectangle."""
    ends = {size[axis] - length for length in _chains(parting, size, axis, high, spare)}
    return ends | _chains(parting, size, axis, low, spare)


def _chains(parting: Parting, size: Size, axis: int, mask: int, spare: int) -> set[int]:
    """Return the lengths of all rows of tight parts, each plate of ``mask`` at most once and up to ``spare`` rests."""
    sums, costs, length = {0}, parting.costs, size[axis]
    roofed = False
    for k, shape in enumerate(parting.shapes):
        if mask >> k & 1:
            sums |= {a + b for a, b in product(sums, parting.tight(k, size, axis)) if a + b < length}
            roofed = roofed or any(roof[axis] < length for _, roof in shape.part)
    for used in range(spare):
        rests = {parting.keep_side} if used < costs.offcuts_per_sheet else set()
        if roofed or mask == 0 or costs.process_per_m2:
            rests.add(parting.strip)
        sums |= {a + b for a, b in product(sums, rests) if a + b < length}
    return sums
