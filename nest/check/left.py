"""Rows with copies left unplaced, and how one more of their pieces may lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.check.calendar import some_batch
from nest.check.pieces import TURNS
from nest.check.rules import unplaced_of
from nest.domain.job import Together, Turn

if TYPE_CHECKING:
    from nest.check.facts import Facts, Stock
    from nest.check.pieces import Wanted

JobMaterial = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A row with copies left unplaced that may be placed one by one.

    ``axes`` are the turns to try (0, 90): half turns change nothing. ``lots`` are the lots it may come from, None where
    any sheet serves, an empty set where any lot serves.
    """

    wanted: Wanted
    axes: tuple[int, ...]
    lots: frozenset[str] | None

    def sizes(self) -> list[tuple[float, float]]:
        """Return the extents in x and y that its piece may have."""
        return sorted({self.wanted.size(axis) for axis in self.axes})

    def served_by(self, stock: Stock) -> bool:
        """Return whether a sheet or offcut may serve it."""
        if not stock.serves(self.wanted.row):
            return False
        if self.lots is None:
            return True
        return stock.lot is not None and (not self.lots or stock.lot in self.lots)


def left_over(facts: Facts) -> list[Left]:
    """Return the rows with copies left unplaced, without those that are placed whole or not at all."""
    found = []
    axes = _set_axes(facts)
    lots = _job_lots(facts)
    singles = _single_jobs(facts)
    for key, count in sorted(unplaced_of(facts).items()):
        wanted = facts.wanted.get(key)
        if wanted is None or count < 1:
            continue
        row = wanted.row
        if not some_batch(facts, row):
            continue
        if row.together is Together.COPIES and row.copies > 1:
            continue
        if row.together is Together.PLATE and row.job not in singles:
            continue
        allowed = {turn % 180 for turn in TURNS[wanted.turn]}
        if wanted.turn is Turn.SET:
            held = axes.get((row.job, row.material), set())
            allowed = allowed if not held else held if len(held) == 1 else set()
        tied = frozenset(lots.get((row.job, row.material), ())) if row.together is Together.LOT else None
        found.append(Left(wanted=wanted, axes=tuple(sorted(allowed)), lots=tied))
    return found


def _set_axes(facts: Facts) -> dict[JobMaterial, set[int]]:
    found: dict[JobMaterial, set[int]] = {}
    for one in facts.located:
        if one.wanted.turn is Turn.SET:
            found.setdefault((one.wanted.row.job, one.wanted.row.material), set()).add(one.piece.turn % 180)
    return found


def _job_lots(facts: Facts) -> dict[JobMaterial, set[str]]:
    found: dict[JobMaterial, set[str]] = {}
    for one in facts.located:
        source = facts.source_of(one.sheet)
        if one.wanted.row.together is Together.LOT and source is not None and source.lot is not None:
            found.setdefault((one.wanted.row.job, one.wanted.row.material), set()).add(source.lot)
    return found


def _single_jobs(facts: Facts) -> set[str]:
    """Return the jobs whose rows held together by plate are a single piece."""
    ordered: dict[str, int] = {}
    for wanted in facts.wanted.values():
        if wanted.row.together is Together.PLATE:
            ordered[wanted.row.job] = ordered.get(wanted.row.job, 0) + wanted.row.copies
    return {job for job, count in ordered.items() if count == 1}
