"""The product's line in one function: rows and room in, a checked plan out.

rows, room -> pieces -> a problem per material -> filled bins -> planned sheets -> totals -> the check
"""

from __future__ import annotations

import platform
from collections import defaultdict
from dataclasses import dataclass, field
from enum import Enum
from functools import partial
from importlib.metadata import version
from typing import TYPE_CHECKING

from nest.check.opinion import check_plan
from nest.domain.job import Need, Row, RowKey, Together
from nest.domain.plan import JobShare, OtherSize, Plan, StoppedBy, Unplaced
from nest.domain.totals import totals_of
from nest.errors import CheckFailed, Interrupted
from nest.output.plan_file import rounded_plan
from nest.packing.assemble import planned_sheets
from nest.packing.control import Silent, Stop, Voice
from nest.packing.fits import fits_of
from nest.packing.means import Means, Methods
from nest.packing.other_sizes import other_sizes
from nest.packing.reasons import never_fits, stock_short
from nest.packing.shares import job_shares
from nest.packing.sketch import sketched
from nest.packing.solve import Demand, solve
from nest.packing.team import Team, cores_here
from nest.packing.translate import keep_out_units, material_problem
from nest.plates.gaps import gap_warnings
from nest.plates.pieces import Piece, piece_of, wrap_warning

if TYPE_CHECKING:
    import threading
    from collections.abc import Sequence

    from nest.domain.room import Room
    from nest.packing.control import Listener
    from nest.packing.fits import Fit
    from nest.packing.problem import BinLayout, Solution
    from nest.packing.translate import MaterialProblem

WORK_BASE, WORK_PER_UNIT = 40_000, 60
SKETCH_BASE, SKETCH_PER_UNIT = 20, 3
NO_WORK_LIMIT = 10**12
CLOSING_BASE, CLOSING_PER_UNIT = 0.1, 0.0011
"""Seconds kept of a time limit for the check, the shares of the jobs and other sizes."""
NO_ROOM = "no free area of the plates chosen takes it"


class Effort(Enum):
    """How long to search: a multiple of the usual work limit."""

    QUICK = "quick"
    NORMAL = "normal"
    THOROUGH = "thorough"


