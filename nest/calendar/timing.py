"""What it costs to make each row in each batch: never before its artwork is ready, late at a stated cost.

Due means ready to mount, so a plate made in a batch is there when the batch has ended and the usual time of its
material has passed.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from nest.calendar.horizon import batches_from
from nest.domain.job import Together
from nest.packing.problem import NEVER

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.calendar import Batch
    from nest.domain.job import Row, RowKey
    from nest.domain.room import Room

DAY = timedelta(days=1)
AHEAD_DAYS = 7
"""Batches are looked at as far as this behind the last date of the rows, so that late work finds one."""
MOST_BATCHES = 60
"""Batches that a search tells apart; later ones are only used where these are full."""


def due_moment(due: datetime) -> datetime:
    """Return the moment plates have to be ready to mount; a date without a time lasts all day."""
    return due + DAY if due.time() == time() else due


def mountable(batch: Batch, row: Row, room: Room) -> datetime:
    """Return when a row made in a batch is ready to mount at the latest."""
    return batch.end + timedelta(hours=room.elapsed_of(row.material))


def days_late(batch: Batch, row: Row, room: Room) -> float:
    """Return by how many days (of 24 h, with parts) a row made in a batch comes late, 0 without a due date."""
    if row.due is None:
        return 0.0
    return max(0.0, (mountable(batch, row, room) - due_moment(row.due)) / DAY)


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """Batches in order, and for each row what one of its pieces costs in each, (batches,), ``NEVER`` before ready."""

    batches: tuple[Batch, ...]
    late: dict[RowKey, tuple[float, ...]]


def first_day(rows: Sequence[Row]) -> date | None:
    """Return the day a calendar begins where nobody names one: that of the first date in the rows."""
    dates = [moment for row in rows for moment in (row.ready, row.due) if moment is not None]
    return min(dates).date() if dates else None


def last_day(rows: Sequence[Row], first: date) -> date:
    """Return the last date of the rows, ``first`` where they have none."""
    dates = [moment.date() for row in rows for moment in (row.ready, row.due) if moment is not None]
    return max([first, *dates])


def timing_of(rows: Sequence[Row], room: Room, first: date, more: int = 0, since: date | None = None) -> Timing:
    """Return the timing of rows from a day on; ``more`` asks for so many batches behind the usual ones.

    Batches before the day ``since`` are over: nothing can be made in them any more.
    """
    calendar = room.calendar
    batches: list[Batch] = []
    if calendar is not None:
        end = last_day(rows, first) + timedelta(days=AHEAD_DAYS)
        for batch in batches_from(calendar, first):
            if (batch.start.date() > end and len(batches) > 0) or len(batches) >= MOST_BATCHES:
                if more <= 0:
                    break
                more -= 1
            batches.append(batch)
    rate = calendar.late_per_day if calendar is not None else 0.0
    over = frozenset(batch.id for batch in batches if since is not None and batch.start.date() < since)
    late = {
        row.key: tuple(NEVER if batch.id in over else _cost(batch, row, room, rate) for batch in batches)
        for row in rows
    }
    return Timing(batches=tuple(batches), late=late)


def _cost(batch: Batch, row: Row, room: Room, rate: float) -> float:
    if row.ready is not None and batch.start < row.ready:
        return NEVER
    return rate * days_late(batch, row, room)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowCosts:
    """What the engine weighs: what one piece of each row costs in each batch, and what a plate costs there besides.

    Both are (batches,). ``names`` are the batches' ids, ``once`` the rows of each job that is made in one batch,
    ``limited`` tells whether any batch can be full or any job has to be made in one.
    """

    names: tuple[str, ...]
    late: Mapping[RowKey, tuple[float, ...]]
    prices: tuple[float, ...]
    once: Mapping[str, tuple[RowKey, ...]]
    limited: bool

    @property
    def matter(self) -> bool:
        """Whether it matters which pieces share a plate: not where all of them want the same batches."""
        return any(self.prices) or len(set(self.late.values())) > 1

    def learnt(self, prices: Sequence[float], job_batches: Mapping[str, str]) -> RowCosts:
        """Return the costs with prices that a first plan taught, and each job of one batch held to the one it got."""
        late = dict(self.late)
        for job, name in sorted(job_batches.items()):
            for key in self.once.get(job, ()) if name in self.names else ():
                costs = tuple(cost if batch == name else NEVER
                              for batch, cost in zip(self.names, self.late[key], strict=True))  # fmt: skip
                if min(costs) < NEVER:
                    late[key] = costs
        count = len(self.prices)
        return replace(self, late=late, prices=(*prices, *([0.0] * count))[:count])


def row_costs(rows: Sequence[Row], room: Room, first: date, since: date | None = None) -> RowCosts:
    """Return the costs of batches from a day on, those before the day ``since`` being over.

    The rows of a job that is made in one batch (``together = batch``) cost what they cost on average: together that is
    the same, and none of them then asks for a batch of its own.
    """
    timing = timing_of(rows, room, first, since=since)
    late = dict(timing.late)
    jobs: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        if row.together is Together.BATCH:
            jobs[row.job].append(row)
    for own in jobs.values():
        copies = sum(row.copies for row in own)
        columns = zip(*(timing.late[row.key] for row in own), strict=True)
        mean = tuple(
            NEVER if max(column) >= NEVER else sum(row.copies * c for row, c in zip(own, column, strict=True)) / copies
            for column in columns
        )
        late |= {row.key: mean for row in own}
    return RowCosts(
        names=tuple(batch.id for batch in timing.batches),
        late=late,
        prices=(0.0,) * len(timing.batches),
        once={job: tuple(row.key for row in own) for job, own in jobs.items()},
        limited=bool(jobs) or any(b.plates is not None or b.minutes is not None for b in timing.batches),
    )
