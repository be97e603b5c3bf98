"""A small history for the tests of the simulation: some jobs a week of the demo's plate room."""

from __future__ import annotations

from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from nest.buying.demo_history import FIRST_WEEK, week_files
from nest.buying.past import WEEK, History, PastWeek
from nest.intake.week import read_week

if TYPE_CHECKING:
    from nest.domain.room import Room


def room_text() -> str:
    return (resources.files("nest") / "demo_week" / "room.toml").read_text(encoding="utf-8")


@cache
def small(weeks: int = 6, jobs: float = 2.0) -> tuple[History, Room]:
    """Return so many past weeks of about so many jobs, and the room."""
    found: dict[date, PastWeek] = {}
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "room.toml").write_text(room_text(), encoding="utf-8")
        for file, text in week_files(weeks=weeks, jobs_a_week=jobs).items():
            (folder / file).write_text(text, encoding="utf-8")
            rows, room = read_week(folder / file, folder / "room.toml")
            monday = date.fromisocalendar(int(file[:4]), int(file[6:8]), 1)
            found[monday] = PastWeek(monday=monday, rows=rows, sources=(file,))
    mondays = [FIRST_WEEK + n * WEEK for n in range(weeks)]
    return History(weeks=tuple(found.get(m, PastWeek(monday=m)) for m in mondays)), room
