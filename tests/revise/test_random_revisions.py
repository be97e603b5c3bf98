"""Properties of every revision, on random small weeks: the check holds, what stands stays, nothing is lost."""

from __future__ import annotations

import random
from collections import Counter
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from nest.check.opinion import check_plan
from nest.errors import InputError
from nest.output.inputs_file import Inputs
from nest.output.plan_file import plan_to_json
from nest.pipeline import Settings, make_plan
from nest.revise.changes import changes
from nest.revise.earlier import Earlier, History, earlier_of
from nest.revise.remake import made_again
from nest.revise.revision import Options, Revision, revised
from nest.revise.rows import compared
from tests.revise.random_changes import changed_rows, other_stock, some_sheets
from tests.small_weeks import weeks

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room

Week = tuple[tuple["Row", ...], "Room"]
ONCE = (Phase.explicit, Phase.generate)
SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
QUICK = Options(work_limit=40)


def holds(revision: Revision) -> bool:
    """Check all that any revision owes."""
    plan, earlier, inputs = revision.plan, revision.earlier, revision.inputs
    found = check_plan(
        plan, inputs.rows, inputs.room, use_reserve=inputs.use_reserve, standing=inputs.standing
    )
    assert found == ()
    before = {s["id"]: s for s in plan_to_json(earlier.plan)["sheets"]}
    after = {s["id"]: s for s in plan_to_json(plan)["sheets"]}
    assert {name: after[name] for name in earlier.standing} == {name: before[name] for name in earlier.standing}
    wanted = sum(revision.wanted.to_make(row) for row in revision.wanted.rows)
    assert plan.totals.pieces + sum(u.copies for u in plan.unplaced) == wanted
    assert plan.totals.bound <= plan.totals.cost + 1e-9
    told = changes(earlier.plan, plan)
    assert told.unchanged + len(told.moved) + len(told.added) == plan.totals.pieces
    return told.unchanged + len(told.moved) + len(told.dropped) == earlier.plan.totals.pieces


def made_for_the_jobs(revision: Revision, rows: tuple[Row, ...]) -> None:
    """Check that every row of the jobs gets as many good pieces, placed or accounted for, as it asks for."""
    wanted, own = revision.wanted, {one.key: one.of for one in revision.history.own_rows}
    have: Counter[tuple[str, str, str]] = Counter()
    for row in wanted.rows:
        have[own.get(row.key, row.key)] += wanted.to_make(row)
    for one in wanted.spent:
        have[own.get(one.key, one.key)] -= 1
    assert {key: n for key, n in have.items() if n} == {row.key: row.copies for row in rows}


def tried(earlier: Earlier, rows: tuple[Row, ...], room: Room) -> Revision | None:
    """Return a revision, None where what stands cannot stand any more: said in words, not planned."""
    try:
        return revised(earlier, compared(earlier, rows, room), room, QUICK)
    except InputError as error:
        if "breaks a rule now" not in str(error):
            raise
        return None


def start(week: Week, chance: random.Random) -> Earlier:
    rows, room = week
    plan = make_plan(rows, room, Settings(work_limit=8)).plan
    return earlier_of(
        plan, Inputs(rows=rows, room=room), History(), some_sheets(plan, chance, 0.35), some_sheets(plan, chance, 0.15)
    )


def again(revision: Revision, chance: random.Random) -> Earlier:
    """Return a revision as the earlier plan of the next one."""
    return earlier_of(
        revision.plan, revision.inputs, revision.history, some_sheets(revision.plan, chance, 0.2)
    )


@settings(max_examples=150, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks(), st.integers(0, 10**6))
def test_random_changes_give_plans_that_hold_and_leave_what_stands(week: Week, seed: int) -> None:
    chance = random.Random(seed)
    earlier, room = start(week, chance), week[1]
    rows = changed_rows(week[0], chance)
    for _ in range(2):
        revision = tried(earlier, rows, room)
        if revision is None:
            return
        assert holds(revision)
        made_for_the_jobs(revision, rows)
        earlier, rows = again(revision, chance), changed_rows(rows, chance)


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks(), st.integers(0, 10**6))
def test_damaged_pieces_are_made_again_and_nothing_moves(week: Week, seed: int) -> None:
    chance = random.Random(seed)
    earlier = start(week, chance)
    pieces = [(key, copy) for key, copies in earlier.located.items() for copy, _ in copies]
    if not pieces:
        return
    damaged = tuple(chance.sample(pieces, min(len(pieces), chance.randint(1, 3))))
    made = made_again(earlier, damaged, week[1], QUICK)
    assert holds(made.revision)
    told = changes(earlier.plan, made.revision.plan)
    assert told.moved == told.dropped == ()
    own = {one.key for one in made.revision.history.own_rows}
    assert sum(one.key in own for one in told.added) <= len(damaged)
    spent = sum(one.cost for one in made.pieces)
    assert abs(spent - (made.revision.plan.totals.cost - earlier.plan.totals.cost)) < 0.005


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks(), st.integers(0, 10**6))
def test_another_stock_opens_what_it_no_longer_holds(week: Week, seed: int) -> None:
    chance = random.Random(seed)
    earlier = start(week, chance)
    room = other_stock(week[1], chance)
    revision = tried(earlier, week[0], room)
    if revision is not None:
        assert holds(revision)


@settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks(), st.integers(0, 10**6))
def test_the_same_revision_gives_the_same_plan(week: Week, seed: int) -> None:
    earlier = start(week, random.Random(seed))
    rows = changed_rows(week[0], random.Random(seed))
    one, other = (tried(earlier, some, week[1]) for some in (rows, rows[::-1]))
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert one.plan == other.plan
