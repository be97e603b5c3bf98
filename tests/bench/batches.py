"""What dates cost, and what planning a week whole saves: each week plain, on a calendar, and batch by batch.

The calendar has so many batches a working day, of as many plates as asked for; dates are the rows' own, or invented
where the week has none.

    python -m tests.bench.batches --data DIR --week large-11 --shifts 2
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from datetime import time as clock
from pathlib import Path
from typing import TYPE_CHECKING

from nest.domain.calendar import Calendar, Shift
from nest.intake.week import read_week
from nest.outlook.week import plan_week
from nest.pipeline import Settings, make_plan
from tests.bench.invented import SHOPS, invented_week

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room

WORK_DAYS = (0, 1, 2, 3, 4)
MONDAY = datetime(2027, 3, 1)
HEAD = ("| week | plain | on the calendar | lateness | least | batch by batch | lateness | yield plain | calendar "
        "| by batch | batches | s plain | s calendar |")  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A week planned plainly and on a calendar, with the seconds each took."""

    name: str
    plain: Plan
    dated: Plan
    seconds: tuple[float, float]

    def line(self) -> str:
        """Return the week as a line of the table."""
        calendar, plain, dated = self.dated.calendar, self.plain.totals, self.dated.totals
        assert calendar is not None
        own = calendar.one_by_one
        used = {plate.batch for sheet in self.dated.sheets for plate in sheet.plates}
        by_batch = ("–", "–", "–") if own is None else (f"{own.cost:.2f}", f"{own.lateness:.2f}", f"{own.gross:.3f}")
        cells = (
            self.name, f"{plain.cost:.2f}", f"{dated.cost:.2f}", f"{calendar.lateness:.2f}",
            f"{calendar.least_lateness:.2f}", *by_batch[:2], f"{plain.yields.gross:.3f}", f"{dated.yields.gross:.3f}",
            by_batch[2], str(len(used)), f"{self.seconds[0]:.1f}", f"{self.seconds[1]:.1f}",
        )  # fmt: skip
        return f"| {' | '.join(cells)} |"


def calendar_of(shifts: int, plates: int | None) -> Calendar:
    """Return a calendar of so many equal shifts from 6 to 18 on each working day."""
    hours = 12 // shifts
    return Calendar(shifts=tuple(
        Shift(name=f"shift {n + 1}", days=WORK_DAYS, start=clock(6 + n * hours), end=clock(6 + (n + 1) * hours),
              plates=plates)
        for n in range(shifts)
    ))  # fmt: skip


def dated(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Return rows with dates: their own, else each job approved on one of four days and due up to three days later."""
    jobs = sorted({row.job for row in rows})
    if any(row.ready is not None or row.due is not None for row in rows):
        return tuple(rows)
    ready = {job: MONDAY + timedelta(days=n % 4) for n, job in enumerate(jobs)}
    return tuple(
        replace(row, ready=ready[row.job], due=ready[row.job] + timedelta(days=1 + jobs.index(row.job) % 3))
        for row in rows
    )


def compared(name: str, rows: Sequence[Row], room: Room, calendar: Calendar, settings: Settings) -> Compared:
    """Return a week planned both ways; every plan is checked as it is made."""
    rows, begun = dated(rows), time.perf_counter()
    plain = make_plan(rows, replace(room, calendar=None), settings).plan
    between = time.perf_counter()
    whole = plan_week(rows, replace(room, calendar=calendar), settings).plan
    return Compared(
        name=name, plain=plain, dated=whole, seconds=(between - begun, time.perf_counter() - between)
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table; return 0."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.batches")
    parser.add_argument("--data", type=Path, help="folder with weeks/*/jobs.csv and room.toml")
    parser.add_argument("--week", action="append", default=[], help="only weeks of this name")
    parser.add_argument("--shifts", type=int, default=1, choices=(1, 2, 4))
    parser.add_argument("--plates", type=int, help="most plates of a batch")
    parser.add_argument("--pieces", type=int, default=60, help="of the invented weeks, without --data")
    parser.add_argument("--work-limit", type=int)
    chosen = parser.parse_args(arguments)
    settings = Settings(work_limit=chosen.work_limit)
    print(HEAD)
    print("|---|" + "--:|" * (HEAD.count("|") - 2))
    with tempfile.TemporaryDirectory() as scratch:
        folders = (
            [invented_week(Path(scratch), shop, chosen.pieces, 0) for shop in SHOPS] if chosen.data is None
            else sorted(path.parent for path in chosen.data.glob("weeks/*/jobs.csv"))
        )  # fmt: skip
        for folder in folders:
            if not chosen.week or folder.name in chosen.week:
                rows, room = read_week(folder / "jobs.csv", folder / "room.toml")
                calendar = calendar_of(chosen.shifts, chosen.plates)
                print(compared(folder.name, rows, room, calendar, settings).line(), flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
