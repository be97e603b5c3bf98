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
    """Figures for the room file that would have brought most; ``keep`` is False where keeping none would have."""

    keep: bool
    offcut_value: float
    min_side_mm: float
    min_area_m2: float
    rack_limit: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutUse:
    """How offcuts came back; ``days`` is the median time on the rack of used ones.

    ``rack_credit_cents`` is what those still on the rack were credited when they were kept: money that is out until
    they are used. Other money is in cents, over all offcuts whose fate is decided: what using them saved, what they
    were credited when they were kept, handling, and what they were worth at the raw price. ``proposal`` is None where
    too little is known.
    """

    kept: int
    used: int
    lost: int
    rack: int
    rack_credit_cents: float
    days: float | None
    longest_days: int | None
    saved_cents: float
    credit_cents: float
    handling_cents: float
    worth_cents: float
    proposal: Proposal | None

    @property
    def gain_cents(self) -> float:
        """What keeping offcuts brought, on the careful side."""
        return self.saved_cents - self.credit_cents - self.handling_cents
