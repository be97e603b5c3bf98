"""What `nest replan`, `nest remake` and `nest remakes` do: read the folder of a plan, revise it, write it, say it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from nest.cli.engine import engine
from nest.cli.folder import PLAN, check_folder, plan_files, written_words
from nest.cli.planning import exit_code
from nest.cli.revising_stock import LedgerSide, book_remakes, ledger_side, revised_note
from nest.cli.streams import show, show_exact, tell
from nest.errors import Fault, InputError
from nest.intake.jobs import read_jobs
from nest.intake.room import RoomFile, read_room
from nest.intake.week import read_week
from nest.output.inputs_file import NAME as INPUTS
from nest.output.inputs_file import load_inputs
from nest.output.plan_file import load_plan
from nest.output.stock_note import NAME as NOTE
from nest.output.write import write_files

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.revise.earlier import Earlier
    from nest.revise.revision import Options, Revision

CHANGES = "changes.txt"


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionRequest:
    """What both commands take, as asked for on the command line."""

    plan: Path
    room: Path | None = None
    released: frozenset[str] = frozenset()
    out: Path | None = None
    stock: Path | None = None
    on: date | None = None
    since: date | None = None
    seed: int | None = None
    work_limit: int | None = None
    dry_run: bool = False
    as_json: bool = False

    @property
    def plan_file(self) -> Path:
        """The plan file; PLAN may be its folder."""
        return self.plan / PLAN if self.plan.is_dir() else self.plan

    @property
    def folder(self) -> Path:
        """The folder of the earlier plan."""
        return self.plan_file.parent

    @property
    def target(self) -> Path:
        """Where the revised plan goes."""
        return self.folder if self.out is None else self.out


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplanRequest(RevisionRequest):
    """What to replan."""

    jobs: Path
    pinned: frozenset[str] = frozenset()
    per_move: float | None = None
    use_reserve: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RemakeRequest(RevisionRequest):
    """What to make again."""

    pieces: tuple[str, ...]
    reason: str
    day: datetime | None = None


def replan_week(request: ReplanRequest) -> int:
    """Revise a plan for new rows and write it; return the exit code.

    Raises
    ------
    InputError
        If the plan, its inputs, the jobs, the room or a sheet's id are wrong, or a sheet that stands cannot.
    OutputError
        If the folder cannot be written; what was there before stands.
    CheckFailed
        If the revised plan fails the independent check; nothing is written.
    """
    with engine(quiet=request.as_json):
        from nest.revise.revision import PER_MOVE, revised
        from nest.revise.rows import compared
        from nest.revise.stand import with_released

        earlier, side = read_earlier(request, request.pinned)
        rows, room = read_inputs(request, earlier)
        check_folder(request.target, [p for p in (request.jobs, request.room) if p is not None])
        if side is not None:
            room = side.view.room
        if request.room is not None or side is not None:
            room = with_released(room, earlier)
        options = replace(
            options_of(request, earlier),
            per_move=PER_MOVE if request.per_move is None else request.per_move,
            use_reserve=request.use_reserve,
        )
        return finish(request, revised(earlier, compared(earlier, rows, room), room, options), side, {})


def remake_pieces(request: RemakeRequest) -> int:
    """Make damaged pieces again, write the plan and note them; return the exit code.

    Raises
    ------
    InputError
        If the plan, its inputs or a piece are wrong.
    OutputError
        If the folder cannot be written; what was there before stands.
    CheckFailed
        If the revised plan fails the independent check; nothing is written.
    """
    with engine(quiet=request.as_json):
        from nest.revise.remake import Reason, made_again, named_pieces, with_made
        from nest.revise.remakes_file import NAME, dump_entries, entries_of, load_entries
        from nest.revise.stand import with_released

        earlier, side = read_earlier(request, frozenset())
        pieces = named_pieces(earlier, request.pieces)
        noted = load_entries(request.folder / NAME)
        check_folder(request.target, [p for p in (request.room,) if p is not None])
        room = earlier.inputs.room
        if side is not None:
            room = with_released(side.view.room, with_made(earlier, pieces))
        elif request.room is not None:
            room = with_released(read_room(request.room).room, with_made(earlier, pieces))
        made = made_again(earlier, pieces, room, options_of(request, earlier))
        # the one place that asks for today's date, and only where none is given
        day = date.today() if request.day is None else request.day.date()
        more = entries_of(made, day, Reason(request.reason))
        if side is not None:
            book_remakes(side, more, keep=False)
        code = finish(request, made.revision, side, {NAME: dump_entries([*noted, *more])})
        if side is not None and not request.dry_run:
            book_remakes(side, more, keep=True)
        return code


def options_of(request: RevisionRequest, earlier: Earlier) -> Options:
    """Return the options of the engine."""
    from nest.revise.revision import Options

    seed = earlier.plan.seed if request.seed is None else request.seed
    return Options(seed=seed, work_limit=request.work_limit, since=request.since)


def read_earlier(request: RevisionRequest, pinned: frozenset[str]) -> tuple[Earlier, LedgerSide | None]:
    """Return the plan to revise with its inputs and history, and what the ledger says of it where there is one.

    Raises
    ------
    InputError
        With what is wrong with the files or the sheets named.
    StockError
        If there is trouble with the ledger.
    """
    from nest.revise.earlier import earlier_of
    from nest.revise.record import NAME, first_history, load_history

    plan = load_plan(request.plan_file)
    text = request.plan_file.read_bytes()
    inputs = load_inputs(request.folder / INPUTS)
    history = load_history(request.folder / NAME, text)
    if history is None:
        tell(f"{request.folder / NAME} is of another plan: no sheet counts as released by it")
        history = first_history(text)
    side, out = None, request.released
    if request.stock is not None:
        room = inputs.room if request.room is None else read_room(request.room).room
        side = ledger_side(request.stock, request.plan_file, room, request.on, quiet=request.as_json)
        out |= side.released
    elif (request.folder / NOTE).is_file():
        tell(f"this plan draws from a ledger ({NOTE} is beside it): give it with --stock to know what is released")
    return earlier_of(plan, inputs, history, out, pinned), side


def read_inputs(request: ReplanRequest, earlier: Earlier) -> tuple[tuple[Row, ...], Room]:
    """Return the rows as they are now, and the room: the one given, else the plan's.

    Raises
    ------
    InputError
        With every fault of the files.
    """
    if request.room is not None:
        return read_week(request.jobs, request.room)
    room = earlier.inputs.room
    known = RoomFile(room=room, columns={}, ignore=())
    return read_jobs(request.jobs, known, request.folder / INPUTS), room


def finish(
    request: RevisionRequest, revision: Revision, side: LedgerSide | None, more: Mapping[str, str]
) -> int:
    """Write a revised plan's folder and say what changed; return the exit code."""
    from nest.revise.changes import changes
    from nest.revise.record import NAME, dump_revision
    from nest.revise.remakes_file import NAME as REMAKES
    from nest.revise.report import changes_text

    found = changes(revision.earlier.plan, revision.plan)
    files = plan_files(revision.outcome, revision.inputs, None if side is None else side.view.places)
    files |= {NAME: dump_revision(revision, found, files[PLAN]), CHANGES: changes_text(revision, found)}
    noted = request.folder / REMAKES
    if request.target != request.folder and noted.is_file():
        files[REMAKES] = noted.read_text(encoding="utf-8")
    files |= more
    if side is not None:
        files |= revised_note(side, revision.plan, files[PLAN], use_reserve=revision.inputs.use_reserve)
    if not request.dry_run:
        write_files(request.target, files)
    if request.as_json:
        show_exact(files[NAME])
    else:
        show(files[CHANGES])
        tell("dry run: nothing written" if request.dry_run else written_words(request.target, files))
    return exit_code(revision.plan)


