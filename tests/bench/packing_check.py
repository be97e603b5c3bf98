"""A check of packings that knows nothing of the engine: every item once, inside, apart from each other, cuttable."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from tests.bench.instances import Instance, Variant

Box = tuple[int, int, int, int]
"""x, y, w, h."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A bin in use: index of its type, and the boxes in it with the index of the item each one is."""

    bin: int
    boxes: tuple[tuple[int, Box], ...]


def disjoint(boxes: Sequence[Box]) -> bool:
    """Return whether no two boxes overlap; sides may touch."""
    order = sorted(boxes)
    for at, (x, y, w, h) in enumerate(order):
        for other in order[at + 1 :]:
            if other[0] >= x + w:
                break
            if other[1] < y + h and y < other[1] + other[3]:
                return False
    return True


def partable(boxes: Sequence[Box]) -> bool:
    """Return whether edge-to-edge cuts, one after another, part all boxes from each other.

    A cut that is possible stays so after any other cut, so taking all cuts of one direction at once loses nothing.
    """
    waiting = [list(boxes)]
    while waiting:
        part = waiting.pop()
        if len(part) < 2:
            continue
        for side in (0, 1):
            pieces = strips(part, side)
            if len(pieces) > 1:
                waiting += pieces
                break
        else:
            return False
    return True


def strips(boxes: Iterable[Box], side: int) -> list[list[Box]]:
    """Return boxes parted wherever a line across ``side`` (0: x, 1: y) meets none of them."""
    out: list[list[Box]] = []
    end = 0
    for box in sorted(boxes, key=lambda b: b[side]):
        if not out or box[side] >= end:
            out.append([])
            end = box[side] + box[2 + side]
        out[-1].append(box)
        end = max(end, box[side] + box[2 + side])
    return out


def faults_of(instance: Instance, filled: Sequence[Filled], variant: Variant, cost: float) -> list[str]:
    """Return what is wrong with a packing of all items that claims a cost; empty where nothing is."""
    out = []
    copies = instance.copies
    seen = Counter(item for one in filled for item, _ in one.boxes)
    if seen != Counter(range(len(copies))):
        out.append("not every item is packed exactly once")
    used = Counter(one.bin for one in filled)
    for at, b in enumerate(instance.bins):
        if b.count is not None and used[at] > b.count:
            out.append(f"{used[at]} bins of type {at}, there are {b.count}")
    for number, one in enumerate(filled):
        b = instance.bins[one.bin]
        boxes = [box for _, box in one.boxes]
        for item, (x, y, w, h) in one.boxes:
            if (w, h) != copies[item] and not (variant.rotated and (h, w) == copies[item]):
                out.append(f"bin {number}: item {item} is {copies[item]}, packed as {(w, h)}")
            if x < 0 or y < 0 or x + w > b.w or y + h > b.h:
                out.append(f"bin {number}: item {item} lies outside")
        if not disjoint(boxes):
            out.append(f"bin {number}: items overlap")
        if variant.guillotine and not partable(boxes):
            out.append(f"bin {number}: not partable by edge-to-edge cuts")
    true = sum(instance.bins[one.bin].cost for one in filled)
    if abs(true - cost) > 1e-6 * max(1.0, true):
        out.append(f"claimed cost {cost}, is {true}")
    return out
