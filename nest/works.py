"""One material's work: its problem made ready, solved, and what is left over told with its reason."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from nest.domain.job import Need, Row, RowKey, Together
from nest.domain.plan import StoppedBy, Unplaced
from nest.packing.control import Voice
from nest.packing.fits import fits_of
from nest.packing.reasons import never_fits, stock_short
from nest.packing.solve import Demand, solve
from nest.packing.translate import keep_out_units, material_problem
from nest.packing.windows import has_batch

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.room import Room
    from nest.packing.control import Listener, Stop
    from nest.packing.fits import Fit
    from nest.packing.means import Means
    from nest.packing.problem import Solution
    from nest.packing.translate import BatchCosts, MaterialProblem
    from nest.plates.pieces import Piece

NO_ROOM = "no free area of the plates chosen takes it"
NO_BATCH = "the calendar has no batch after its artwork is ready"


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialWork:
    """One material's problem, ready to solve: what fits, what to place, what never fits and why."""

    name: str
    material: MaterialProblem
    fit: Fit
    demand: Demand
    never: dict[int, str]


def prepare(
    room: Room,
    material: str,
    pieces: Sequence[Piece],
    seed: int = 0,
    use_reserve: bool = False,
    batches: BatchCosts | None = None,
) -> MaterialWork:
    """Return one material's problem with the units to place, and the reason for each that no plate takes.

    ``batches`` is None where it does not matter when plates are made.
    """
    rows = [piece.row for piece in pieces]
    must = [p for p in pieces if p.row.need is Need.MUST]
    fill = [p for p in pieces if p.row.need is Need.FILL]
    # levels come from the must pieces: a fill piece joins a plate only where all pieces stay inside its keep-outs
    made = material_problem(room, material, must, fill, rows, use_reserve, batches)
    fit = fits_of(made.problem, seed)
    units = made.problem.units
    never = {u: never_fits(made, u) for u in range(len(units)) if not fit.any_axis(u)}
    never |= {u: NO_BATCH for u, unit in enumerate(units) if u not in never and not has_batch(made.problem, unit)}
    is_fill = [members[0].row.need is Need.FILL for members in made.members]
    plate_of = {
        made.members[u][0].row.job: u
        for u in range(len(units))
        if not is_fill[u] and made.members[u][0].row.together is Together.PLATE
    }
    beside = {
        u: plate_of[made.members[u][0].row.job]
        for u in range(len(units))
        if is_fill[u] and made.members[u][0].row.together is Together.PLATE and made.members[u][0].row.job in plate_of
    }
    return MaterialWork(
        name=material,
        material=made,
        fit=fit,
        demand=Demand(
            must=tuple(u for u in range(len(units)) if not is_fill[u] and u not in never),
            fill=tuple(u for u in range(len(units)) if is_fill[u] and u not in never),
            borders=tuple(min(p.least_border for p in members) for members in made.members),
            beside=beside,
            keep_out=partial(keep_out_units, room, material),
        ),
        never=never,
    )


def unplaced_of(work: MaterialWork, solution: Solution, seed: int) -> list[Unplaced]:
    """Return the rows with copies left over and why, in canonical order."""
    made, demand = work.material, work.demand
    reasons: dict[RowKey, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    rows: dict[RowKey, Row] = {}
    must_left = [u for u in solution.left if u in set(demand.must)]
    short = stock_short(made, must_left, solution.axes, seed) if must_left else ""
    left = {**work.never, **{u: short if u in set(must_left) else NO_ROOM for u in solution.left}}
    for u, reason in left.items():
        for piece in made.members[u]:
            rows[piece.row.key] = piece.row
            reasons[piece.row.key][reason] += 1
    return [
        Unplaced(job=key[0], separation=key[1], part=key[2], copies=copies, need=rows[key].need, reason=reason)
        for key in sorted(reasons)
        for reason, copies in sorted(reasons[key].items())
    ]


def solve_all(
    works: Sequence[MaterialWork], stop: Stop, listener: Listener, means: Means
) -> tuple[list[Solution], StoppedBy]:
    """Return a solution per material and what ended the search; materials share the limits by their units."""
    solved: list[Solution] = []
    reasons: set[StoppedBy] = set()
    total = sum(len(work.demand.must) for work in works)
    done = 0
    for stream, work in enumerate(works):
        count = len(work.demand.must)
        part = stop.part(stop.work_limit * count / max(1, total), count / max(1, total - done))
        voice = Voice(listener, work.name)
        solution = solve(work.material.problem, work.demand, work.fit, part, stream, voice, means)
        done += count
        cost = sum(layout.cost for layout in solution.bins)
        reasons.add(StoppedBy.OPTIMAL if cost <= solution.bound + 0.001 and not solution.left else part.reason)
        solved.append(solution)
    return solved, stop_reason(reasons)


def stop_reason(reasons: set[StoppedBy]) -> StoppedBy:
    """Return what ended the whole search: the clock or an interrupt if either did, optimal only if all parts are."""
    for reason in (StoppedBy.INTERRUPT, StoppedBy.TIME_LIMIT, StoppedBy.WORK_LIMIT):
        if reason in reasons:
            return reason
    return StoppedBy.OPTIMAL