NORMAL = Effort.NORMAL
TIMES_USUAL = {Effort.QUICK: 0.15, Effort.NORMAL: 1.0, Effort.THOROUGH: 6.0}
PROOF = {Effort.QUICK: 0.2, Effort.NORMAL: 0.4, Effort.THOROUGH: 1.5}


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How to search: seed, limits, and whether the reserve may be drawn.

    ``work_limit`` is in thousands of placement attempts; without it that of ``effort`` holds, and with a
    ``time_limit`` (seconds) alone no other. ``cores`` limits how many are used at once, None for all; the plan does not
    depend on it. ``methods`` leaves methods out, for comparison.
    """

    seed: int = 0
    work_limit: int | None = None
    time_limit: float | None = None
    use_reserve: bool = False
    cores: int | None = None
    effort: Effort | None = None
    methods: Methods = field(default_factory=Methods)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A checked plan, what each job of it costs, and what each sheet's pieces would cost on other sizes (by its id)."""

    plan: Plan
    shares: tuple[JobShare, ...]
    others: dict[str, tuple[OtherSize, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialWork:
    """One material's problem, ready to solve: what fits, what to place, what never fits and why."""

    name: str
    material: MaterialProblem
    fit: Fit
    demand: Demand
    never: dict[int, str]


def prepare(room: Room, material: str, pieces: Sequence[Piece], settings: Settings) -> MaterialWork:
    """Return one material's problem with the units to place, and the reason for each that no plate takes."""
    rows = [piece.row for piece in pieces]
    must = [p for p in pieces if p.row.need is Need.MUST]
    fill = [p for p in pieces if p.row.need is Need.FILL]
    # levels come from the must pieces: a fill piece joins a plate only where all pieces stay inside its keep-outs
    made = material_problem(room, material, must, fill, rows, settings.use_reserve)
    fit = fits_of(made.problem, settings.seed)
    units = made.problem.units
    never = {u: never_fits(made, u) for u in range(len(units)) if not fit.any_axis(u)}
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


def made_by() -> str:
    """Return the versions that make a plan repeatable."""
    names = ("nest", "highspy", "numba", "numpy")
    return ", ".join([*(f"{name} {version(name)}" for name in names), f"python {platform.python_version()}"])


def default_work(units: int) -> int:
    """Return the usual work limit for so many units to place."""
    return WORK_BASE + WORK_PER_UNIT * units


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


def work_limit(units: int, settings: Settings) -> int:
    """Return the work limit of a search for so many units."""
    if settings.work_limit is not None:
        return settings.work_limit
    if settings.time_limit is not None and settings.effort is None:
        return NO_WORK_LIMIT
    return round(default_work(units) * TIMES_USUAL[settings.effort or NORMAL])


def make_plan(
    rows: Sequence[Row],
    room: Room,
    settings: Settings | None = None,
    listener: Listener | None = None,
    interrupt: threading.Event | None = None,
) -> Outcome:
    """Return a checked plan of the rows on the room's stock.

    Raises
    ------
    CheckFailed
        If the plan breaks a rule: our own fault, nothing may be written.
    Interrupted
        If the interrupt came before there was a complete plan.
    """
    settings, listener = settings or Settings(), listener or Silent()
    stop = Stop.after(0, settings.time_limit, interrupt)
    ordered = sorted(rows, key=lambda row: row.key)
    pieces = [piece_of(row, room) for row in ordered]
    warnings = [text for piece in pieces if (text := wrap_warning(piece, room))] + gap_warnings(room, ordered)
    materials = sorted({row.material for row in ordered})
    works = [prepare(room, m, [p for p in pieces if p.row.material == m], settings) for m in materials]
    units = sum(len(work.demand.must) for work in works)
    stop.work_limit = work_limit(units, settings)
    whole = stop.part(0, 1.0)
    stop.hold_back(CLOSING_BASE + CLOSING_PER_UNIT * units)
    cores = cores_here() if settings.cores is None else settings.cores
    with Team(cores) as team:
        means = Means(seed=settings.seed, team=team, methods=settings.methods, proof=PROOF[settings.effort or NORMAL])
        solved, reason = solve_all(works, stop, listener, means)
    if stop.interrupt.is_set() and any(w.demand.must and not s.bins for w, s in zip(works, solved, strict=True)):
        raise Interrupted("interrupted before there was a complete plan; nothing written")
    made = [(work.material, solution) for work, solution in zip(works, solved, strict=True)]
    unplaced = [u for work, one in zip(works, solved, strict=True) for u in unplaced_of(work, one, settings.seed)]
    sheets = planned_sheets(room, made)
    plan = Plan(
        currency=room.currency,
        seed=settings.seed,
        stopped_by=reason,
        sheets=sheets,
        unplaced=tuple(sorted(unplaced, key=lambda u: (u.job, u.separation, u.part, u.reason))),
        warnings=tuple(warnings),
        totals=totals_of(sheets, room, sum(solution.bound for solution in solved)),
        proof=", ".join(sorted({solution.proof for solution in solved})),
        made_by=made_by(),
    )
    plan = rounded_plan(plan)
    violations = check_plan(plan, tuple(ordered), room, use_reserve=settings.use_reserve)
    if violations:
        lines = "\n".join(f"  {v.place}: {v.text}" for v in violations[:20])
        raise CheckFailed(f"the plan breaks {len(violations)} rules (our own fault, nothing written):\n{lines}")
    shares = job_shares(plan, room, made, ordered, settings.seed)
    return Outcome(plan=plan, shares=shares, others=other_sizes(plan, made, settings.seed, whole.late))


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
    settings = Settings(seed=seed)
    works = [prepare(room, m, [p for p in pieces if p.row.material == m], settings) for m in materials]
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


def stop_reason(reasons: set[StoppedBy]) -> StoppedBy:
    """Return what ended the whole search: the clock or an interrupt if either did, optimal only if all parts are."""
    for reason in (StoppedBy.INTERRUPT, StoppedBy.TIME_LIMIT, StoppedBy.WORK_LIMIT):
        if reason in reasons:
            return reason
    return StoppedBy.OPTIMAL
