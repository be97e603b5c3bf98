from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from nest.check.opinion import check_plan
from nest.domain.job import Need, Together
from nest.outlook.one_by_one import one_by_one
from nest.outlook.week import plan_week
from nest.packing.means import Methods
from nest.packing.problem import Solution
from nest.pipeline import Settings, make_plan
from tests.calendar.shop import MONDAY, calendar, dated_room, day
from tests.packing.shop import costs, plates, row, sheet
from tests.small_weeks import weeks

if TYPE_CHECKING:
    from datetime import datetime

    from nest.domain.calendar import Batch
    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room

QUICK = Settings(work_limit=20)
NOTHING = Methods(columns=False, dives=False, goals=False, neighbourhoods=False)
SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


def whole(plan: Plan) -> float:
    assert plan.calendar is not None
    return plan.totals.cost + plan.calendar.lateness + plan.calendar.opened


def test_each_batch_on_its_own_makes_what_is_approved_and_draws_what_the_others_left() -> None:
    at = dated_room(
        sheet(500, 1000, price=60.0), calendar=calendar(),
        costs=costs(offcut_value=0.5, cut=1.0),
    )
    rows = [row("Cyan", 500, 400), row("Black", 500, 500, ready=day(2))]
    chain = one_by_one(rows, at, QUICK, MONDAY)
    assert chain.figures is not None
    assert chain.figures.sheets == 2  # the second one is the rest of the first
    assert chain.sheets is not None
    (one,) = chain.sheets
    assert sorted(plate.batch for plate in one.plates) == ["2027-03-01 early", "2027-03-02 early"]
    # 60 and two cuts, less the strip of 500 x 100 that is left; the rest was credited and charged alike
    assert chain.figures.cost == 60 + 2 - 3


def test_a_batch_that_is_full_leaves_the_rest_to_the_next() -> None:
    at = dated_room(calendar=calendar(plates=1, late_per_day=24.0))
    rows = [row(f"C{n}", 300, 300, due=day(1 + n, 16)) for n in range(3)]
    chain = one_by_one(rows, at, QUICK, MONDAY)
    assert chain.sheets is not None
    assert chain.figures is not None
    made = {piece.separation: plate.batch for one in chain.sheets for plate in one.plates for piece in plate.pieces}
    assert made == {"C0": "2027-03-01 early", "C1": "2027-03-02 early", "C2": "2027-03-03 early"}
    assert chain.figures.lateness == 0.0


def test_a_set_lies_along_one_axis_over_all_batches() -> None:
    # across the sheet the first piece fits only turned, so the second has to turn too
    at = dated_room(sheet(300, 600, price=20.0), calendar=calendar())
    rows = [row("Cyan", 500, 200), row("Black", 250, 200, ready=day(2))]
    chain = one_by_one(rows, at, QUICK, MONDAY)
    assert chain.sheets is not None
    turns = {piece.turn % 180 for one in chain.sheets for plate in one.plates for piece in plate.pieces}
    assert turns == {90}


def test_pieces_never_made_leave_no_figures() -> None:
    at = dated_room(calendar=calendar())
    assert one_by_one([row("Cyan", 900, 900)], at, QUICK, MONDAY).figures is None


def test_planning_the_week_whole_is_told_beside_each_batch_on_its_own_and_never_dearer() -> None:
    at = dated_room(calendar=calendar())
    rows = [row(f"C{n}", 240, 240, ready=day(1 + n), due=day(5)) for n in range(4)]
    plan = plan_week(rows, at, QUICK).plan
    assert plan.calendar is not None
    own = plan.calendar.one_by_one
    assert own is not None
    assert (own.sheets, own.plates) == (4, 4)
    assert len(plates(plan)) == 1
    assert own.cost == 100.0
    assert plan.totals.cost == 25.0


def test_a_rival_that_is_cheaper_is_the_plan() -> None:
    from nest.pipeline import Rival

    at = dated_room(
        sheet(600, 600, price=30.0), sheet(500, 800, price=33.0), calendar=calendar(),
        costs=costs(plate=5.0, process_per_m2=20.0, cut=1.0, offcut_value=0.5),
    )  # fmt: skip
    rows = [row(f"C{n}", 110 + 37 * n % 190, 90 + 53 * n % 270, due=day(5), ready=day(1 + n % 2)) for n in range(40)]
    good = make_plan(rows, at, Settings(work_limit=3000)).plan
    poor = make_plan(rows, at, Settings(work_limit=1, methods=NOTHING)).plan
    assert good.totals.cost < poor.totals.cost
    taken = make_plan(rows, at, Settings(work_limit=1, methods=NOTHING), rival=Rival(sheets=good.sheets, figures=None))
    assert taken.plan.totals.cost == good.totals.cost
    kept = make_plan(rows, at, Settings(work_limit=3000), rival=Rival(sheets=poor.sheets, figures=None))
    assert kept.plan.totals.cost == good.totals.cost


