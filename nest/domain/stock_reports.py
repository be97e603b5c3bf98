"""What the ledger reports: pieces made again by week, and how offcuts came back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nest.domain.stock import RemakeReason

Week = tuple[int, int]
"""ISO year and week."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RemakeWeek:
    """One ISO week: pieces released, pieces made again and what they cost, by reason."""

    week: Week
    released: int
    remade: dict[RemakeReason, int]
    cents: dict[RemakeReason, int]

    @property
    def rate(self) -> float | None:
        """Pieces made again per piece released; None in a week without a release."""
        return sum(self.remade.values()) / self.released if self.released else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Figures for the room file that would have brought most; None where too little is known."""

    offcut_value: float | None
    min_side_mm: float | None
    min_area_m2: float | None
    rack_limit: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutUse:
    """The report. ``days`` is the median time on the rack of used ones; ``gain_cents`` is over all decided fates."""

    kept: int
    used: int
    lost: int
    rack: int
    days: float | None
    longest_days: int | None
    gain_cents: float
    used_cents: float
    worth_cents: float
    proposal: Proposal
