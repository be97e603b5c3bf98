"""Synthetic weeks from past ones: how busy by blocks of weeks, which jobs one by one.

Blocks: a run of neighbouring past weeks is drawn as it stands, the history closed to a circle, so that busy spells
stay together (moving blocks of Künsch 1989, doi 10.1214/aos/1176347265, in the circular form of Politis & Romano 1992;
length of the order of the cube root of the number of weeks; from memory). A drawn week gives the number of jobs, moved
by trend and season where the history has one.

Jobs: that many are drawn with replacement from the weeks around the drawn one. Drawn from that week alone, the chance
by which its jobs came out large or small would count twice, once between weeks and once inside them (Davison & Hinkley
1997, section 3.8, on data in groups; from memory).

Random numbers: one stream for each path, ``SeedSequence(seed, spawn_key=(path,))``, so that a path is the same
whichever process makes it, and in whatever order.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.past import WEEK
from nest.buying.trend import Pace, pace_of
from nest.domain.job import Need, Together

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.buying.past import History, PastWeek
    from nest.domain.job import Row

NEAR = 2
"""Weeks on either side of the drawn one whose jobs may take part."""

Rows = tuple["Row", ...]


def random_of(seed: int, path: int) -> np.random.Generator:
    """Return the random numbers of one path."""
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(path,)))


def block_length(weeks: int) -> int:
    """Return the usual length of blocks for a history of so many weeks.

    Examples
    --------
    >>> [block_length(n) for n in (1, 4, 8, 26, 52, 104)]
    [1, 2, 2, 3, 4, 5]
    """
    return max(1, round(math.cbrt(weeks)))


def drawn_weeks(past: int, weeks: int, block: int, random: np.random.Generator) -> list[int]:
    """Return which past weeks stand for the coming ones: whole blocks from anywhere on the circle."""
    out: list[int] = []
    while len(out) < weeks:
        start = int(random.integers(past))
        out += [(start + k) % past for k in range(block)]
    return out[:weeks]


def jobs_of(week: PastWeek) -> list[Rows]:
    """Return the rows of each job of a week that must be made, in the order of their names.

    Dates are left out: simulated stock does not run short, so nothing competes.
    """
    found: dict[str, list[Row]] = defaultdict(list)
    for row in week.rows:
        if row.need is Need.MUST:
            found[row.job].append(replace(row, ready=None, due=None, line=0))
    return [tuple(found[job]) for job in sorted(found)]


class Resampler:
    """Draws synthetic weeks from a history."""

    def __init__(self, history: History, block: int | None, first_week: date) -> None:
        """Learn the pace of the history; ``first_week`` is the Monday of the first week to come."""
        self.mondays = [week.monday for week in history.weeks]
        self.jobs = [jobs_of(week) for week in history.weeks]
        self.block = min(len(self.jobs), block or block_length(len(self.jobs)))
        self.first_week = first_week
        self.pace: Pace = pace_of(self.mondays, [len(jobs) for jobs in self.jobs])

    def path(self, weeks: int, random: np.random.Generator) -> list[Rows]:
        """Return the rows of so many weeks in a row."""
        drawn = drawn_weeks(len(self.jobs), weeks, self.block, random)
        return [self._week(at, self.first_week + n * WEEK, random) for n, at in enumerate(drawn)]

    def _week(self, at: int, monday: date, random: np.random.Generator) -> Rows:
        wanted = len(self.jobs[at]) * self.pace.factor(self.mondays[at], monday)
        count = int(wanted) + int(random.random() < wanted - int(wanted))
        near = [
            job
            for week in range(max(0, at - NEAR), min(len(self.jobs), at + NEAR + 1))
            for job in self.jobs[week]
        ]
        if not near:
            return ()
        picked = [near[int(k)] for k in random.integers(len(near), size=count)]
        return tuple(replace(row, job=f"{n + 1:03d} {row.job}") for n, job in enumerate(picked) for row in job)


def remade(rows: Sequence[Row], rate: float, random: np.random.Generator) -> Rows:
    """Return the pieces of a week that are made again: each copy by chance, on its own, after the week's plates."""
    if rate <= 0.0:
        return ()
    spoilt = [int(random.binomial(row.copies, rate)) for row in rows]
    return tuple(
        replace(row, copies=count, together=None, apart=False)
        for row, count in zip(rows, spoilt, strict=True)
        if count
    )


def without_lots(rows: Sequence[Row]) -> Rows:
    """Return the rows without the wish for one lot: simulated sheets have none to tell apart."""
    return tuple(replace(row, together=None) if row.together is Together.LOT else row for row in rows)


def monday_of(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())
