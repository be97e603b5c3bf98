"""The product's line in one function: rows and room in, a checked plan out.

rows, room -> pieces -> a problem per material -> filled bins -> planned sheets -> totals -> the check
"""

from __future__ import annotations

import platform
from dataclasses import dataclass, field, replace
from enum import Enum
from importlib.metadata import version
from typing import TYPE_CHECKING

from nest.calendar.dated import dated, homeless_warnings
from nest.calendar.timing import first_day, row_costs
from nest.check.opinion import check_plan
from nest.domain.job import Need
from nest.domain.plan import JobShare, OtherSize, Plan, Unplaced
from nest.domain.totals import totals_of
from nest.errors import CheckFailed, Interrupted
from nest.output.plan_file import rounded_plan
from nest.packing.assemble import planned_sheets
from nest.packing.control import Silent, Stop
from nest.packing.means import Means, Methods
from nest.packing.other_sizes import other_sizes
from nest.packing.shares import job_shares
from nest.packing.team import Team, cores_here
from nest.packing.translate import BatchCosts
from nest.packing.windows import without_windows
from nest.plates.gaps import gap_warnings
from nest.plates.pieces import piece_of, wrap_warning
from nest.works import prepare, solve_all, unplaced_of

if TYPE_CHECKING:
    import threading
    from collections.abc import Sequence
    from datetime import date

    from nest.calendar.dated import Dated
    from nest.calendar.timing import RowCosts
    from nest.domain.calendar import OneByOne, PlannedCalendar
    from nest.domain.job import Row
    from nest.domain.plan import PlannedSheet, StoppedBy
    from nest.domain.room import Room
    from nest.packing.control import Listener
    from nest.packing.problem import Solution
    from nest.plates.pieces import Piece
    from nest.works import MaterialWork

WORK_BASE, WORK_PER_UNIT = 40_000, 60
NO_WORK_LIMIT = 10**12
CLOSING_BASE, CLOSING_PER_UNIT = 0.1, 0.0011
"""Seconds kept of a time limit for the check, the shares of the jobs and other sizes."""


class Effort(Enum):
    """How long to search: a multiple of the usual work limit."""

    QUICK = "quick"
    NORMAL = "normal"
    THOROUGH = "thorough"


PROBE_SHARE = 0.2
"""Share of the limits for a first search that tells which batches are full."""
PRICE_SHARE = 0.5
"""Share of such a batch's price that a plate pays: the whole price of the last place would empty it (measured)."""
NO_DATES = "no row has a date, so no plate is put on the calendar: name its first day with --from"
NORMAL = Effort.NORMAL
TIMES_USUAL = {Effort.QUICK: 0.15, Effort.NORMAL: 1.0, Effort.THOROUGH: 6.0}
PROOF = {Effort.QUICK: 0.2, Effort.NORMAL: 0.4, Effort.THOROUGH: 1.5}


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How to search: seed, limits, and whether the reserve may be drawn.

    ``work_limit`` is in thousands of placement attempts; without it that of ``effort`` holds, and with a
    ``time_limit`` (seconds) alone no other. ``cores`` limits how many are used at once, None for all; the plan does not
    depend on it. ``methods`` leaves methods out, for comparison. ``first_day`` is the day from which batches of the
    room's calendar count, None for that of the first date in the rows.
    """

    seed: int = 0
    work_limit: int | None = None
    time_limit: float | None = None
    use_reserve: bool = False
    cores: int | None = None
    effort: Effort | None = None
    methods: Methods = field(default_factory=Methods)
    first_day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A checked plan, what each job of it costs, and what each sheet's pieces would cost on other sizes (by its id)."""

    plan: Plan
    shares: tuple[JobShare, ...]
    others: dict[str, tuple[OtherSize, ...]] = field(default_factory=dict)


def made_by() -> str:
    """Return the versions that make a plan repeatable."""
    names = ("nest", "highspy", "numba", "numpy")
    return ", ".join([*(f"{name} {version(name)}" for name in names), f"python {platform.python_version()}"])


