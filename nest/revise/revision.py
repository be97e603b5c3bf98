"""The revision in one function: an earlier plan and what it has to cover now in, a whole checked plan out."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from nest.calendar.dated import dated, homeless_warnings
from nest.calendar.timing import first_day, row_costs
from nest.check.opinion import check_plan
from nest.domain.plan import Plan, StoppedBy, Unplaced
from nest.domain.totals import totals_of
from nest.errors import CheckFailed
from nest.output.inputs_file import Inputs
from nest.output.plan_file import rounded_plan
from nest.packing.arrays import data_of
from nest.packing.bounds import lower_bound
from nest.packing.reopen import Terms
from nest.packing.shares import job_shares
from nest.packing.translate import BatchCosts
from nest.packing.windows import without_windows
from nest.pipeline import Outcome, Settings, made_by
from nest.plates.gaps import gap_warnings
from nest.plates.pieces import piece_of, wrap_warning
from nest.revise.assembly import revised_sheets
from nest.revise.earlier import History
from nest.revise.material import ground_of, settled
from nest.revise.reserve import once_drawn, reserve_drawn, with_reserve
from nest.revise.stand import check_standing
from nest.units import money
from nest.works import prepare, unplaced_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.job import RowKey
    from nest.domain.room import Room
    from nest.packing.problem import Solution
    from nest.packing.translate import MaterialProblem
    from nest.revise.earlier import Earlier, Nothing, Spent
    from nest.revise.material import Settled
    from nest.revise.rows import Wanted

PER_MOVE = 2.0
"""What a moved piece has to save by default, in the room's currency: its place is drawn, read and set out anew."""
WORK_BASE, WORK_PER_PIECE = 800, 8
BOUND_EFFORT = 0.1
MONEY = ("plate", "process_per_m2", "cut", "offcut_value", "offcut_handling", "offcut_full_side_mm",
         "offcut_min_side_mm", "offcut_min_area_m2")  # fmt: skip
"""Rates that change what a sheet costs, not whether it can be made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How to revise: seed, work limit (None for the usual one), what a move has to save, whether sheets may be opened.

    Batches before the day ``since`` are over: only plates that stand were made in them.

    ``use_reserve`` draws the sheets kept back for remakes like any other; ``reserve_for`` are rows that may draw them
    though others may not.
    """

    seed: int = 0
    work_limit: int | None = None
    per_move: float = PER_MOVE
    opens: bool = True
    use_reserve: bool = False
    reserve_for: frozenset[RowKey] = frozenset()
    since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Anew:
    """What planning everything that does not stand anew would save beside the plan taken, and the pieces it moves."""

    saving: float
    moves: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """A revised plan with its inputs, what revisions hand on, and where it came from."""

    earlier: Earlier
    wanted: Wanted
    outcome: Outcome
    inputs: Inputs
    history: History
    anew: Anew | None
    options: Options

    @property
    def plan(self) -> Plan:
        """The revised plan."""
        return self.outcome.plan


def default_work(pieces: int) -> int:
    """Return the usual work limit for a plan of so many pieces."""
    return WORK_BASE + WORK_PER_PIECE * pieces


def rules_of(room: Room) -> object:
    """Return what of a room decides whether a sheet can be made as planned: all but stock, rates and names."""
    none: dict[str, Any] = dict.fromkeys(MONEY, 0.0)
    return replace(
        room, sheets=(), offcuts=(), currency="", seam_mm=0.0, pitch_mm=None, calendar=None,
        costs=replace(room.costs, **none),
    )  # fmt: skip


