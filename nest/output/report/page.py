"""The report: one page for planner, operator and buyer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.room import Unit
from nest.output.batches import calendar_view
from nest.output.guide import plan_key
from nest.output.pages.shell import page
from nest.output.patterns import patterns
from nest.output.report.attention import attention
from nest.output.report.free_areas import free_areas
from nest.output.report.inputs import ReportInputs
from nest.output.report.jobs import jobs_of
from nest.output.report.layouts import layouts
from nest.output.report.spending import spending, wastes
from nest.output.report.store_list import EXPIRY_DAYS, pick_list, put_back, store_after
from nest.output.split_sets import split_sets
from nest.output.summary import STOPPED, bound_words
from nest.output.words import percent

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.job import Row
    from nest.domain.plan import JobShare, OtherSize, Plan
    from nest.domain.room import Room

NAME = "report.html"


def report_page(
    plan: Plan,
    room: Room,
    rows: Sequence[Row],
    shares: Sequence[JobShare],
    others: Mapping[str, tuple[OtherSize, ...]] | None = None,
    places: Mapping[str, str] | None = None,
) -> str:
    """Return the report as one HTML page that fetches nothing; the same plan always gives the same bytes.

    Parameters
    ----------
    plan, room, rows, shares
        The plan, what it was made from, and what each job costs.
    others
        What each sheet's pieces would cost on other sizes, by sheet id; None leaves that line out.
    places
        Where stock lies, by the id of its line, as far as it is known.
    """
    inputs = ReportInputs(
        plan=plan, room=room, rows=tuple(rows), shares=tuple(shares), drawn=patterns(plan), others=others
    )
    jobs = jobs_of(plan, inputs.rows, inputs.shares, inputs.drawn)
    totals = plan.totals
    return page(
        "report.html",
        ("page.css", "report.css"),
        ("page.js", "report.js"),
        title="Report of the plan",
        key=plan_key(plan),
        currency=plan.currency,
        unit=room.unit.value,
        inches=room.unit is Unit.INCH,
        totals=totals,
        bound=bound_words(plan),
        stopped=STOPPED[plan.stopped_by],
        proof=plan.proof,
        per_m2=totals.cost / totals.area.image if totals.area.image > 0 else None,
        yields=tuple(percent(value) for value in (totals.yields.gross, totals.yields.image, totals.yields.credited)),
        top=attention(plan, room, inputs.rows),
        picks=pick_list(plan, room, places or {}),
        back=put_back(plan, room),
        layouts=layouts(inputs, {job.job: job.key for job in jobs}),
        parts=spending(plan),
        jobs=jobs,
        borne=sum(share.share for share in inputs.shares),
        free=free_areas(inputs.drawn, room),
        calendar=calendar_view(plan),
        splits=split_sets(plan, room, inputs.rows),
        store=store_after(plan, room, inputs.rows),
        wastes=wastes(plan),
        days=EXPIRY_DAYS,
    )
