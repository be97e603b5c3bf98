"""Simulated weeks as working days from a day on, and demand over a stretch of them, path by path."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.spread import Empirical
from nest.domain.workdays import PER_WEEK, workdays_between

if TYPE_CHECKING:
    from datetime import date

    from nest.buying.spread import Values


def by_workday(weeks: Values) -> Values:
    """Return weekly demand (paths, weeks) spread evenly over working days (paths, days).

    Whole numbers stay whole: sheets are taken as early in the week as an even pace allows, so that a shortage is met
    no later than in truth.

    Examples
    --------
    >>> by_workday(np.array([[3, 0]])).tolist()
    [[1, 1, 0, 1, 0, 0, 0, 0, 0, 0]]
    """
    steps = np.arange(PER_WEEK + 1)
    upto: Values
    if np.issubdtype(weeks.dtype, np.integer):
        upto = -(-weeks[:, :, None] * steps // PER_WEEK)
    else:
        upto = weeks[:, :, None] * steps / PER_WEEK
    days: Values = np.diff(upto, axis=2).reshape(len(weeks), -1)
    return days


def from_day(weeks: Values, first_week: date, day: date, *, skip_this_week: bool = False) -> Values:
    """Return demand by working day (paths, days) from a day on.

    Parameters
    ----------
    weeks
        Demand (paths, weeks).
    first_week
        Monday of week 0.
    day
        Day 0 of the answer. Days before the first week have no demand.
    skip_this_week
        Whether the demand of the week of ``day`` is known otherwise and left out here.
    """
    days = by_workday(weeks)
    start = workdays_between(first_week, day)
    out = days[:, start:] if start >= 0 else np.pad(days, ((0, 0), (-start, 0)))
    if skip_this_week:
        out = out.copy()
        out[:, : PER_WEEK - min(day.weekday(), PER_WEEK)] = 0
    return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Windows:
    """Demand of one size by working day, and its sums over stretches.

    Parameters
    ----------
    days : array (paths, days)
        Demand of each working day.
    """

    days: Values

    @property
    def paths(self) -> int:
        """How many paths there are."""
        return int(self.days.shape[0])

    @property
    def length(self) -> int:
        """How many working days there are."""
        return int(self.days.shape[1])

    @property
    def rate(self) -> float:
        """Mean demand of a working day."""
        return float(self.days.mean())

    def over(self, start: int, lengths: Values) -> Empirical:
        """Return demand over a stretch for each path.

        A stretch that goes beyond the last day is moved back to the last one that fits.

        Parameters
        ----------
        start
            First day.
        lengths : int array (paths,)
            Days of the stretch, which may differ from path to path (a delivery time that spreads).
        """
        upto = np.concatenate((np.zeros((self.paths, 1), dtype=self.days.dtype), np.cumsum(self.days, axis=1)), axis=1)
        ends = np.minimum(start + lengths, self.length)
        begins = np.maximum(np.minimum(start, self.length - lengths), 0)
        rows = np.arange(self.paths)
        return Empirical(upto[rows, ends] - upto[rows, begins])

    def expected(self, start: int, length: int) -> float:
        """Return mean demand over a stretch; beyond the last day it goes on at the mean rate."""
        inside = self.days[:, start : start + length]
        beyond = length - int(inside.shape[1])
        return float(inside.sum()) / self.paths + self.rate * beyond


def delivery_times(mean: float, sd: float, paths: int, chance: np.random.Generator) -> np.ndarray:
    """Return a delivery time in whole working days for each path, normally spread, none below 0."""
    if sd == 0:
        return np.full(paths, round(mean), dtype=np.int64)
    return np.maximum(0, np.rint(chance.normal(mean, sd, paths))).astype(np.int64)
