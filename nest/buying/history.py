"""Past weeks read from files: jobs files, folders of plans, and folders of either.

Which week a source belongs to, in this order:

1. a plan that the ledger has released: the week in which its first sheet was given out, and only what lies on sheets
   given out counts;
2. a week or a day in the name of the file or folder: ``2026-W31.csv``, ``jobs-2026-07-27.xlsx``;
3. else each job on its own: the earliest day its rows were ready, or else due.

Weeks between the first and the last without any work count as weeks with none.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from nest.buying.past import WEEK, History, PastWeek
from nest.buying.resample import monday_of
from nest.errors import Fault, InputError
from nest.intake.faults import FaultList, quoted
from nest.intake.jobs import JobsContext, gather_jobs
from nest.intake.room import RoomDraft, gather_room
from nest.output.inputs_file import NAME as INPUTS
from nest.output.inputs_file import load_inputs
from nest.output.plan_file import load_plan
from nest.output.stock_note import NAME as NOTE
from nest.output.stock_note import load_note
from nest.output.words import counted
from nest.plates.pieces import piece_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from pathlib import Path

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import Plan
    from nest.domain.room import Room

PLAN = "plan.json"
TABLES = (".csv", ".xlsx")
MOST_WEEKS = 1040
ISO_WEEK = re.compile(r"(?<!\d)(\d{4})-?W(\d{2})(?!\d)", re.IGNORECASE)
ISO_DAY = re.compile(r"(?<!\d)(\d{4})-(\d{2})-(\d{2})(?!\d)")
_DATE_REMEDY = "fill ready or due, or name the file after its week, such as 2026-W31.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Releases:
    """What the ledger knows of plans: the day each sheet was given out, by plan and sheet; pieces made again."""

    days: Mapping[tuple[str, str], date]
    remade: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remakes:
    """What the folder of a plan tells of pieces made again: which of its rows are such, and how many pieces."""

    rows: Collection[RowKey] = ()
    pieces: int = 0


@dataclass(slots=True)
class _Found:
    """What has been read so far."""

    weeks: dict[date, list[tuple[str, tuple[Row, ...]]]] = field(default_factory=lambda: defaultdict(list))
    faults: list[Fault] = field(default_factory=list)
    plans: int = 0
    unreleased: int = 0
    remade: int = 0

    def add(self, source: str, rows: Iterable[Row], week: date) -> None:
        self.weeks[week].append((source, tuple(rows)))


def read_history(
    paths: Sequence[Path], room_path: Path, releases: Releases | None = None,
    remakes: Mapping[Path, Remakes] | None = None,
) -> tuple[History, Room]:  # fmt: skip
    """Return the past weeks and the room.

    Parameters
    ----------
    paths
        Jobs files, folders of plans, and folders that hold either.
    room_path
        The room file that lengths, materials and headers of jobs files belong to.
    releases
        What the ledger knows; plans that it has not released are passed over.
    remakes
        By folder of a plan.

    Raises
    ------
    InputError
        With every fault of all files, the room's first.
    """
    room_faults = FaultList(str(room_path))
    draft = gather_room(room_path, room_faults)
    found = _Found()
    for path in sources_in(paths, found.faults):
        if path.is_dir():
            _read_plan(path, draft.room, releases, (remakes or {}).get(path, Remakes()), found)
        else:
            _read_jobs(path, draft, room_path, found)
    faults = [*room_faults.in_order(), *found.faults]
    if not faults and not found.weeks:
        rule = "must hold past work" if not found.unreleased else "must hold a plan that the ledger has released"
        faults.append(Fault(file=str(paths[0]), rule=rule, remedy="give jobs files, or folders of released plans"))
    if not faults:
        faults = _too_long(found.weeks, str(paths[0]))
    if faults or draft.room is None:
        raise InputError(tuple(faults))
    remade = releases.remade if releases is not None else found.remade
    return _history(found, remade or None), draft.room


def sources_in(paths: Sequence[Path], faults: list[Fault]) -> list[Path]:
    """Return the jobs files and folders of plans that the paths name or hold, each once, in order."""
    out: dict[Path, None] = {}
    for path in paths:
        if not path.is_dir() or (path / PLAN).is_file():
            out[path] = None
            continue
        inside = [
            one for one in sorted(path.iterdir())
            if (one.suffix.lower() in TABLES and one.is_file() and not one.name.startswith((".", "~")))
            or (one / PLAN).is_file()
        ]  # fmt: skip
        if not inside:
            faults.append(Fault(
                file=str(path), rule="must hold jobs files (.csv, .xlsx) or folders of plans",
                remedy="name the folder that does",
            ))  # fmt: skip
        out |= dict.fromkeys(inside)
    return list(out)


def named_week(name: str) -> date | None:
    """Return the Monday of the week or day that a name holds, None where it holds none.

    Examples
    --------
    >>> named_week("2026-W31"), named_week("jobs-2026-07-29"), named_week("jobs-2026-13-40"), named_week("24017")
    (datetime.date(2026, 7, 27), datetime.date(2026, 7, 27), None, None)
    """
    for match in ISO_WEEK.finditer(name):
        try:
            return date.fromisocalendar(int(match[1]), int(match[2]), 1)
        except ValueError:
            continue
    for match in ISO_DAY.finditer(name):
        try:
            return monday_of(date(int(match[1]), int(match[2]), int(match[3])))
        except ValueError:
            continue
    return None


def _read_jobs(path: Path, draft: RoomDraft, room_path: Path, found: _Found) -> None:
    faults = FaultList(str(path))
    context = JobsContext(headers=draft.headers, unit=draft.unit, room=draft.room, room_name=str(room_path))
    rows = gather_jobs(path, context, faults)
    found.faults += faults.in_order()
    if not faults:
        _date(path.stem, str(path), rows, found)


def _date(name: str, source: str, rows: Sequence[Row], found: _Found) -> None:
    """Put rows into the week that the name tells, else each job into its own."""
    week = named_week(name)
    if week is not None:
        found.add(source, rows, week)
        return
    jobs: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        jobs[row.job].append(row)
    by_week: dict[date, list[Row]] = defaultdict(list)
    for job, own in jobs.items():
        days = [row.ready for row in own if row.ready] or [row.due for row in own if row.due]
        if days:
            by_week[monday_of(min(days).date())] += own
            continue
        found.faults.append(Fault(
            file=source, line=own[0].line or None, where=f"job {job}", rule="nothing tells the week it was made in",
            remedy=_DATE_REMEDY,
        ))  # fmt: skip
    for monday, own in by_week.items():
        found.add(source, own, monday)


def _read_plan(folder: Path, room: Room | None, releases: Releases | None, remakes: Remakes, found: _Found) -> None:
    try:
        plan, inputs = load_plan(folder / PLAN), load_inputs(folder / INPUTS)
        days: Mapping[str, date] | None = None
        if releases is not None:
            name = load_note(folder / NOTE, (folder / PLAN).read_text(encoding="utf-8")).plan
            days = {sheet: day for (of, sheet), day in releases.days.items() if of == name}
    except InputError as error:
        found.faults += error.faults
        return
    if days is not None and not days:
        found.unreleased += 1
        return
    made = copies_made(plan, None if days is None else set(days))
    rows = [
        replace(row, copies=made[row.key]) for row in inputs.rows if made[row.key] and row.key not in remakes.rows
    ]
    faults = [] if room is None else list(_unfit(folder, rows, room))
    found.faults += faults
    if faults or room is None:
        return
    found.plans += 1
    found.remade += remakes.pieces
    if days:
        found.add(str(folder), rows, monday_of(min(days.values())))
    else:
        _date(folder.name, str(folder), rows, found)


def copies_made(plan: Plan, sheets: Collection[str] | None) -> Counter[RowKey]:
    """Return how many copies of each row lie on a plan's sheets, or on those named."""
    return Counter(
        piece.row
        for sheet in plan.sheets if sheets is None or sheet.id in sheets
        for plate in sheet.plates for piece in plate.pieces
    )  # fmt: skip