def default_work(units: int) -> int:
    """Return the usual work limit for so many units to place."""
    return WORK_BASE + WORK_PER_UNIT * units


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
    rival: Rival | None = None,
) -> Outcome:
    """Return a checked plan of the rows on the room's stock; where a rival is cheaper, the rival.

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
    first = (settings.first_day or first_day(ordered)) if room.calendar is not None else None
    costs = None if first is None else row_costs(ordered, room, first)
    task = Task(room=room, pieces=tuple(pieces), settings=settings, first=first)
    works = task.works(costs)
    units = sum(len(work.demand.must) for work in works)
    stop.work_limit = work_limit(units, settings)
    whole = stop.part(0, 1.0)
    stop.hold_back(CLOSING_BASE + CLOSING_PER_UNIT * units)
    cores = cores_here() if settings.cores is None else settings.cores
    with Team(cores) as team:
        means = Means(seed=settings.seed, team=team, methods=settings.methods, proof=PROOF[settings.effort or NORMAL])
        found = searched(task, works, costs, stop, listener, means).against(rival, task)
    works, solved, sheets = found.works, found.solved, found.sheets
    if stop.interrupt.is_set() and any(w.demand.must and not s.bins for w, s in zip(works, solved, strict=True)):
        raise Interrupted("interrupted before there was a complete plan; nothing written")
    unplaced = [u for work, one in zip(works, solved, strict=True) for u in unplaced_of(work, one, settings.seed)]
    plan = Plan(
        currency=room.currency,
        seed=settings.seed,
        stopped_by=found.reason,
        sheets=sheets,
        unplaced=tuple(sorted(unplaced, key=lambda u: (u.job, u.separation, u.part, u.reason))),
        warnings=(*warnings, *calendar_warnings(room, found)),
        totals=totals_of(sheets, room, sum(solution.bound for solution in solved)),
        proof=", ".join(sorted({solution.proof for solution in solved})),
        made_by=made_by(),
        calendar=calendar_of(found, rival),
    )
    plan = checked(plan, ordered, room, use_reserve=settings.use_reserve)
    made = [(replace(w.material, problem=without_windows(w.material.problem)), s)
            for w, s in zip(works, solved, strict=True)]  # fmt: skip
    shares = job_shares(plan, room, made, ordered, settings.seed)
    others = other_sizes(plan, made, settings.seed, whole.late) if found.is_own else {}
    return Outcome(plan=plan, shares=shares, others=others)


def drafted(
    rows: Sequence[Row], room: Room, settings: Settings, interrupt: threading.Event | None = None
) -> tuple[tuple[PlannedSheet, ...], tuple[Unplaced, ...]]:
    """Return the sheets of a plan and what is left over: unproven, unchecked, on no calendar."""
    task = Task(
        room=room,
        pieces=tuple(piece_of(row, room) for row in sorted(rows, key=lambda row: row.key)),
        settings=settings,
        first=None,
    )
    works = task.works(None)
    stop = Stop.after(0, settings.time_limit, interrupt)
    stop.work_limit = work_limit(sum(len(work.demand.must) for work in works), settings)
    with Team(cores_here() if settings.cores is None else settings.cores) as team:
        means = Means(seed=settings.seed, team=team, methods=settings.methods, proof=0.0)
        found = task.solved(works, stop, Silent(), means)
    left = [u for w, one in zip(works, found.solved, strict=True) for u in unplaced_of(w, one, settings.seed)]
    return found.sheets, tuple(left)


def checked(plan: Plan, rows: Sequence[Row], room: Room, *, use_reserve: bool) -> Plan:
    """Return the plan at the precision of its file.

    Raises
    ------
    CheckFailed
        If it breaks a rule.
    """
    plan = rounded_plan(plan)
    violations = check_plan(plan, tuple(rows), room, use_reserve=use_reserve)
    if violations:
        lines = "\n".join(f"  {v.place}: {v.text}" for v in violations[:20])
        raise CheckFailed(f"the plan breaks {len(violations)} rules (our own fault, nothing written):\n{lines}")
    return plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a search of all materials gave: a solution for each, planned sheets, their batches if any."""

    works: list[MaterialWork]
    solved: list[Solution]
    reason: StoppedBy
    sheets: tuple[PlannedSheet, ...]
    cost: float
    dated: Dated | None = None
    is_own: bool = True

    def against(self, rival: Rival | None, task: Task) -> Found:
        """Return this, or with the sheets of a rival that places as much and costs less, lateness counted in."""
        if rival is None or rival.sheets is None or task.first is None:
            return self
        names = {sheet.id for sheet in rival.sheets}
        found = dated(rival.sheets, [piece.row for piece in task.pieces], task.room, task.first, fixed=names)
        cost = totals_of(rival.sheets, task.room, 0.0).cost
        # it makes every must piece, so nothing is left over; a bound for fewer pieces holds for all of them
        solved = [replace(one, left=()) for one in self.solved]
        other = replace(self, solved=solved, sheets=found.sheets, cost=cost, dated=found, is_own=False)
        fill = any(piece.row.need is Need.FILL for piece in task.pieces)
        return other if not fill and other.rank < self.rank else self

    @property
    def rank(self) -> tuple[float, float]:
        """What such answers compare by: pieces without a place, then cost and lateness."""
        left = sum(len(one.left) for one in self.solved) + (0 if self.dated is None else len(self.dated.homeless))
        late = 0.0 if self.dated is None else self.dated.calendar.lateness + self.dated.calendar.opened
        return (float(left), self.cost + late)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rival:
    """Another way to make all must pieces: sheets whose plates name their batch, and figures to compare with.

    Either is None where there is none.
    """

    sheets: tuple[PlannedSheet, ...] | None
    figures: OneByOne | None


