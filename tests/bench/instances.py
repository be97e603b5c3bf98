"""Classical instances: rectangles, bin types, best-known values; read from files."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


class Variant(StrEnum):
    """How items may lie and how bins must be cut."""

    ORIENTED_FREE = "oriented, free"
    ORIENTED_GUILLOTINE = "oriented, guillotine"
    ROTATED_GUILLOTINE = "rotated, guillotine"

    @property
    def rotated(self) -> bool:
        """Whether items may be turned by a quarter."""
        return self is Variant.ROTATED_GUILLOTINE

    @property
    def guillotine(self) -> bool:
        """Whether bins must come apart by edge-to-edge cuts."""
        return self is not Variant.ORIENTED_FREE


@dataclass(frozen=True, slots=True, kw_only=True)
class BinType:
    """A bin size with its cost; ``count`` is None where unlimited."""

    w: int
    h: int
    cost: int
    count: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance:
    """Items (w, h, how many) to pack into bins at least total cost.

    ``best`` holds the best-known cost by variant: of any guillotine packing it is that of three stages, so an engine
    of any number of stages may beat it.
    """

    name: str
    bins: tuple[BinType, ...]
    items: tuple[tuple[int, int, int], ...]
    best: dict[Variant, float] = field(default_factory=dict)

    @property
    def area(self) -> int:
        """Area of all items."""
        return sum(w * h * n for w, h, n in self.items)

    @property
    def copies(self) -> tuple[tuple[int, int], ...]:
        """Every single item, in order."""
        return tuple((w, h) for w, h, n in self.items for _ in range(n))

    @property
    def area_bound(self) -> int:
        """A cost no packing is below: all area at the cheapest rate, in whole units of cost, at least one bin."""
        # fractions, so that no rounding can lift the bound above the truth
        rate = min(Fraction(b.cost, b.w * b.h) for b in self.bins)
        return max(min(b.cost for b in self.bins), math.ceil(self.area * rate))


BEST_KEYS = {
    Variant.ORIENTED_FREE: "O|F",
    Variant.ORIENTED_GUILLOTINE: "3-stage non-exact horizontal, oriented",
    Variant.ROTATED_GUILLOTINE: "3-stage non-exact horizontal, rotation",
}


def instance_of(values: dict[str, Any]) -> Instance:
    """Return an instance from its file's values."""
    listed = values.get("best") or {}
    best = {variant: float(listed[key]) for variant, key in BEST_KEYS.items() if key in listed}
    if not best and values.get("best_upper") is not None:
        best = {Variant.ORIENTED_FREE: float(values["best_upper"])}
    return Instance(
        name=values["name"],
        bins=tuple(BinType(w=b["w"], h=b["h"], cost=b["cost"], count=b["count"]) for b in values["bins"]),
        items=tuple((i["w"], i["h"], i["qty"]) for i in values["items"]),
        best=best,
    )


def instances_in(folder: Path) -> Iterator[Instance]:
    """Yield the instances of a folder by name."""
    for path in sorted(folder.glob("*.json")):
        yield instance_of(json.loads(path.read_text(encoding="utf-8")))