def _unfit(folder: Path, rows: Sequence[Row], room: Room) -> Iterable[Fault]:
    """Yield what of a past plan the room cannot make today."""
    for material in sorted({row.material for row in rows} - set(room.materials)):
        yield Fault(
            file=str(folder / INPUTS), where="material", rule="must be a material of the room", got=quoted(material),
            remedy=f"add [materials.{material}] to the room file, or leave this plan out",
        )  # fmt: skip
    for row in rows:
        if row.material in room.materials:
            try:
                piece_of(row, room)
            except ValueError as error:
                yield Fault(
                    file=str(folder / INPUTS), where=" ".join(row.key).strip(), rule=str(error),
                    remedy="correct the material of the room file, or leave this plan out",
                )  # fmt: skip


def _too_long(weeks: Mapping[date, object], file: str) -> list[Fault]:
    first, last = min(weeks), max(weeks)
    count = (last - first) // WEEK + 1
    if count <= MOST_WEEKS:
        return []
    return [Fault(
        file=file, rule=f"past weeks must lie within {MOST_WEEKS} weeks", got=f"{first} to {last}",
        remedy="look for a wrong year in ready or due",
    )]  # fmt: skip


def _history(found: _Found, remade: int | None) -> History:
    first, last = min(found.weeks), max(found.weeks)
    mondays = [first + n * WEEK for n in range((last - first) // WEEK + 1)]
    notes = []
    if found.plans:
        notes.append(f"{counted(found.plans, 'plan')} among them, with the pieces that they placed")
    if found.unreleased:
        notes.append(f"{counted(found.unreleased, 'plan')} that the ledger has not released left out")
    return History(
        weeks=tuple(_past_week(monday, found.weeks.get(monday, [])) for monday in mondays), remade=remade,
        notes=tuple(notes),
    )  # fmt: skip


def _past_week(monday: date, parts: Sequence[tuple[str, tuple[Row, ...]]]) -> PastWeek:
    """Return a week; a job number that two sources use is two jobs."""
    rows: list[Row] = []
    known: set[str] = set()
    for number, (_, own) in enumerate(parts):
        twice = {row.job for row in own} & known
        renamed = [replace(row, job=f"{row.job} ({number + 1})") if row.job in twice else row for row in own]
        known |= {row.job for row in renamed}
        rows += renamed
    return PastWeek(monday=monday, rows=tuple(rows), sources=tuple(source for source, _ in parts))
