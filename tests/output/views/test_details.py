from __future__ import annotations

from collections import Counter

import pytest

from nest.domain.plan import Edge, Rect, Source, SourceKind
from nest.output.guide import View, drawn_guides
from nest.output.views.details import clipped, windows
from nest.output.views.facing import Side
from tests.output import sample_plans as samples


def test_a_crowded_plate_gets_details_that_show_what_is_missing_larger() -> None:
    items: list[samples.Item] = [("J-1", "Spot", "", 16.0, 13.0, 0)]
    copies: Counter[tuple[str, str, str]] = Counter()
    plate = samples.shelves("S04-A", Rect(x=0.0, y=0.0, w=1000.0, h=1000.0), Edge.Y0, [
        [("J-0", "Solid", "", 900.0, 800.0, 0)], *[items * 9 for _ in range(9)],
    ], copies)  # fmt: skip
    kind = Source(kind=SourceKind.SHEET, ref="HB170")
    plan = samples.plan_of([samples.sheet("S04", kind, "HB170", 1000.0, 1000.0, 9.0, [plate])])
    (guide,) = drawn_guides(plan, samples.room(), samples.rows_of(plan), views=[View.FINISH], sides=[Side.PRINT])
    main = guide.pages[0]
    details = [page for page in guide.pages if "detail" in page.title]
    assert details
    assert all(page.k < main.k / 2 for page in details)
    letters = {mark.words for mark in guide.canvas.marks if mark.layer == "details" and mark.shape == "text"}
    assert letters == {page.title.split("detail ")[1][0] for page in details}
    # Every number is somewhere: on the whole drawing or on a detail.
    told = {mark.words.split(" ")[0] for mark in guide.canvas.marks if mark.layer == "labels" and mark.shape == "text"}
    assert {str(number) for number in range(1, 83)} <= told
    cuts = {mark.words for mark in guide.canvas.marks if mark.layer == "cut-numbers" and mark.shape == "text"}
    assert cuts == {str(cut.order) for cut in plan.sheets[0].cuts}


def test_nothing_missing_needs_no_detail() -> None:
    sheet = samples.small().sheets[0]
    assert windows(sheet, [], ([], []), 5.0, (297.0, 420.0)) == []


@pytest.mark.parametrize(
    ("rect", "part"),
    [
        (Rect(x=0, y=0, w=10, h=10), None),
        (Rect(x=90, y=90, w=20, h=20), Rect(x=0, y=0, w=10, h=10)),
        (Rect(x=120, y=110, w=10, h=10), Rect(x=20, y=10, w=10, h=10)),
        (Rect(x=0, y=0, w=500, h=500), Rect(x=0, y=0, w=100, h=50)),
    ],
)
def test_a_part_is_what_lies_in_the_window(rect: Rect, part: Rect | None) -> None:
    assert clipped(rect, Rect(x=100, y=100, w=100, h=50)) == part
