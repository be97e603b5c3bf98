"""What `nest timetable` does: the way of each batch through the room, as text, table, charts and cards."""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING

import click

from nest.calendar.timetable import When, make_timetable
from nest.check.timetable import check_timetable
from nest.cli.engine import compilation_told
from nest.cli.plan_folder import plan_file, planned
from nest.cli.streams import show, show_exact, tell
from nest.errors import CheckFailed, Fault, InputError
from nest.output.drawing import id_of
from nest.output.guide import plan_key
from nest.output.inputs_file import NAME
from nest.output.timetable.cards import plate_cards
from nest.output.timetable.tables import timetable_csv, timetable_json
from nest.output.timetable.text import timetable_text
from nest.output.timetable.wall import plates_chart, stations_chart
from nest.output.words import counted
from nest.output.write import write_files

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from nest.domain.plan import Plan
    from nest.domain.timetable import Timetable
    from nest.output.inputs_file import Inputs

DONE = 0
EFFORTS = {"quick": 0.2, "normal": 1.0, "thorough": 5.0}
COMPILING = "compiling the timetable's loops: once after each install, some seconds"


@dataclass(frozen=True, slots=True, kw_only=True)
class TimetableRequest:
    """What to time, as asked for on the command line."""

    plan: Path
    batch: str | None = None
    start: datetime | None = None
    out: Path | None = None
    effort: str = "normal"
    as_json: bool = False


def print_timetable(request: TimetableRequest) -> int:
    """Print the timetables, write their files where asked for, and return the exit code.

    Raises
    ------
    click.UsageError
        If one start is given for several batches.
    InputError
        If plan or inputs cannot be read, the batch is not the plan's, or operators' hours are too short.
    MissingExtra
        If the solver is not installed.
    CheckFailed
        If a timetable breaks the room's line: our own fault; nothing is written.
    OutputError
        If the folder cannot be written.
    """
    plan, inputs = planned(request.plan)
    file = plan_file(request.plan)
    tables = []
    whens = _batches(plan, request)
    for when in whens:
        if len(whens) > 1:
            tell(f"batch {when.batch} …")
        with compilation_told(quiet=request.as_json, words=COMPILING):
            table = make_timetable(
                plan, inputs.room, inputs.rows, when, EFFORTS[request.effort], str(file.parent / NAME)
            )
        broken = check_timetable(table, plan, inputs.rows, inputs.room)
        if broken:
            raise CheckFailed(f"the timetable breaks the line ({broken[0]}); nothing written; please report it")
        tables.append(table)
    written = ""
    if request.out is not None:
        files = timetable_files(tuple(tables), plan, inputs)
        write_files(request.out, files)
        written = f"\nwritten to {quote(str(request.out))}: {', '.join(files)}\n"
    if request.as_json:
        show_exact(timetable_json(tuple(tables)))
    else:
        show("\n".join(timetable_text(table, inputs.room.unit) for table in tables) + written)
    return DONE


def _batches(plan: Plan, request: TimetableRequest) -> list[When]:
    """Return the batches to time, in the calendar's order; all plates as one where the plan has no calendar."""
    made = {plate.batch for sheet in plan.sheets for plate in sheet.plates}
    calendar = () if plan.calendar is None else plan.calendar.batches
    known = [one for one in calendar if one.id in made]
    where = str(plan_file(request.plan))
    if request.batch is not None and request.batch not in [one.id for one in known]:
        names = ", ".join(one.id for one in known) or "none: the plan has no calendar"
        raise InputError((Fault(file=where, where="--batch", rule="must be a batch of the plan that has plates",
                                got=request.batch, remedy=f"there are {names}"),))  # fmt: skip
    if request.batch is not None:
        known = [one for one in known if one.id == request.batch]
    if request.start is not None and len(known) > 1:
        raise click.UsageError("--start is of one batch; name it with --batch")
    if not made:
        raise InputError((Fault(file=where, rule="a timetable needs plates", remedy="plan some pieces first"),))
    if not known:
        return [When(start=request.start)]
    left = sum(not plate.batch for sheet in plan.sheets for plate in sheet.plates)
    if left and request.batch is None:
        tell(f"{counted(left, 'plate')} in no batch: not timed")
    # another start moves the whole batch
    return [
        When(batch=one.id, start=request.start or one.start,
             end=one.end if request.start is None else request.start + (one.end - one.start))
        for one in known
    ]  # fmt: skip


def timetable_files(tables: tuple[Timetable, ...], plan: Plan, inputs: Inputs) -> dict[str, str]:
    """Return the text of every file of some timetables by its name."""
    rows = [timetable_csv(table) for table in tables]
    files = {
        "timetable.json": timetable_json(tables),
        "timetable.csv": rows[0] + "".join(text.split("\n", 1)[1] for text in rows[1:]),
    }
    paper = inputs.room.guides.paper
    for table in tables:
        end = f"-{id_of(table.batch)}" if table.batch else ""
        for stem, pages in (("plates", plates_chart(table, paper)), ("stations", stations_chart(table, paper))):
            for n, text in enumerate(pages, 1):
                number = f"-{n}" if len(pages) > 1 else ""
                files[f"timetable{end}-{stem}{number}.svg"] = text
        files[f"cards{end}.html"] = plate_cards(table, plan, inputs.room, inputs.rows, plan_key(plan))
    return files
