"""Both input files of a week, with the faults of both at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.errors import InputError
from nest.intake.faults import FaultList
from nest.intake.jobs import JobsContext, gather_jobs
from nest.intake.room import gather_room

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room


def read_week(jobs_path: Path, room_path: Path) -> tuple[tuple[Row, ...], Room]:
    """Return the rows and the room of a week.

    Where the room file is at fault the jobs file is still read, and judged as far as it can be without the room.

    Raises
    ------
    InputError
        With every fault of both files, the room's first.
    """
    room_faults, jobs_faults = FaultList(str(room_path)), FaultList(str(jobs_path))
    draft = gather_room(room_path, room_faults)
    context = JobsContext(headers=draft.headers, unit=draft.unit, room=draft.room, room_name=str(room_path))
    rows = gather_jobs(jobs_path, context, jobs_faults)
    found = (*room_faults.in_order(), *jobs_faults.in_order())
    if found or draft.room is None:
        raise InputError(found)
    return rows, draft.room
