"""By how much the short search draws too much: a few simulated weeks nested a second time, by a long search.

This is double sampling with a ratio: something cheap is measured on many weeks, something dear on a few of the same
kind, and the cheap figures are multiplied by the ratio of the two (Cochran 1977, *Sampling Techniques*, chapters 6 and
12; from memory). Sheets stay whole: of n sheets each is kept by chance (binomial thinning), and where the ratio is
above 1 some are added in the same way. A size's own ratio rests on few sheets, so it is drawn towards that of its
material, as if ``PRIOR_SHEETS`` more had been seen there (Gamma-Poisson shrinkage).
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

PRIOR_SHEETS = 15.0
TIMES_LONGER = 20
"""Work of the long search over that of the short one."""
WARM_WEEKS = 4
"""Weeks nested before the one that is looked at, so that its rack holds what racks hold."""
CHECK_STREAM, THIN_STREAM = 2**30, 2**30 - 1
"""Numbers of random streams beyond any path's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One week nested both ways from the same rack."""

    short: Drawn
    long: Drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratios:
    """What the long search draws over what the short one draws: sheets by size, cost, area drawn and kept.

    ``weeks`` is how many weeks it rests on; with 0 nothing is changed.
    """

    sheets: tuple[float, ...] = ()
    cost: float = 1.0
    drawn: float = 1.0
    kept: float = 1.0
    weeks: int = 0


NONE = Ratios()


def ratios_of(checks: Sequence[Check], sizes: Sequence[SizeKey]) -> Ratios:
    """Return the ratios that some weeks show."""
    if not checks:
        return NONE
    short, long = (
        np.array([getattr(check, way).sheets for check in checks], np.float64).sum(axis=0) for way in ("short", "long")
    )
    area = np.array([size.across_mm * size.around_mm for size in sizes])
    sheets = []
    for n, size in enumerate(sizes):
        same = [m for m, other in enumerate(sizes) if other.material == size.material]
        drawn = float((short * area)[same].sum())
        usual = float((long * area)[same].sum()) / drawn if drawn else 1.0
        sheets.append(float((long[n] + PRIOR_SHEETS * usual) / (short[n] + PRIOR_SHEETS)))

    def of(name: str) -> float:
        below = sum(getattr(check.short, name) for check in checks)
        return float(sum(getattr(check.long, name) for check in checks) / below) if below else 1.0

    return Ratios(
        sheets=tuple(sheets), cost=of("cost"), drawn=of("drawn_m2"), kept=of("kept_m2"), weeks=len(checks)
    )


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
        f"weeks are nested by a short search; a long one drew {ratios.drawn - 1.0:+.1%} of its area in {ratios.weeks} "
        f"of them, so sheets are taken as {by_size}".replace("%", " %"),
    )
