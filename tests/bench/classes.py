"""Classical instances made anew by their published class definitions, seeded.

- Classes 1 to 6: Berkey & Wang 1987, "Two-dimensional finite bin-packing algorithms", Journal of the Operational
  Research Society 38, 423-429, doi 10.1057/jors.1987.70. Sides are whole numbers drawn evenly from 1 to a limit.
- Classes 7 to 10: Martello & Vigo 1998, "Exact solution of the two-dimensional finite bin packing problem", Management
  Science 44, 388-399, doi 10.1287/mnsc.44.3.388. Bins are 100 x 100; an item is of the class's own shape with
  probability 0.7 and of each other shape with 0.1.
- Zero waste: a bin parted at random until it holds as many pieces as the sets C1 to C7 of Hopper & Turton 2001, "An
  empirical investigation of meta-heuristic and heuristic algorithms for a 2D packing problem", European Journal of
  Operational Research 128, 34-57, doi 10.1016/S0377-2217(99)00357-4. The optimum is one bin by construction.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from tests.bench.instances import BinType, Instance, Variant

if TYPE_CHECKING:
    from collections.abc import Iterator

SIDES = {1: (10, 10), 2: (10, 30), 3: (35, 40), 4: (35, 100), 5: (100, 100), 6: (100, 300)}
"""Classes 1 to 6: longest side of an item, side of the bin."""
BIN = 100
SHAPES = (
    ((2 * BIN / 3, BIN), (1, BIN / 2)),
    ((1, BIN / 2), (2 * BIN / 3, BIN)),
    ((BIN / 2, BIN), (BIN / 2, BIN)),
    ((1, BIN / 2), (1, BIN / 2)),
)
"""Classes 7 to 10: limits of width and height of each class's own shape."""
OWN_SHARE, OTHER_SHARE = 0.7, 0.1
COUNTS = (20, 40, 60, 80, 100)
ZERO_WASTE_SETS = {"C1": (20, 20, 16), "C2": (40, 15, 25), "C3": (60, 30, 28), "C4": (60, 60, 49), "C5": (60, 90, 73),
                   "C6": (80, 120, 97), "C7": (160, 240, 196)}  # fmt: skip
"""Width and height of the bin, number of pieces."""


def drawn(random: np.random.Generator, low: float, high: float) -> int:
    """Return a whole number drawn evenly from those between two limits."""
    return int(random.integers(math.ceil(low), math.floor(high) + 1))


def item_of(random: np.random.Generator, number: int) -> tuple[int, int, int]:
    """Return one item of a class."""
    if number in SIDES:
        longest = SIDES[number][0]
        return drawn(random, 1, longest), drawn(random, 1, longest), 1
    shares = [OWN_SHARE if number == 7 + shape else OTHER_SHARE for shape in range(len(SHAPES))]
    width, height = SHAPES[int(random.choice(len(SHAPES), p=shares))]
    return drawn(random, *width), drawn(random, *height), 1


def class_instance(number: int, items: int, seed: int) -> Instance:
    """Return an instance of a class, 1 to 10."""
    random = np.random.default_rng([number, items, seed])
    side = SIDES[number][1] if number in SIDES else BIN
    return Instance(
        name=f"class {number}, {items} items, seed {seed}",
        bins=(BinType(w=side, h=side, cost=1),),
        items=tuple(item_of(random, number) for _ in range(items)),
    )


def class_instances(repeats: int) -> Iterator[Instance]:
    """Yield instances of all ten classes and five sizes, each so many times; classes take turns."""
    for seed in range(repeats):
        for items in COUNTS:
            for number in range(1, 11):
                yield class_instance(number, items, seed)


def zero_waste(name: str, seed: int) -> Instance:
    """Return a bin parted by random edge-to-edge cuts, the largest piece first."""
    width, height, pieces = ZERO_WASTE_SETS[name]
    random = np.random.default_rng([width, height, pieces, seed])
    parts = [(width, height)]
    while len(parts) < pieces:
        parts.sort(key=lambda part: part[0] * part[1])
        w, h = parts.pop()
        upright = w > 1 and (h == 1 or random.random() < w / (w + h))
        long = w if upright else h
        at = min(long - 1, max(1, round(long * float(random.uniform(0.2, 0.8)))))
        parts += [(at, h), (w - at, h)] if upright else [(w, at), (w, h - at)]
    order = random.permutation(pieces)
    return Instance(
        name=f"{name}, seed {seed}",
        bins=(BinType(w=width, h=height, cost=1),),
        items=tuple((*parts[at], 1) for at in order.tolist()),
        best=dict.fromkeys((Variant.ORIENTED_FREE, Variant.ORIENTED_GUILLOTINE), 1.0),
    )


def zero_wastes() -> Iterator[Instance]:
    """Yield one zero-waste instance of each size."""
    for name in ZERO_WASTE_SETS:
        yield zero_waste(name, 0)
