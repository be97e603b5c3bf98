"""By how much the short search draws too much: a few simulated weeks nested a second time, by a long search.

This is double sampling with a ratio: something cheap is measured on many weeks, something dear on a few of the same
kind, and the cheap figures are multiplied by the ratio of the two (Cochran 1977, *Sampling Techniques*, chapters 6 and
12; from memory). What is compared is the area used, drawn less kept, material by material: in the long run it is what
new sheets have to cover, and it does not come in lumps of a sheet, so a few weeks tell it well. How it parts into sizes
rests on few sheets, so each size is drawn towards its material, as if ``PRIOR_SHEETS`` more had been seen of it
(Gamma-Poisson shrinkage), and the area used towards no difference at all, as if ``PRIOR_M2`` more had been seen. Sheets
stay whole: of n sheets each is kept by chance (binomial thinning), and where the ratio is above 1 some are added in the
same way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.resample import random_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.buying.demand import SizeKey
    from nest.buying.nesting import Drawn

PRIOR_SHEETS, PRIOR_M2 = 15.0, 5.0
TIMES_LONGER = 32
"""Work of the long search over that of the short one."""
REACH = 1.5
"""What the usual work of a plan saves over what the long search saves, as a power of the ratio: savings grow with the
logarithm of the work, which is some 200 times that of the short search: log 200 / log 32 (weeks of 60 rows).
"""
WARM_WEEKS = 4
"""Weeks nested before the one that is looked at, so that its rack holds what racks hold."""
CHECK_STREAM, THIN_STREAM = 2**30, 2**30 - 1
"""Numbers of random streams beyond any path's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One material of a week nested both ways from the same rack."""

    material: str
    short: Drawn
    long: Drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratios:
    """What a plan of the usual work draws over what the short search draws: sheets by size, cost, area used.

    Area used is area drawn less that of the rests kept. ``weeks`` is how many weeks it rests on; 0 changes nothing.
    """

    sheets: tuple[float, ...] = ()
    cost: float = 1.0
    used: float = 1.0
    weeks: int = 0


NONE = Ratios()


def ratios_of(weeks: Sequence[Sequence[Check]], sizes: Sequence[SizeKey]) -> Ratios:
    """Return the ratios that some weeks show, each of them by material."""
    checks = [check for week in weeks for check in week]
    if not checks:
        return NONE
    sheets = [1.0] * len(sizes)
    for material in sorted({size.material for size in sizes}):
        own = [check for check in checks if check.material == material]
        for n, ratio in _by_size(own, material, sizes).items():
            sheets[n] = ratio
    return Ratios(
        sheets=tuple(sheets), cost=_cost_ratio(checks), used=_used_ratio(checks), weeks=len(weeks)
    )


def _by_size(checks: Sequence[Check], material: str, sizes: Sequence[SizeKey]) -> dict[int, float]:
    """Return a ratio for each size of a material; weighted by area they come to that of the area used."""
    own = [n for n, size in enumerate(sizes) if size.material == material]
    short, long = (np.array([sum(getattr(c, way).sheets[n] for c in checks) for n in own], np.float64)
                   for way in ("short", "long"))  # fmt: skip
    area = np.array([sizes[n].across_mm * sizes[n].around_mm for n in own])
    usual = float(long @ area / (short @ area)) if short.any() and long.any() else 1.0
    mix = (long + PRIOR_SHEETS * usual) / (short + PRIOR_SHEETS)
    level = float(short @ area / (short @ (area * mix))) if short.any() else 1.0
    return dict(zip(own, (float(one) for one in mix * level * _used_ratio(checks)), strict=True))


def _used_ratio(checks: Sequence[Check]) -> float:
    """Return the ratio of the area used; little area tells little, so it is drawn towards 1."""
    short, long = (sum(getattr(check, way).used_m2 for check in checks) for way in ("short", "long"))
    return float(((long + PRIOR_M2) / (short + PRIOR_M2)) ** REACH)


def _cost_ratio(checks: Sequence[Check]) -> float:
    """Return the ratio of the cost, drawn towards 1 as that of the area is."""
    short, long = (sum(getattr(check, way).cost for check in checks) for way in ("short", "long"))
    area = sum(check.short.used_m2 for check in checks)
    prior = PRIOR_M2 * short / area if area > 0.0 else 1.0
    return float(((long + prior) / (short + prior)) ** REACH) if short + prior > 0.0 else 1.0


def thinned(sheets: np.ndarray, ratios: Ratios, seed: int) -> np.ndarray:
    """Return the sheets (paths, weeks, sizes) of the short search as the long one would draw them, in whole numbers.

    A path's figures do not depend on the other paths.
    """
    if not ratios.weeks:
        return sheets
    out = np.empty_like(sheets)
    whole = np.floor(ratios.sheets).astype(np.int64)
    part = np.array(ratios.sheets) - whole
    for path in range(len(sheets)):
        random = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(THIN_STREAM, path)))
        out[path] = sheets[path] * whole + random.binomial(sheets[path], np.broadcast_to(part, sheets[path].shape))
    return out


def check_random(seed: int, number: int) -> np.random.Generator:
    """Return the random numbers of one check."""
    return random_of(seed, CHECK_STREAM + number)


def ratio_words(ratios: Ratios, sizes: Sequence[SizeKey]) -> tuple[str, ...]:
    """Return in words what was found."""
    if not ratios.weeks:
        return ("weeks are nested by a short search, whose sheets are a few per cent too many",)
    by_size = ", ".join(f"{size.label} × {ratio:.2f}" for size, ratio in zip(sizes, ratios.sheets, strict=True))
    return (
        f"weeks are nested by a short search; by {ratios.weeks} of them nested longer a usual plan takes "
        f"{ratios.used - 1.0:+.1%} area, so sheets are taken as {by_size}".replace("%", " %"),
    )
