"""An earlier plan in the small invented room of the engine's tests, and revisions of it that never skip the check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nest.check.opinion import check_plan
from nest.output.inputs_file import Inputs
from nest.output.plan_file import plan_to_json
from nest.revise.earlier import Earlier, History, earlier_of
from nest.revise.revision import Options, Revision, revised
from nest.revise.rows import compared
from tests.packing.shop import planned

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room

WORK = 60


def before(
    rows: Sequence[Row], at: Room, released: Iterable[str] = (), pinned: Iterable[str] = (), **settings: Any
) -> Earlier:
    """Return a plan of the rows as an earlier plan."""
    plan = planned(rows, at, **settings)
    return earlier_of(plan, Inputs(rows=tuple(rows), room=at), History(), released, pinned)


def after(earlier: Earlier, rows: Sequence[Row], at: Room | None = None, **options: Any) -> Revision:
    """Return a revision for other rows that holds and leaves what stands as its file states it."""
    room = earlier.inputs.room if at is None else at
    chosen = Options(**{"work_limit": WORK, **options})
    return checked(revised(earlier, compared(earlier, rows, room), room, chosen))


def checked(revision: Revision) -> Revision:
    """Return a revision after checking it."""
    inputs = revision.inputs
    found = check_plan(
        revision.plan, inputs.rows, inputs.room, use_reserve=inputs.use_reserve, standing=inputs.standing
    )
    assert found == ()
    was, now = ({s["id"]: s for s in plan_to_json(plan)["sheets"]} for plan in (revision.earlier.plan, revision.plan))
    for name in revision.earlier.standing:
        assert now[name] == was[name]
    return revision


def next_of(revision: Revision, released: Iterable[str] = (), pinned: Iterable[str] = ()) -> Earlier:
    """Return a revision as the earlier plan of the next."""
    return earlier_of(revision.plan, revision.inputs, revision.history, released, pinned)
