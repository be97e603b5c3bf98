"""Random changes to the rows of a week, and random sheets of its plan that stay."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from nest.domain.job import Together

if TYPE_CHECKING:
    import random

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room

KEPT_TOGETHER = (Together.PLATE, Together.COPIES)


def changed_rows(rows: tuple[Row, ...], chance: random.Random) -> tuple[Row, ...]:
    """Return rows of which some are cancelled, resized, fewer, more, due at another time, and some are added."""
    out = [row for row in rows if chance.random() > 0.2]
    for at, row in enumerate(out):
        kind = chance.random()
        if kind < 0.15:
            out[at] = replace(row, image_across_mm=round(row.image_across_mm * chance.uniform(0.5, 1.1), 1))
        elif kind < 0.4 and row.together not in KEPT_TOGETHER:
            out[at] = replace(row, copies=max(1, row.copies + chance.choice((-2, -1, 1, 2))))
        elif kind < 0.5:
            out[at] = replace(row, title="new title", note="call first")
        elif kind < 0.55:
            out[at] = replace(row, due=datetime(2027, 3, 1))
    for n in range(chance.randint(0, 3) if rows else 0):
        like = chance.choice(rows)
        job = chance.choice((f"39{n:02}", like.job))
        together = None if like.together in KEPT_TOGETHER else like.together
        size = round(like.image_across_mm * chance.uniform(0.3, 1.0), 1)
        out.append(replace(
            like, job=job, separation=f"Rush {n}", image_across_mm=size, copies=chance.randint(1, 2), together=together
        ))  # fmt: skip
    return tuple(out)


def some_sheets(plan: Plan, chance: random.Random, share: float) -> frozenset[str]:
    """Return the ids of a random part of a plan's sheets."""
    return frozenset(sheet.id for sheet in plan.sheets if chance.random() < share)


def other_stock(room: Room, chance: random.Random) -> Room:
    """Return a room in which some stock is used up or has come."""
    def other(on_hand: int | None) -> int | None:
        return None if on_hand is None else max(0, on_hand + chance.choice((-1, 0, 0, 1, 3)))

    sheets = tuple(replace(sheet, on_hand=other(sheet.on_hand)) for sheet in room.sheets)
    return replace(room, sheets=sheets, offcuts=tuple(o for o in room.offcuts if chance.random() < 0.7))
