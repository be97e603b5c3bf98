"""What `nest plan` and `nest demo` do: read the week, plan it, write the folder, say the result."""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING

from nest.cli.begun import time_left
from nest.cli.engine import engine
from nest.cli.first_plan import first_plan
from nest.cli.folder import PLAN, SUMMARY, check_folder, plan_files, written_words
from nest.cli.interrupt import interruptible
from nest.cli.progress import Lines
from nest.cli.stock_view import note_files, view_of
from nest.cli.streams import show, show_exact, tell
from nest.domain.job import Need
from nest.errors import Interrupted
from nest.intake.week import read_week
from nest.output.inputs_file import Inputs
from nest.output.stock_note import NAME as NOTE
from nest.output.write import write_files

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path
    from threading import Event

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.pipeline import Outcome

COMPLETE, UNPLACED = 0, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What to plan, where to write and how long to search, as asked for on the command line."""

    jobs: Path
    room: Path
    out: Path
    seed: int = 0
    work_limit: int | None = None
    time_limit: float | None = None
    effort: str | None = None
    cores: int | None = None
    use_reserve: bool = False
    as_json: bool = False
    stock: Path | None = None
    on: date | None = None
    first_day: date | None = None


def plan_week(request: Request) -> int:
    """Plan a week and write its files; return the exit code.

    Raises
    ------
    InputError
        If the jobs or the room are wrong; nothing is written.
    OutputError
        If the folder cannot be written; what was there before stands.
    CheckFailed
        If the plan fails the independent check; nothing is written.
    StockError
        If there is trouble with the ledger to draw from; nothing is written.
    Interrupted
        If stopped before there was a complete plan; nothing is written.
    """
    quiet = request.as_json
    with interruptible(quiet=quiet) as interrupt:
        rows, room = read_week(request.jobs, request.room)
        view = None if request.stock is None else view_of(request.stock, room, request.on, quiet=quiet)
        room = room if view is None else view.room
        check_folder(request.out, (request.jobs, request.room))
        outcome = planned(request, rows, room, interrupt)
        inputs = Inputs(rows=rows, room=room, use_reserve=request.use_reserve)
        files = plan_files(outcome, inputs, None if view is None else view.places)
        if view is not None:
            files |= note_files(view, outcome.plan, files[PLAN], use_reserve=request.use_reserve)
        write_files(request.out, files)
    if quiet:
        show_exact(files[PLAN])
    else:
        show(files[SUMMARY])
        tell(written_words(request.out, files) + ("" if view is None else f", {NOTE}"))
        if request.stock is not None:
            tell(f"release it with: nest release {quote(str(request.out))} --stock {quote(str(request.stock))}")
        if interrupt.is_set():
            tell("interrupted: this is the best checked plan found so far")
    return Interrupted.exit_code if interrupt.is_set() else exit_code(outcome.plan)


def planned(request: Request, rows: Sequence[Row], room: Room, interrupt: Event) -> Outcome:
    """Make the plan; while the loops are compiled a first one is made beside it."""
    quiet = request.as_json
    more = ["--use-reserve"] if request.use_reserve else []
    if request.stock is not None:
        more += ["--stock", str(request.stock)]
    if request.on is not None:
        more += ["--on", str(request.on)]
    if request.first_day is not None:
        more += ["--from", str(request.first_day)]
    with engine(quiet=quiet) as pipeline:
        from nest.outlook.week import plan_week as whole_week

        settings = pipeline.Settings(
            seed=request.seed,
            work_limit=request.work_limit,
            time_limit=time_left(request.time_limit),
            effort=None if request.effort is None else pipeline.Effort(request.effort),
            cores=request.cores,
            use_reserve=request.use_reserve,
            first_day=request.first_day,
        )
        listener = None if quiet else Lines(room.currency)
        with first_plan(request.jobs, request.room, request.out, request.seed, more, wanted=not quiet):
            outcome: Outcome = whole_week(rows, room, settings, listener, interrupt)
    return outcome


def exit_code(plan: Plan) -> int:
    """Return 0 where every must piece is placed, else 3; fill pieces left over are no fault."""
    return UNPLACED if any(row.need is Need.MUST for row in plan.unplaced) else COMPLETE
