"""What is ordered: the rows of a jobs file, as typed, lengths already in mm."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

RowKey = tuple[str, str, str]
"""Identity of a row: job, separation, part."""


class Turn(StrEnum):
    """How a piece may be turned on the sheet as stocked."""

    SET = "set"
    FREE = "free"
    FIXED = "fixed"
    CROSS = "cross"


class Together(StrEnum):
    """What the rows of a job that carry the same word must share."""

    PLATE = "plate"
    LOT = "lot"
    BATCH = "batch"
    COPIES = "copies"


class Need(StrEnum):
    """Whether a row must be made or only takes free area."""

    MUST = "must"
    FILL = "fill"


GroupValue = float | str
"""A grouping value: numbers compare as numbers, other text as text, empty as ``""``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One separation (or part of one) as ordered.

    Lengths are mm. ``border_*`` and ``repeat_mm`` are None where the row leaves them to the room; ``repeat_mm`` already
    stands for ``teeth`` times the room's pitch where only teeth were given. ``turn`` is None where the room's default
    holds. ``relief`` is in the room's unit, as a grouping value. ``line`` is the line of the file it came from.
    """

    job: str
    separation: str
    part: str = ""
    material: str
    image_across_mm: float
    image_around_mm: float
    repeat_mm: float | None = None
    teeth: float | None = None
    at_plate_size: bool = False
    copies: int = 1
    border_mm: float | None = None
    border_lead_mm: float | None = None
    border_tail_mm: float | None = None
    border_left_mm: float | None = None
    border_right_mm: float | None = None
    turn: Turn | None = None
    together: Together | None = None
    apart: bool = False
    alone: bool = False
    need: Need = Need.MUST
    relief: GroupValue = ""
    resolution: GroupValue = ""
    surface: GroupValue = ""
    ready: datetime | None = None
    due: datetime | None = None
    customer: str = ""
    title: str = ""
    press: str = ""
    note: str = ""
    line: int = 0

    @property
    def key(self) -> RowKey:
        """Identity of the row inside its jobs file."""
        return (self.job, self.separation, self.part)
