"""A second opinion on a plan: every rule checked anew by code that shares nothing with the code that made it."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING

from nest.check import (
    calendar,
    cuts,
    due_order,
    missed_place,
    missed_stock,
    notices,
    placing,
    plates,
    rules,
    sheets,
    totals,
)
from nest.check.facts import Facts, gather
from nest.check.violation import Violation
from nest.domain.standing import NONE, Standing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room

RULES: tuple[Callable[[Facts], Iterator[Violation]], ...] = (
    placing.unknown_pieces, placing.materials, placing.sizes, placing.turns, placing.positions, placing.gaps,
    placing.partable,
    plates.machines, plates.keep_outs, plates.groups, plates.purposes, plates.process, plates.free_areas,
    sheets.ids, sheets.sources, sheets.stock, sheets.suits, sheets.lots, sheets.rests,
    cuts.numbers, cuts.raw, cuts.parts, cuts.finish,
    rules.copies, rules.unplaced, rules.apart, rules.alone, rules.together,
    missed_place.free_places, missed_stock.stock_places, due_order.earlier_first,
    totals.counts, totals.costs, totals.bound, totals.areas, totals.yields,
    calendar.batches, calendar.batch_limits, calendar.approved, calendar.one_batch, calendar.lateness,
    notices.wraps, notices.thin_gaps, notices.bevels,
)
"""Every rule; each looks at the same facts and yields what breaks it."""


def check_plan(
    plan: Plan, rows: tuple[Row, ...], room: Room, *, use_reserve: bool = False, standing: Standing = NONE
) -> tuple[Violation, ...]:
    """Return every rule that a plan breaks, in an order that depends on neither the rows' order nor the rules'.

    Parameters
    ----------
    plan : Plan
        The plan, lengths in mm, areas in m2.
    rows : tuple of Row
        The rows it was made for.
    room : Room
        The room it was made for.
    use_reserve : bool
        Whether the plan may draw the sheets kept back for remakes.
    standing : Standing
        Sheets that stay from an earlier plan and take no further piece, and copies no longer made.

    Returns
    -------
    tuple of Violation
        Empty where the plan holds. A plan with a number that is not finite is only told about those: no further figure
        of it means anything.
    """
    places = _endless(plan, "plan")
    endless = [Violation(place=place, rule="number", text="a finite number expected") for place in places]
    if endless:
        return tuple(sorted(set(endless)))
    facts = gather(plan, rows, room, use_reserve, standing)
    found = set(facts.input_faults)
    for rule in RULES:
        found.update(rule(facts))
    return tuple(sorted(found))


def _endless(value: object, where: str) -> Iterator[str]:
    """Yield where a plan holds a number that is infinite or no number: comparisons would pass it by."""
    if isinstance(value, float):
        if not math.isfinite(value):
            yield where
    elif is_dataclass(value):
        for field in fields(value):
            yield from _endless(getattr(value, field.name), f"{where}.{field.name}")
    elif isinstance(value, tuple):
        for k, one in enumerate(value):
            yield from _endless(one, f"{where}[{k}]")
