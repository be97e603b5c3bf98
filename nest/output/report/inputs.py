"""What a report is made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from nest.domain.job import Row
    from nest.domain.plan import JobShare, OtherSize, Plan
    from nest.domain.room import Room
    from nest.output.patterns import Pattern


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportInputs:
    """A plan with its inputs, its patterns of equal sheets, and what is known beside it.

    ``others`` are prices of other sizes by sheet id, None where they were not asked for.
    """

    plan: Plan
    room: Room
    rows: tuple[Row, ...]
    shares: tuple[JobShare, ...]
    drawn: tuple[Pattern, ...]
    others: Mapping[str, tuple[OtherSize, ...]] | None = None