def calendar_of(found: Found, rival: Rival | None) -> PlannedCalendar | None:
    """Return the plan's calendar with the figures of its rival."""
    if found.dated is None:
        return None
    return replace(found.dated.calendar, one_by_one=None if rival is None else rival.figures)


def calendar_warnings(room: Room, found: Found) -> tuple[str, ...]:
    """Return what keeps plates off the room's calendar."""
    if found.dated is not None:
        return homeless_warnings(found.dated)
    return () if room.calendar is None else (NO_DATES,)


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What to plan: the room, its pieces, how to search, the first day of the calendar or None for none."""

    room: Room
    pieces: tuple[Piece, ...]
    settings: Settings
    first: date | None

    def works(self, costs: RowCosts | None) -> list[MaterialWork]:
        """Return a work for each material; ``costs`` are those of batches, None where they do not matter."""
        batches = None
        if costs is not None and costs.matter:
            batches = BatchCosts(late=costs.late, prices=costs.prices)
        materials = sorted({piece.row.material for piece in self.pieces})
        own = [[piece for piece in self.pieces if piece.row.material == material] for material in materials]
        return [
            prepare(self.room, material, some, self.settings.seed, self.settings.use_reserve, batches)
            for material, some in zip(materials, own, strict=True)
        ]

    def solved(self, works: list[MaterialWork], stop: Stop, listener: Listener, means: Means) -> Found:
        """Search all materials and put the plates on the calendar, if there is one."""
        solved, reason = solve_all(works, stop, listener, means)
        made = [(work.material, one) for work, one in zip(works, solved, strict=True)]
        sheets = planned_sheets(self.room, made)
        cost = totals_of(sheets, self.room, 0.0).cost
        if self.first is None:
            return Found(works=works, solved=solved, reason=reason, sheets=sheets, cost=cost)
        found = dated(sheets, [piece.row for piece in self.pieces], self.room, self.first)
        return Found(works=works, solved=solved, reason=reason, sheets=found.sheets, cost=cost, dated=found)


def searched(
    task: Task, works: list[MaterialWork], costs: RowCosts | None, stop: Stop, listener: Listener, means: Means
) -> Found:
    """Search all materials; where batches can be full, first briefly, to learn what room in each of them is worth."""
    if costs is None or not (costs.matter and costs.limited):
        return task.solved(works, stop, listener, means)
    brief = stop.part(PROBE_SHARE * stop.work_limit, PROBE_SHARE)
    probe = task.solved(works, brief, Silent(), replace(means, proof=0.0))
    assert probe.dated is not None
    prices = [PRICE_SHARE * price for price in probe.dated.prices]
    learnt = costs.learnt(prices, probe.dated.job_batches)
    rest = stop.part((1.0 - PROBE_SHARE) * stop.work_limit, 1.0)
    final = task.solved(works if learnt == costs else task.works(learnt), rest, listener, means)
    return min(final, replace(probe, reason=final.reason), key=lambda one: one.rank)
