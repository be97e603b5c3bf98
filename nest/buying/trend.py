"""Whether the number of jobs a week has a trend or a season, and how far either moves it.

Trend: the test of Mann (1945, doi 10.2307/1907187) and Kendall, with the correction for ties, on weeks with work; its
size is the median slope of Sen (1968, doi 10.1080/01621459.1968.10480934) on the logarithm of the jobs. Season: the
statistic of Kruskal & Wallis (1952, doi 10.1080/01621459.1952.10483441) over four-week parts of the year, its
significance by random permutation of the weeks. (References from memory.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

LEVEL = 0.05
"""Chance of seeing a trend or season where there is none."""
LEAST_TREND_WEEKS, LEAST_SEASON_WEEKS = 12, 104
MOST_GROWTH = 2.0
"""A trend at most doubles the jobs, or halves them, however far ahead."""
PARTS, PART_WEEKS = 13, 4
PERMUTATIONS = 999


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How the number of jobs moves over time: growth a week as a factor, and a factor for each part of the year.

    ``trend_p`` and ``season_p`` are the tests' chances, None where the history is too short to ask.
    """

    growth: float = 1.0
    season: tuple[float, ...] = (1.0,) * PARTS
    trend_p: float | None = None
    season_p: float | None = None

    def factor(self, drawn: date, future: date) -> float:
        """Return by how much a past week's jobs are multiplied when they stand for a future week.

        Examples
        --------
        >>> from datetime import date
        >>> Pace(growth=1.01).factor(date(2027, 1, 4), date(2027, 1, 18))
        1.0201
        """
        weeks = (future - drawn).days // 7
        grown = math.exp(weeks * math.log(self.growth))
        grown = min(MOST_GROWTH, max(1.0 / MOST_GROWTH, grown))
        old = self.season[part_of(drawn)]
        return round(grown * (self.season[part_of(future)] / old if old > 0.0 else 1.0), 12)


def part_of(monday: date) -> int:
    """Return which of the 13 four-week parts of its ISO year a week lies in."""
    return min(PARTS - 1, (monday.isocalendar()[1] - 1) // PART_WEEKS)


def pace_of(mondays: Sequence[date], jobs: Sequence[int]) -> Pace:
    """Return the pace of past weeks; no trend and no season where the tests see none."""
    counts = np.array(jobs, np.float64)
    worked = np.flatnonzero(counts)
    growth, trend_p = 1.0, None
    if len(worked) >= LEAST_TREND_WEEKS:
        trend_p = mann_kendall(counts[worked])
        if trend_p < LEVEL:
            growth = math.exp(sen_slope(worked, np.log(counts[worked])))
    season, season_p = (1.0,) * PARTS, None
    if len(counts) >= LEAST_SEASON_WEEKS:
        flat = counts / growth ** (np.arange(len(counts)) - (len(counts) - 1) / 2)
        parts = np.array([part_of(monday) for monday in mondays])
        season_p = season_chance(flat, parts)
        if season_p < LEVEL:
            season = tuple(float(flat[parts == part].mean() / flat.mean()) for part in range(PARTS))
    return Pace(growth=growth, season=season, trend_p=trend_p, season_p=season_p)


def mann_kendall(values: np.ndarray) -> float:
    """Return the two-sided chance of so much order among values in time, if there were no trend.

    Examples
    --------
    >>> import numpy as np
    >>> mann_kendall(np.arange(20.0)) < 1e-6, mann_kendall(np.array([1.0, 2.0, 2.0, 1.0]))
    (True, 1.0)
    """
    n = len(values)
    s = float(sum(np.sign(values[i + 1 :] - values[i]).sum() for i in range(n - 1)))
    _, ties = np.unique(values, return_counts=True)
    spread = (n * (n - 1) * (2 * n + 5) - float((ties * (ties - 1) * (2 * ties + 5)).sum())) / 18.0
    if spread <= 0.0 or s == 0.0:
        return 1.0
    z = (abs(s) - 1.0) / math.sqrt(spread)
    return min(1.0, 2.0 * (1.0 - NormalDist().cdf(z)))


def sen_slope(times: np.ndarray, values: np.ndarray) -> float:
    """Return the median of the slopes between all pairs."""
    first, second = np.triu_indices(len(times), 1)
    return float(np.median((values[second] - values[first]) / (times[second] - times[first])))


def season_chance(values: np.ndarray, parts: np.ndarray) -> float:
    """Return the chance of means of ranks so far apart between the parts, if the year had no parts."""
    order = values.argsort(kind="stable")
    ranks = np.empty(len(values))
    ranks[order] = np.arange(1, len(values) + 1)
    for value in np.unique(values):
        ranks[values == value] = ranks[values == value].mean()
    sizes = np.bincount(parts, minlength=PARTS)

    def apart(of: np.ndarray) -> float:
        sums = np.bincount(parts, of, minlength=PARTS)
        return float((sums[sizes > 0] ** 2 / sizes[sizes > 0]).sum())

    random = np.random.default_rng(0)
    seen = apart(ranks)
    above = sum(apart(random.permutation(ranks)) >= seen for _ in range(PERMUTATIONS))
    return (above + 1) / (PERMUTATIONS + 1)
