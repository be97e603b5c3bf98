"""A week nested quickly, for simulations: what it draws, unproven and unchecked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.packing.control import Silent, Stop
from nest.packing.means import Means
from nest.packing.sketch import sketched
from nest.packing.team import Team
from nest.pipeline import TIMES_USUAL, default_work
from nest.plates.pieces import piece_of
from nest.works import prepare, solve_all

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.packing.problem import BinLayout
    from nest.pipeline import Effort
    from nest.works import MaterialWork

SKETCH_BASE, SKETCH_PER_UNIT = 20, 3


def sketch_work(units: int) -> int:
    """Return the usual work of a short search for so many units."""
    return SKETCH_BASE + SKETCH_PER_UNIT * units


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """One material of a week as a short search fills it: its problem, filled bins, units left over."""

    work: MaterialWork
    bins: tuple[BinLayout, ...]
    left: tuple[int, ...]


def sketch_week(
    rows: Sequence[Row], room: Room, seed: int, work_limit: int | None = None, effort: Effort | None = None
) -> list[Sketch]:
    """Return what the rows draw from the room's stock, for simulations: unproven and unchecked, on one core.

    With an ``effort`` the search is that of `make_plan`, else a short one. ``work_limit`` is for the whole week;
    without it the short search takes a little for each unit, the other what its effort takes. No clock is read.
    """
    pieces = [piece_of(row, room) for row in sorted(rows, key=lambda row: row.key)]
    materials = sorted({row.material for row in rows})
    works = [prepare(room, m, [p for p in pieces if p.row.material == m], seed) for m in materials]
    units = sum(len(work.demand.must) for work in works)
    if effort is not None:
        limit = round(default_work(units) * TIMES_USUAL[effort]) if work_limit is None else work_limit
        with Team(1) as team:
            means = Means(seed=seed, team=team, proof=0.0)
            solved, _ = solve_all(works, Stop(work_limit=limit), Silent(), means)
        filled = [(one.bins, one.left) for one in solved]
    else:
        limit = sketch_work(units) if work_limit is None else work_limit
        shares = [round(limit * len(work.demand.must) / max(1, units)) for work in works]
        filled = [
            sketched(work.material.problem, work.demand, work.fit, Stop(work_limit=share), seed, stream)
            for stream, (work, share) in enumerate(zip(works, shares, strict=True))
        ]
    return [
        Sketch(work=work, bins=bins, left=(*left, *sorted(work.never)))
        for work, (bins, left) in zip(works, filled, strict=True)
    ]
