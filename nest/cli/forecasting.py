"""What `nest forecast` does: read past weeks, simulate many coming ones, write the demand file, say what it holds."""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING

from nest.cli.bar import bar
from nest.cli.engine import engine
from nest.cli.folder import PLAN
from nest.cli.interrupt import interruptible
from nest.cli.stock_view import open_ledger, view_of
from nest.cli.streams import show, tell
from nest.errors import Interrupted
from nest.output.write import write_files

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from pathlib import Path

    from nest.buying.checks import Ratios
    from nest.buying.crew import Crew
    from nest.buying.demand import Demand
    from nest.buying.history import Releases, Remakes
    from nest.buying.past import History, Wishes
    from nest.domain.room import Room

STOPPING = "stopping: the paths that are finished are kept; once more stops at once and writes nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastRequest:
    """What to simulate, from what, and where to write, as asked for on the command line."""

    history: tuple[Path, ...]
    room: Path
    out: Path
    weeks: int
    paths: int
    seed: int = 0
    cores: int | None = None
    cluster: str | None = None
    stock: Path | None = None
    on: date | None = None
    remake_rate: float | None = None
    block: int | None = None
    offcut_weeks: int | None = None
    rack_limit: int | None = None
    work_limit: int | None = None
    checks: int = 12
    no_back_test: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """A demand with what it was made from; ``interrupted`` tells that some paths are missing."""

    demand: Demand
    history: History
    room: Room
    wishes: Wishes
    ratios: Ratios
    interrupted: bool


def forecast(request: ForecastRequest) -> int:
    """Simulate, write the demand file and say what it holds; return the exit code.

    Raises
    ------
    InputError
        If the history or the room is wrong; nothing is written.
    OutputError
        If the folder cannot be written; what was there before stands.
    StockError
        If there is trouble with the ledger; nothing is written.
    MissingExtra, ClusterError
        If there is trouble with the cluster; nothing is written.
    Interrupted
        If stopped before a path was finished; nothing is written.
    """
    from nest.buying.demand_file import NAME, dump_demand
    from nest.buying.demand_text import demand_text
    from nest.cli.forecast_sheet import sheet_files, sheet_of
    from nest.output.forecast_text import forecast_text

    found = simulated(request)
    skip = "as asked for (--no-back-test)" if request.no_back_test else ""
    skip = "the simulation was interrupted" if found.interrupted else skip
    sheet = sheet_of(found.demand, found.history, found.room, found.wishes, found.ratios,
                     cores=request.cores, cluster=request.cluster, skip=skip)  # fmt: skip
    files = {NAME: dump_demand(found.demand), **sheet_files(sheet, found.demand)}
    write_files(request.out, files)
    show(f"{demand_text(found.demand)}\n{forecast_text(sheet)}")
    tell(f"written to {quote(str(request.out))}: {', '.join(sorted(files))}")
    if found.interrupted:
        tell(f"interrupted: {found.demand.paths} of {found.demand.wanted_paths} paths are finished and kept")
    return Interrupted.exit_code if found.interrupted else 0


def simulated(request: ForecastRequest) -> Simulated:
    """Read what the request names and simulate it."""
    from nest.buying.history import read_history
    from nest.buying.past import Wishes

    releases, remakes = told_by(request.history, request.stock)
    history, room = read_history(request.history, request.room, releases, remakes)
    if request.stock is not None:
        # sizes stay those of the room file; what lies on the rack comes from the ledger
        room = _with_rack(room, request)
    wishes = Wishes(
        weeks=request.weeks, paths=request.paths, seed=request.seed, remake_rate=request.remake_rate,
        block=request.block, offcut_weeks=request.offcut_weeks, rack_limit=request.rack_limit,
        work_limit=request.work_limit, checks=request.checks,
    )  # fmt: skip
    with interruptible(quiet=False, words=STOPPING) as interrupt, engine():
        from nest.buying.crew import Crew
        from nest.buying.paths import learnt_ratios, simulate
        from nest.packing.team import cores_here

        cores = cores_here() if request.cores is None else min(request.cores, cores_here())
        first = f", after checking {request.checks} weeks" if request.checks else ""
        with bar(request.paths, f"simulating {request.paths} paths of {request.weeks} weeks{first}") as told:
            crew: Crew = Crew(cores=cores, cluster=request.cluster, interrupt=interrupt, told=told)
            ratios = learnt_ratios(history, room, wishes, crew)
            demand = simulate(history, room, wishes, crew, ratios)
    if not demand.paths:
        raise Interrupted("interrupted before a path was finished; nothing written")
    return Simulated(
        demand=demand, history=history, room=room, wishes=wishes, ratios=ratios,
        interrupted=demand.paths < demand.wanted_paths,
    )  # fmt: skip


def _with_rack(room: Room, request: ForecastRequest) -> Room:
    from dataclasses import replace

    if request.stock is None:
        return room
    return replace(room, offcuts=view_of(request.stock, room, request.on).room.offcuts)


def told_by(history: Sequence[Path], stock: Path | None) -> tuple[Releases | None, dict[Path, Remakes]]:
    """Return what the ledger knows of released plans, and what the folders of plans tell of remakes.

    Raises
    ------
    InputError
        If a folder's notes of remakes are wrong.
    StockError
        If the ledger cannot be read.
    """
    from nest.buying.history import Releases, Remakes, sources_in
    from nest.revise.earlier import Origin
    from nest.revise.record import NAME, first_history, load_history
    from nest.revise.remakes_file import NAME as REMAKES
    from nest.revise.remakes_file import load_entries
    from nest.store.release import release_days
    from nest.store.remakes import remake_weeks

    remakes = {}
    for folder in (one for one in sources_in(history, []) if one.is_dir()):
        text = (folder / PLAN).read_bytes()
        known = load_history(folder / NAME, text) or first_history(text)
        again = frozenset(own.key for own in known.own_rows if own.origin is Origin.REMAKE)
        remakes[folder] = Remakes(rows=again, pieces=len(load_entries(folder / REMAKES)))
    if stock is None:
        return None, remakes
    with open_ledger(stock) as ledger:
        remade = sum(sum(week.remade.values()) for week in remake_weeks(ledger))
        return Releases(days=release_days(ledger), remade=remade), remakes
