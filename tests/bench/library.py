"""A general rectangle-packing library run over all its settings: rectpack (Apache-2.0), where it is installed.

Rectangles are handed over one by one in the setting's order, which gives the library's own packing for that order and
lets a trial end when time is up.
"""

from __future__ import annotations

import itertools
import math
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.bench.packing_check import Filled

try:
    import rectpack
except ImportError:
    rectpack = None

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

BIN_ALGORITHMS = ("BNF", "BFF", "BBF")
SORTS = ("SORT_AREA", "SORT_PERI", "SORT_DIFF", "SORT_SSIDE", "SORT_LSIDE", "SORT_RATIO")
GUILLOTINE = tuple(f"Guillotine{pick}{split}" for pick in ("Bssf", "Blsf", "Baf")
                   for split in ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas"))  # fmt: skip
FREE = ("MaxRectsBl", "MaxRectsBssf", "MaxRectsBaf", "MaxRectsBlsf", "SkylineBl", "SkylineBlWm", "SkylineMwf",
        "SkylineMwfWm", "SkylineMwfl", "SkylineMwflWm")  # fmt: skip
FAVOURITES = 12
"""Settings that did best so far, which half of the later trials draw from."""
FIRST_SHARE = 0.3
"""Share of the time for going through all settings with one bin type at a time."""
MOST_MIXED = 3
"""Bin types named in a mix at most; all others follow in order of price by area."""
MANY = 10**9


def installed() -> bool:
    """Return whether the library is there."""
    return rectpack is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One way to run the library; ``merge`` lets guillotine rests grow together again."""

    bins: str
    algorithm: str
    sort: str
    merge: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """A bin type on offer; ``stock`` is None where unlimited, types with one ``source`` share it.

    ``part`` marks a bin cut down from a larger one, offered in mixes only.
    """

    w: int
    h: int
    source: int
    stock: int | None
    price: float
    part: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """The cheapest packing of all trials, None where there was none."""

    cost: float | None
    filled: tuple[Filled, ...]
    trials: int
    seconds: float


def settings_of(*, guillotine: bool) -> list[Setting]:
    """Return all settings that suit a way of cutting: 648 for guillotine, 504 for free."""
    # rests that grow together may leave a bin that no straight cuts part, so both ways are tried where that matters
    names = [(name, merge) for name in GUILLOTINE for merge in ((True, False) if guillotine else (True,))]
    if not guillotine:
        names += [(name, True) for name in FREE]
    return [
        Setting(bins=bins, algorithm=name, sort=sort, merge=merge)
        for bins, (name, merge), sort in itertools.product(BIN_ALGORITHMS, names, SORTS)
    ]


def packed(
    setting: Setting,
    sizes: Sequence[tuple[int, int]],
    mix: Sequence[tuple[int, Shape, int]],
    rotation: bool,
    deadline: float,
) -> list[Filled] | None:
    """Return one packing of all sizes into a mix of (type, shape, how many), None where some are left or time is up."""
    options: dict[str, Any] = {"merge": setting.merge} if setting.algorithm in GUILLOTINE else {}
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Online,
        bin_algo=getattr(rectpack.PackingBin, setting.bins),
        pack_algo=getattr(rectpack, setting.algorithm),
        rotation=rotation,
    )
    for index, shape, count in mix:
        packer.add_bin(shape.w, shape.h, count=count, bid=index, **options)
    order = getattr(rectpack, setting.sort)([(w, h, at) for at, (w, h) in enumerate(sizes)])
    for w, h, at in order:
        if time.perf_counter() > deadline or not packer.add_rect(w, h, at):
            return None
    return [
        Filled(bin=one.bid, boxes=tuple((r.rid, (r.x, r.y, r.width, r.height)) for r in one))
        for one in packer
        if len(one)
    ]


class Portfolio:
    """Tries settings and mixes of bin types within a time limit; keeps the cheapest packing."""

    def __init__(
        self,
        sizes: Sequence[tuple[int, int]],
        shapes: Sequence[Shape],
        *,
        guillotine: bool,
        rotation: bool,
        seed: int = 0,
    ) -> None:
        self.sizes, self.shapes, self.rotation = sizes, shapes, rotation
        self.random = np.random.default_rng(seed)
        self.settings = settings_of(guillotine=guillotine)
        self.area = sum(w * h for w, h in sizes)

    def run(self, seconds: float, judge: Callable[[Sequence[Filled], float], float | None]) -> Best:
        """Return the cheapest packing found; the first trial that packs all may overrun the limit.

        ``judge`` prices a packing, None where it may not be made or does not beat the price it is given.
        """
        begun = time.perf_counter()
        deadline = begun + seconds
        cost, trials = math.inf, 0
        filled: tuple[Filled, ...] = ()
        found: dict[Setting, float] = {}
        for setting, mix in self.trials(begun, seconds, found):
            if time.perf_counter() > deadline and trials:
                break
            trials += 1
            got = packed(setting, self.sizes, mix, self.rotation, deadline if found else math.inf)
            price = None if got is None else judge(got, cost)
            if got is None or price is None:
                continue
            found[setting] = min(price, found.get(setting, math.inf))
            if price < cost:
                cost, filled = price, tuple(got)
        spent = time.perf_counter() - begun
        return Best(cost=None if math.isinf(cost) else cost, filled=filled, trials=trials, seconds=spent)

    def trials(
        self, begun: float, seconds: float, found: dict[Setting, float]
    ) -> Iterator[tuple[Setting, list[tuple[int, Shape, int]]]]:
        """Yield what to try: all settings with one type at a time, then mixes, half of them with the best settings."""
        order = [self.settings[at] for at in self.random.permutation(len(self.settings)).tolist()]
        if len(self.sizes) > 400:  # next fit first: the others take minutes here
            order.sort(key=lambda s: (BIN_ALGORITHMS.index(s.bins), s.algorithm not in GUILLOTINE))
        whole = [at for at, shape in enumerate(self.shapes) if not shape.part]
        for setting in order:
            for first in self.random.permutation(whole).tolist():
                yield setting, self.mix([first])
            if time.perf_counter() > begun + FIRST_SHARE * seconds:
                break
        if len(self.shapes) == 1:
            yield from ((setting, self.mix([0])) for setting in order if setting not in found)
            return
        for _ in range(MANY):
            pool = sorted(found, key=lambda s: found[s])[:FAVOURITES] if self.random.random() < 0.5 else []
            pool = pool or self.settings
            chosen = self.random.permutation(len(self.shapes))[: int(self.random.integers(2, MOST_MIXED + 1))].tolist()
            yield pool[int(self.random.integers(len(pool)))], self.mix(chosen)

    def mix(self, first: Sequence[int]) -> list[tuple[int, Shape, int]]:
        """Return bin types in the order they are opened: a drawn number of all but the last named, then the rest."""
        out: list[tuple[int, Shape, int]] = []
        used: dict[int, int] = {}
        rest = sorted((at for at in range(len(self.shapes)) if at not in first), key=self.rate)
        for place, at in enumerate([*first, *rest]):
            shape = self.shapes[at]
            have = MANY if shape.stock is None else shape.stock - used.get(shape.source, 0)
            if place < len(first) - 1:
                have = min(have, 1 + int(self.random.integers(1 + self.area // (shape.w * shape.h))))
            if have > 0:
                out.append((at, shape, have))
                used[shape.source] = used.get(shape.source, 0) + have
        return out

    def rate(self, at: int) -> tuple[bool, float]:
        """Return what bin types are ordered by: whole ones first, then price by area."""
        shape = self.shapes[at]
        return shape.part, shape.price / (shape.w * shape.h)