def revised(earlier: Earlier, wanted: Wanted, room: Room, options: Options) -> Revision:
    """Return the revised plan, checked.

    Raises
    ------
    InputError
        If a sheet that stands breaks a rule by the rows and the room as they are now.
    CheckFailed
        If the plan breaks a rule: our own fault, nothing may be written.
    """
    check_standing(earlier, wanted, room, options.use_reserve or earlier.inputs.use_reserve)
    materials = solved_materials(earlier, wanted, room, options)
    same_stock = room == earlier.inputs.room and not options.reserve_for
    bound, proof = proven(earlier, wanted, materials, same_stock=same_stock)
    solutions = [(s.ground.work.material, s.solution(0.0, proof)) for s in materials]
    order = [sheet.id for sheet in earlier.plan.sheets]
    sheets, last = revised_sheets(room, materials, wanted.rows, order, earlier.history.last_sheet)
    room = reserve_drawn(room, sheets) if options.reserve_for else room
    first = first_batch_day(earlier, wanted, room)
    found = None if first is None else dated(
        sheets, wanted.rows, room, first, options.since, earlier.standing
    )  # fmt: skip
    sheets = sheets if found is None else found.sheets
    totals = totals_of(sheets, room, bound)
    left = unplaced(materials, solutions, options.seed)
    complete = not any(row.need.value == "must" for row in left)
    plan = rounded_plan(Plan(
        currency=room.currency,
        seed=options.seed,
        stopped_by=StoppedBy.OPTIMAL if complete and totals.cost <= bound + 0.001 else StoppedBy.WORK_LIMIT,
        sheets=sheets,
        unplaced=left,
        warnings=(*warnings(wanted, room), *(() if found is None else homeless_warnings(found))),
        totals=totals,
        proof=proof,
        made_by=made_by(),
        calendar=None if found is None else found.calendar,
    ))  # fmt: skip
    reserve = options.use_reserve or earlier.inputs.use_reserve
    inputs = Inputs(rows=wanted.rows, room=room, use_reserve=reserve, standing=wanted.standing)
    approve(plan, inputs)
    return Revision(
        earlier=earlier,
        wanted=wanted,
        outcome=Outcome(plan=plan, shares=job_shares(plan, room, solutions, wanted.rows, options.seed)),
        inputs=inputs,
        history=History(
            plan=earlier.history.plan, released=earlier.released, own_rows=wanted.own_rows, spent=wanted.spent,
            last_sheet=last,
        ),
        anew=anew(materials, options),
        options=options,
    )  # fmt: skip


def first_batch_day(earlier: Earlier, wanted: Wanted, room: Room) -> date | None:
    """Return the first day of the calendar: the earlier plan's, else that of the first date; None without one."""
    if room.calendar is None:
        return None
    before = earlier.plan.calendar
    if before is not None and before.batches:
        return before.batches[0].start.date()
    return first_day(wanted.rows)


def approve(plan: Plan, inputs: Inputs) -> None:
    """Check a plan independently.

    Raises
    ------
    CheckFailed
        If it breaks a rule.
    """
    found = check_plan(
        plan, inputs.rows, inputs.room, use_reserve=inputs.use_reserve, standing=inputs.standing
    )
    if found:
        lines = "\n".join(f"  {v.place}: {v.text}" for v in found[:20])
        raise CheckFailed(f"the revised plan breaks {len(found)} rules (our own fault, nothing written):\n{lines}")


def solved_materials(earlier: Earlier, wanted: Wanted, room: Room, options: Options) -> list[Settled]:
    """Return every material of the plan or the rows, revised; they share the work by their pieces."""
    rows = [replace(row, copies=wanted.to_make(row)) for row in wanted.rows]
    pieces = [piece_of(row, room) for row in rows]
    total = sum(row.copies for row in rows)
    limit = default_work(total) if options.work_limit is None else options.work_limit
    settings = Settings(seed=options.seed, use_reserve=options.use_reserve or earlier.inputs.use_reserve)
    first = first_batch_day(earlier, wanted, room)
    costs = None if first is None else row_costs(rows, room, first, options.since)
    batches = BatchCosts(late=costs.late, prices=costs.prices) if costs is not None and costs.matter else None
    changed_rules = rules_of(room) != rules_of(earlier.inputs.room)
    out = []
    for stream, material in enumerate(sorted({row.material for row in rows})):
        own = [piece for piece in pieces if piece.row.material == material]
        plain = prepare(room, material, own, settings.seed, settings.use_reserve, batches)
        work = with_reserve(plain, options.reserve_for) if options.reserve_for else plain
        ground = ground_of(
            work, room, [s for s in earlier.plan.sheets if s.material == material],
            earlier.standing, wanted.suspects, reopen_all=changed_rules,
            reprice=room.costs != earlier.inputs.room.costs,
        )  # fmt: skip
        share = limit * sum(piece.row.copies for piece in own) // max(1, total)
        terms = Terms(per_move=options.per_move, work=max(1, share))
        one = settled(ground, options.seed, stream, terms, opens=options.opens)
        out.append(once_drawn(one, plain, options.seed, stream) if options.reserve_for else one)
    return out


