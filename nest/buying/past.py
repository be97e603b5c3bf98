"""What the simulation starts from: the past weeks, one after another, and how to go on from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.domain.job import Row

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True, kw_only=True)
class PastWeek:
    """The rows made in one week, which begins on ``monday``; none where the room had no work.

    ``sources`` names the files or plans they come from. The same job number in two sources is two jobs.
    """

    monday: date
    rows: tuple[Row, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def jobs(self) -> int:
        """How many jobs the week had."""
        return len({row.job for row in self.rows})

    @property
    def pieces(self) -> int:
        """How many pieces the week had."""
        return sum(row.copies for row in self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Past weeks without a gap, the oldest first.

    ``remade`` counts the pieces known to have been made again in them; None where nothing tells. ``notes`` are
    sentences on how the weeks were found.
    """

    weeks: tuple[PastWeek, ...]
    remade: int | None = None
    notes: tuple[str, ...] = ()

    @property
    def remake_rate(self) -> float | None:
        """Pieces made again per piece made; None where it is not known."""
        made = sum(week.pieces for week in self.weeks)
        return None if self.remade is None or made == 0 else self.remade / made

    @property
    def next_monday(self) -> date:
        """Monday of the week after the last."""
        return self.weeks[-1].monday + WEEK


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What to simulate.

    ``remake_rate`` is None for that of the history. ``block`` is the length of the blocks of weeks drawn together, None
    for the usual rule. An offcut is scrapped ``offcut_weeks`` after it was kept (None: never); of more than
    ``rack_limit`` offcuts those worth least are scrapped (None: no limit). ``first_week`` is None for the week after
    the history, ``work_limit`` for the usual work of nesting a week. ``checks`` weeks are nested a second time, by a
    long search, to correct what the short one draws too much.
    """

    weeks: int = 13
    paths: int = 200
    seed: int = 0
    remake_rate: float | None = None
    block: int | None = None
    offcut_weeks: int | None = 26
    rack_limit: int | None = None
    first_week: date | None = None
    work_limit: int | None = None
    checks: int = 12