def print_remakes(folders: Sequence[Path], *, as_csv: bool) -> int:
    """Print the rate of remakes and their cost by week and reason; return the exit code.

    Raises
    ------
    InputError
        If a folder has no plan, or the plans have different currencies.
    """
    from nest.revise.record import NAME, first_history, load_history
    from nest.revise.remake_rate import rates, rates_csv, rates_text, undated_words, weeks_made
    from nest.revise.remakes_file import NAME as REMAKES
    from nest.revise.remakes_file import Entry, first_made, load_entries

    entries: dict[Entry, None] = {}
    current: dict[str, int] = {}
    currencies: dict[str, Path] = {}
    for folder in folders:
        plan, text = load_plan(folder / PLAN), (folder / PLAN).read_bytes()
        history = load_history(folder / NAME, text) or first_history(text)
        current[history.plan] = first_made(plan, history)
        # a folder revised into another one hands its notes on: what two folders tell counts once
        entries |= dict.fromkeys(load_entries(folder / REMAKES))
        currencies[plan.currency] = folder
    if len(currencies) > 1:
        raise InputError((Fault(
            file=", ".join(str(path) for path in currencies.values()), rule="plans must have one currency",
            got=", ".join(sorted(currencies)), remedy="ask for the folders of each currency apart",
        ),))  # fmt: skip
    made, undated, count = weeks_made(list(entries), current)
    lines = rates(list(entries), made, undated)
    show(rates_csv(lines) if as_csv else rates_text(lines, next(iter(currencies))))
    if undated:
        tell(undated_words(undated, count))
    return 0
