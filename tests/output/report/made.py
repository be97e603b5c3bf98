"""A sample plan as the report takes it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from nest.domain.plan import OtherSize, SourceKind
from nest.domain.room import Offcut, Sheet
from nest.output.report.page import report_page
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.domain.plan import Plan
    from nest.domain.room import Room


def room() -> Room:
    """The samples' room with a store behind it."""
    sheets = (
        Sheet(id="HB170 900x1200", material="HB170", across_mm=900.0, around_mm=1200.0, price=86.4, on_hand=6,
              keep_back=4, per_box=10, delivery_days=5, lot="H-1102", expiry=date(2027, 5, 4)),
        Sheet(id="KR284 1067x1524", material="KR284", across_mm=1067.0, around_mm=1524.0, price=151.2),
        Sheet(id="KR284 900x1200", material="KR284", across_mm=900.0, around_mm=1200.0, price=99.0, on_hand=2,
              lot="K-0420", expiry=date(2027, 5, 5)),
    )
    offcuts = (
        Offcut(id="F-0031", material="HB170", across_mm=410.0, around_mm=880.0, value=18.0),
        Offcut(id="F-0032", material="HB170", across_mm=300.0, around_mm=700.0, value=9.0, lot="H-1099",
               expiry=date(2027, 2, 1)),
    )
    return replace(samples.room(), sheets=sheets, offcuts=offcuts)


def others(plan: Plan) -> dict[str, tuple[OtherSize, ...]]:
    """Another size for the first sheet, none for the others."""
    one = OtherSize(kind=SourceKind.SHEET, ref="HB170 1000x1200", across_mm=1000.0, around_mm=1200.0, sheets=2,
                    cost=250.0)  # fmt: skip
    return {sheet.id: (one,) if number == 0 else () for number, sheet in enumerate(plan.sheets)}


def report(plan: Plan) -> str:
    """The whole page of a plan; the first row is due and one is late."""
    rows = samples.rows_of(plan)
    if rows:
        rows[0] = replace(rows[0], due=datetime(2027, 3, 5), ready=datetime(2027, 3, 6, 12), repeat_mm=304.8)
    return report_page(plan, room(), rows, samples.shares_of(plan), others(plan))
