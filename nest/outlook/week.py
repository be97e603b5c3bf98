"""A week on the calendar: planned as a whole, and never dearer than each batch planned on its own."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.calendar.timing import first_day, row_costs
from nest.outlook.one_by_one import one_by_one
from nest.pipeline import Outcome, Rival, Settings, make_plan

if TYPE_CHECKING:
    import threading
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.packing.control import Listener

RIVAL_SHARE = 0.25
"""Share of a time limit for planning each batch on its own."""


def plan_week(
    rows: Sequence[Row],
    room: Room,
    settings: Settings | None = None,
    listener: Listener | None = None,
    interrupt: threading.Event | None = None,
) -> Outcome:
    """Return a checked plan of the rows on the room's stock and calendar.

    Where dates matter each batch is also planned on its own, for comparison; should that be cheaper, lateness counted
    in, it is the plan. Without a calendar, or without dates, this is `make_plan`.

    Raises
    ------
    CheckFailed, Interrupted
        As `make_plan` does.
    """
    settings = settings or Settings()
    first = (settings.first_day or first_day(rows)) if room.calendar is not None else None
    if first is None or not row_costs(rows, room, first).matter:
        return make_plan(rows, room, settings, listener, interrupt)
    seconds = settings.time_limit
    brief = settings if seconds is None else replace(settings, time_limit=seconds * RIVAL_SHARE)
    chain = one_by_one(rows, room, brief, first, interrupt)
    rest = settings if seconds is None else replace(settings, time_limit=seconds * (1.0 - RIVAL_SHARE))
    return make_plan(rows, room, rest, listener, interrupt, Rival(sheets=chain.sheets, figures=chain.figures))
