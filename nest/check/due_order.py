"""Who goes first when stock is short: of two equal pieces, the one that is due earlier."""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from nest.check.calendar import suits_batch
from nest.check.facts import row_name
from nest.check.left import Left, left_over
from nest.check.violation import Violation
from nest.domain.job import Need, Together

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts, Located
    from nest.check.pieces import GroupKey


def moment(due: datetime | None) -> datetime:
    """Return a due date that compares with every other; a row without one comes last."""
    if due is None:
        return datetime.max.replace(tzinfo=UTC)
    return due.replace(tzinfo=UTC) if due.tzinfo is None else due


def earlier_first(facts: Facts) -> Iterator[Violation]:
    """Check that no piece is left out while an equal one that is due later, and could give way to it, is made."""
    rest = [left for left in left_over(facts) if left.wanted.row.need is Need.MUST and left.wanted.row.due is not None]
    if not rest:
        return
    pieces = facts.by_plate()
    closed = {plate for plate, found in pieces.items() if any(one.wanted.row.alone for one in found)}
    made: dict[tuple[GroupKey, float, float], list[Located]] = defaultdict(list)
    for one in facts.located:
        row = one.wanted.row
        bundled = row.together in (Together.PLATE, Together.COPIES)
        if row.need is Need.MUST and not bundled and one.plate.id not in closed:
            made[(one.wanted.group, one.wanted.w, one.wanted.h)].append(one)
    for left in rest:
        row = left.wanted.row
        if row.alone or row.apart:
            continue
        rivals = made[(left.wanted.group, left.wanted.w, left.wanted.h)]
        later = sorted(one.name for one in rivals if _gives_way(facts, one, left))
        if later:
            yield Violation(
                place=row_name(row.key), rule="due-order",
                text=f"unplaced and due {row.due}, although {later[0]} of the same size is due later and made",
            )


def _gives_way(facts: Facts, one: Located, left: Left) -> bool:
    source = facts.source_of(one.sheet)
    return (
        one.sheet.id not in facts.standing.sheets
        and moment(one.wanted.row.due) > moment(left.wanted.row.due)
        and source is not None
        and left.served_by(source)
        and one.piece.turn % 180 in left.axes
        and left.wanted.least_border >= one.wanted.least_border
        and suits_batch(facts, [one], left.wanted.row)
    )