def unplaced(
    materials: Sequence[Settled], solutions: Sequence[tuple[MaterialProblem, Solution]], seed: int
) -> tuple[Unplaced, ...]:
    """Return the rows with copies left over and why, in canonical order."""
    found: list[Unplaced] = []
    for one, (_, solution) in zip(materials, solutions, strict=True):
        found += unplaced_of(one.ground.work, solution, seed)
    return tuple(sorted(found, key=lambda u: (u.job, u.separation, u.part, u.reason)))


def warnings(wanted: Wanted, room: Room) -> list[str]:
    """Return what a plan warns of; pieces made for nothing come first, so that their guides tell of them."""
    by_row: dict[tuple[RowKey, Nothing], list[Spent]] = defaultdict(list)
    for one in wanted.spent:
        by_row[one.key, one.why].append(one)
    told = []
    for (key, why), found in by_row.items():
        places = ", ".join(f"copy {one.copy} on {one.sheet}" for one in found)
        told.append(f"{' '.join(word for word in ('job', *key) if word)}: made for nothing ({why.value}): {places}")
    pieces = [piece_of(row, room) for row in wanted.rows]
    return [*told, *(text for piece in pieces if (text := wrap_warning(piece, room))), *gap_warnings(room, wanted.rows)]


def anew(materials: Sequence[Settled], options: Options) -> Anew | None:
    """Return what planning anew would save beside what was taken, None where it was not tried or saves nothing."""
    saving, moves = 0.0, 0
    for one in materials:
        must = set(one.ground.work.demand.must)
        if one.anew is None or set(one.anew.placing.left) & must != set(one.placing.left) & must:
            continue
        gain = sum(b.layout.cost for b in one.placing.bins) - one.anew.placing.cost
        if gain > 0.005:
            saving += gain
            moves += one.anew.moves - one.moves
    return Anew(saving=money(saving), moves=moves) if saving > 0 else None


def proven(
    earlier: Earlier, wanted: Wanted, materials: Sequence[Settled], *, same_stock: bool
) -> tuple[float, str]:
    """Return a proven lower bound of the cost of placing what the revised plan places, and its proof.

    It holds for any plan of these pieces on the whole stock, whatever stands. Where the plan only got more to place in
    the same room, the earlier bound is kept if it is the better one: a plan of more pieces is no cheaper, since what is
    added can be taken out of it at no cost.
    """
    before = earlier.plan.totals.bound
    kept = same_stock and only_more(earlier, wanted, materials)
    found, proofs = 0.0, set()
    for one in materials:
        work = one.ground.work
        placed = {u for layout in one.layouts for u in layout.units}
        must = [u for u in work.demand.must if u in placed]
        if not must:
            continue
        problem = without_windows(work.material.problem)
        bound, proof = lower_bound(problem, data_of(problem), work.fit, must, 0.0 if kept else BOUND_EFFORT)
        found += bound
        proofs.add(proof)
    if kept and before > found:
        return before, earlier.plan.proof
    return found, ", ".join(sorted(proofs))


def only_more(earlier: Earlier, wanted: Wanted, materials: Sequence[Settled]) -> bool:
    """Return whether the revised plan places all that the earlier one placed, by the same rows."""
    now = {row.key: row for row in wanted.rows}
    placed: dict[tuple[str, str, str], int] = {}
    for one in materials:
        members = one.ground.work.material.members
        for layout in one.layouts:
            for u in layout.units:
                for piece in members[u]:
                    placed[piece.row.key] = placed.get(piece.row.key, 0) + 1
    for key, copies in earlier.located.items():
        old, new = earlier.rows[key], now.get(key)
        if new is None or placed.get(key, 0) < len(copies):
            return False
        if replace(old, copies=1, line=0, customer="", title="", press="", note="", ready=None) != replace(
            new, copies=1, line=0, customer="", title="", press="", note="", ready=None
        ):
            return False
    return True
