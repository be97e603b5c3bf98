"""The room's calendar: when plates are made, how many fit, and what a plan says about it. Times are the room's own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time  # noqa: TC003 - the records are built from their type hints
from enum import StrEnum

WEEK_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
"""Days as the room file and the commands name them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A batch that comes every week on some ``days`` (Monday is 0).

    ``plates`` and ``minutes`` (of the imager) limit what one batch makes, None where unlimited. A shift whose ``end``
    is not after its ``start`` ends on the next day.
    """

    name: str
    days: tuple[int, ...]
    start: time
    end: time
    plates: int | None = None
    minutes: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayChange:
    """What differs on one day: closed, one shift closed, or a shift with its own hours and limits.

    ``shift`` is None where the whole day is meant. A shift that the weekly pattern lacks is an extra batch.
    """

    day: date
    shift: str | None = None
    closed: bool = False
    start: time | None = None
    end: time | None = None
    plates: int | None = None
    minutes: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Weekly shifts and days that differ.

    ``late_per_day`` is the cost of one piece ready to mount a day late, ``per_batch`` that of running a batch at all.
    """

    shifts: tuple[Shift, ...]
    changes: tuple[DayChange, ...] = ()
    late_per_day: float = 50.0
    per_batch: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Plates made together between two moments; ``plates`` and ``minutes`` are None where unlimited."""

    id: str
    start: datetime
    end: datetime
    plates: int | None = None
    minutes: float | None = None


class LateReason(StrEnum):
    """Why plates come late."""

    READY = "artwork approved too late for any batch in time"
    FULL = "the batches in time are full"
    CHEAPER = "waiting for a better fill saves more than it costs"
    TOGETHER = "its job's plates are made in one batch"


@dataclass(frozen=True, slots=True, kw_only=True)
class LateRow:
    """Copies of a row that are ready to mount after they are due: by how many days, at what cost, and why."""

    job: str
    separation: str
    part: str
    copies: int
    batch: str
    mountable: datetime
    due: datetime
    days: float
    cost: float
    reason: LateReason


@dataclass(frozen=True, slots=True, kw_only=True)
class OneByOne:
    """What the same rows cost when each batch is planned on its own with what is ready by then."""

    cost: float
    lateness: float
    sheets: int
    plates: int
    gross: float
    opened: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCalendar:
    """When a plan's plates are made. ``least_lateness`` is a proven lower bound of any plan's lateness cost.

    ``opened`` is what running the batches that make plates costs.

    ``batches`` are those of the horizon, also empty ones. ``one_by_one`` is None where it was not worked out.
    """

    batches: tuple[Batch, ...]
    late: tuple[LateRow, ...] = ()
    lateness: float = 0.0
    least_lateness: float = 0.0
    opened: float = 0.0
    one_by_one: OneByOne | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a what-if case comes to, by its name.

    ``lateness`` is money by the room's rate, ``least`` what no plan of the case avoids, ``opened`` what running
    its batches costs.
    """

    name: str
    cost: float
    lateness: float
    least: float
    late_pieces: int
    unplaced: int
    sheets: int
    plates: int
    batches: int
    gross: float
    opened: float = 0.0

    @property
    def whole(self) -> float:
        """Cost, batches and lateness together."""
        return self.cost + self.lateness + self.opened
