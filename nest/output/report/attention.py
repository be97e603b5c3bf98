"""What a planner must act on first: what is not placed, what is late for sure, warnings."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.job import Need
from nest.output.batches import days_words, moment_words
from nest.output.notices import plan_rows, told_warnings
from nest.output.words import counted, row_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import Plan, Unplaced
    from nest.domain.room import Offcut, Room, Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOver:
    """Rows not placed for one reason: each row's words, copies and due date."""

    reason: str
    rows: tuple[tuple[str, int, str], ...]

    @property
    def copies(self) -> int:
        """Pieces left over for this reason."""
        return sum(copies for _, copies, _ in self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class Attention:
    """The top of the report."""

    must: tuple[LeftOver, ...]
    fill: tuple[LeftOver, ...]
    late: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def nothing(self) -> bool:
        """Whether there is nothing to act on."""
        return not (self.must or self.late or self.warnings)


def attention(plan: Plan, room: Room, rows: Sequence[Row]) -> Attention:
    """Return what is not placed, what is known to be late, and the plan's warnings by job."""
    by_key = {row.key: row for row in rows}
    return Attention(
        must=_left_over([row for row in plan.unplaced if row.need is Need.MUST], by_key),
        fill=_left_over([row for row in plan.unplaced if row.need is Need.FILL], by_key),
        late=tuple(late_words(plan, room, rows)),
        warnings=tuple(told_warnings(plan.warnings, plan_rows(plan))),
    )


def _left_over(left: Sequence[Unplaced], rows: dict[RowKey, Row]) -> tuple[LeftOver, ...]:
    by_reason: dict[str, list[tuple[str, int, str]]] = defaultdict(list)
    for one in left:
        row = rows.get((one.job, one.separation, one.part))
        due = "" if row is None or row.due is None else date_words(row.due)
        by_reason[one.reason].append((row_words(one.job, one.separation, one.part), one.copies, due))
    return tuple(LeftOver(reason=reason, rows=tuple(told)) for reason, told in by_reason.items())


def late_words(plan: Plan, room: Room, rows: Sequence[Row]) -> list[str]:
    """Return what is late for sure: approved after it is due, or not placed while stock expires before it is due."""
    told = [
        f"{row_words(*row.key)}: artwork approved {date_words(row.ready)}, after its plates are due "
        f"({date_words(row.due)})"
        for row in rows
        if row.ready is not None and row.due is not None and row.ready > row.due
    ]
    for one in plan.calendar.late if plan.calendar is not None else ():
        told.append(
            f"{row_words(one.job, one.separation, one.part)}, {counted(one.copies, 'copy')}: ready to mount "
            f"{moment_words(one.mountable)}, due {moment_words(one.due)} ({days_words(one.days)} late): "
            f"{one.reason.value}"
        )
    left = {(one.job, one.separation, one.part) for one in plan.unplaced if one.need is Need.MUST}
    for row in rows:
        if row.key not in left or row.due is None:
            continue
        day = row.due.date()
        entries: list[Sheet | Offcut] = [*room.sheets, *room.offcuts]
        old = [e for e in entries if e.material == row.material and e.expiry is not None and e.expiry < day]
        if old:
            told.append(
                f"{row_words(*row.key)}: not placed, and {counted(len(old), 'stock line')} of {row.material} "
                f"({', '.join(sorted(e.id for e in old))}) will have expired when its plates are due ({day})"
            )
    return told


def date_words(moment: datetime | None) -> str:
    """Return a date, with the time where one is stated."""
    if moment is None:
        return ""
    return str(moment.date()) if moment.time() == moment.time().min else moment.strftime("%Y-%m-%d %H:%M")