def test_without_a_calendar_or_dates_the_week_is_planned_plainly() -> None:
    at = dated_room(calendar=calendar())
    rows = [row(f"C{n}", 140, 240) for n in range(4)]
    assert plan_week(rows, replace(at, calendar=None), QUICK).plan == make_plan(
        rows, replace(at, calendar=None), QUICK
    ).plan
    dated = plan_week(rows, at, replace(QUICK, first_day=MONDAY)).plan
    assert dated == make_plan(rows, at, replace(QUICK, first_day=MONDAY)).plan
    assert dated.calendar is not None
    assert dated.calendar.one_by_one is None


@st.composite
def dated_weeks(draw: st.DrawFn) -> tuple[tuple[Row, ...], Room]:
    """Return a random small week with dates and a calendar, its jobs whole in one batch now and then."""
    rows, at = draw(weeks())
    ready = st.sampled_from((None, day(1), day(1, 12), day(2), day(3)))
    out = []
    for one in rows:
        start = draw(ready)
        due = draw(st.sampled_from((None, day(1), day(2, 15), day(3), day(4), day(8))))
        if start is not None and due is not None and due < start:
            due = None
        out.append(replace(one, ready=start, due=due))
    limit = draw(st.sampled_from((None, None, 1, 2, 4)))
    late, run = draw(st.sampled_from((0.0, 5.0, 50.0))), draw(st.sampled_from((0.0, 0.0, 9.0)))
    return tuple(out), replace(at, calendar=calendar(plates=limit, late_per_day=late, per_batch=run))


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=SLOW,
          phases=(Phase.explicit, Phase.generate))  # fmt: skip
@given(dated_weeks())
def test_every_dated_week_keeps_every_rule_and_is_never_dearer_than_batch_by_batch(
    week: tuple[tuple[Row, ...], Room],
) -> None:
    rows, at = week
    plan = plan_week(rows, at, Settings(work_limit=8)).plan
    assert check_plan(plan, rows, at) == ()
    if plan.calendar is None:
        return
    for sheet_ in plan.sheets:
        for plate in sheet_.plates:
            # a job made in one batch may need more plates than any batch holds
            assert plate.batch or any("no batch of the calendar has room" in text for text in plan.warnings)
    assert all(batch.start >= ready for batch, ready in _moments(rows, plan))
    own = plan.calendar.one_by_one
    joined = not any(one.need is Need.FILL for one in rows) and own is not None
    complete = not any(one.need is Need.MUST for one in plan.unplaced)
    if joined and own is not None and complete and not any(one.together is Together.LOT for one in rows):
        assert whole(plan) <= own.cost + own.lateness + own.opened + 0.05


def _moments(rows: tuple[Row, ...], plan: Plan) -> list[tuple[Batch, datetime]]:
    assert plan.calendar is not None
    batches = {batch.id: batch for batch in plan.calendar.batches}
    ready = {one.key: one.ready for one in rows}
    return [
        (batches[plate.batch], moment)
        for one in plan.sheets for plate in one.plates for piece in plate.pieces
        if (moment := ready[piece.row]) is not None and plate.batch
    ]  # fmt: skip


def test_a_rival_that_places_all_is_taken_whatever_was_left_over() -> None:
    from nest.domain.plan import StoppedBy
    from nest.pipeline import Found, Rival, Task
    from nest.plates.pieces import piece_of
    from nest.works import prepare

    at = dated_room(calendar=calendar())
    rows = [row("Cyan", 240, 240, due=day(5))]
    good = make_plan(rows, at, QUICK).plan
    pieces = tuple(piece_of(one, at) for one in rows)
    work = prepare(at, rows[0].material, pieces)
    nothing = Solution(bins=(), left=(0,), axes=(), lots=(), bound=0.0, proof="", work=0)
    task = Task(room=at, pieces=pieces, settings=QUICK, first=MONDAY)
    empty = Found(works=[work], solved=[nothing], reason=StoppedBy.WORK_LIMIT, sheets=(), cost=0.0)
    taken = empty.against(Rival(sheets=good.sheets, figures=None), task)
    assert taken.sheets == good.sheets
    assert [one.left for one in taken.solved] == [()]
