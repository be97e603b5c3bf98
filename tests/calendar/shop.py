"""An invented room with a calendar, for the tests of batches."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from nest.domain.calendar import Calendar, Shift
from nest.domain.room import Material
from tests.packing.shop import MATERIAL, costs, room, sheet

if TYPE_CHECKING:
    from nest.domain.room import Room, Sheet

MONDAY = date(2027, 3, 1)
WEEK = (0, 1, 2, 3, 4)


def day(n: int, hour: int = 0) -> datetime:
    """Return a moment of the first week of March 2027, Monday being day 1."""
    return datetime(2027, 3, n, hour)


def calendar(*, plates: int | None = None, days: tuple[int, ...] = WEEK, **more: Any) -> Calendar:
    """Return one batch a day from 6 to 14."""
    minutes = more.pop("minutes", None)
    shift = Shift(name="early", days=days, start=time(6), end=time(14), plates=plates, minutes=minutes)
    return Calendar(shifts=(shift,), **more)


def dated_room(*sheets: Sheet, calendar: Calendar, hours: float = 2.0, **changes: Any) -> Room:
    """Return a room on a calendar whose plates are ready to mount so many hours after their batch."""
    material = Material(name=MATERIAL, thickness_mm=1.70, base_mm=0.125, elapsed_hours=hours)
    return room(
        *(sheets or (sheet(500, 500, price=20.0),)),
        **{"calendar": calendar, "materials": {MATERIAL: material}, "costs": costs(plate=5.0), **changes},
    )
