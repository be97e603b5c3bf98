"""What `nest sizes` does: which sheet sizes to stock, tried on simulated weeks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.buying.crew import Crew
from nest.buying.demand import SizeKey
from nest.buying.history import read_history
from nest.buying.holding import size_key
from nest.buying.past import Wishes
from nest.buying.size_sets import material_sizes, sets_needed
from nest.cli.bar import bar
from nest.cli.engine import engine
from nest.cli.forecasting import told_by
from nest.cli.interrupt import interruptible
from nest.cli.streams import show, show_exact
from nest.errors import Fault, InputError, Interrupted
from nest.intake.offer import read_offer
from nest.output.size_sets_text import size_sets_csv, size_sets_foot, size_sets_text
from nest.output.words import counted
from nest.packing.team import cores_here

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.room import Room, Sheet
    from nest.domain.size_sets import MaterialSizes

STOPPING = "stopping: sets that are finished are kept; once more stops at once"


@dataclass(frozen=True, slots=True, kw_only=True)
class SizesRequest:
    """Options of `nest sizes`."""

    history: tuple[Path, ...]
    room: Path
    offer: Path | None
    materials: tuple[str, ...]
    stock: Path | None
    paths: int
    weeks: int
    seed: int
    cores: int | None
    cluster: str | None
    work_limit: int | None
    as_csv: bool


def compare_sizes(request: SizesRequest) -> int:
    """Say which sizes to stock; return the exit code.

    Raises
    ------
    InputError
        If a file is wrong or a material is unknown.
    MissingExtra, ClusterError, StockError
        As for `nest forecast`.
    Interrupted
        If stopped before a set was finished.
    """
    releases, remakes = told_by(request.history, request.stock)
    history, room = read_history(request.history, request.room, releases, remakes)
    offered = () if request.offer is None else read_offer(request.offer, room)
    by_material = _sizes(room, offered, request)
    fresh = {size_key(sheet) for sheet in offered} - {size_key(sheet) for sheet in room.sheets}
    names = [SizeKey(material=k.material, across_mm=k.across_mm, around_mm=k.around_mm, unit=room.unit).label
             for k in fresh]  # fmt: skip
    wishes = Wishes(weeks=request.weeks, paths=request.paths, seed=request.seed, work_limit=request.work_limit)
    found: list[MaterialSizes] = []
    with interruptible(quiet=False, words=STOPPING) as interrupt, engine():
        cores = cores_here() if request.cores is None else min(request.cores, cores_here())
        crew = Crew(cores=cores, cluster=request.cluster, interrupt=interrupt)
        for sheets in by_material:
            if interrupt.is_set():
                break
            sets = sets_needed(len(sheets))
            with bar(sets * request.paths, f"{sheets[0].material}: trying {counted(sets, 'set')} of sizes") as told:
                means = replace(crew, told=told)
                found.append(material_sizes(history, room, sheets, wishes, means, offered=names))
        stopped = interrupt.is_set()
    found = [one for one in found if one.tried]
    if not found:
        raise Interrupted("interrupted before a set of sizes was finished")
    if request.as_csv:
        show_exact(size_sets_csv(found))
    else:
        show(size_sets_text(found) + size_sets_foot())
    return Interrupted.exit_code if stopped else 0


def _sizes(room: Room, offered: tuple[Sheet, ...], request: SizesRequest) -> list[tuple[Sheet, ...]]:
    """Return the sizes of each material, one entry each; an offer of a stocked size takes the place of its terms."""
    entries: dict[SizeKey, Sheet] = {}
    for sheet in room.sheets:
        entries.setdefault(size_key(sheet), sheet)
    entries |= {size_key(sheet): sheet for sheet in offered}
    known = sorted({key.material for key in entries})
    unknown = [name for name in request.materials if name not in known]
    if unknown:
        raise InputError(tuple(
            Fault(file=str(request.room), where="sheets", rule="there are no sheets of this material", got=name,
                  remedy=f"known: {', '.join(known)}")
            for name in unknown
        ))  # fmt: skip
    wanted = request.materials or known
    return [tuple(one for key, one in sorted(entries.items()) if key.material == name) for name in known
            if name in wanted]  # fmt: skip
