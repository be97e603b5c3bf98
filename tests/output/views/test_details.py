from __future__ import annotations

import pytest

from nest.domain.plan import Rect
from nest.output.guide import View, drawn_guides
from nest.output.views.details import clipped, windows
from nest.output.views.facing import Side
from tests.output import sample_plans as samples


def test_a_crowded_plate_gets_details_that_show_what_is_missing_larger() -> None:
    plan = samples.extreme()
    (guide,) = drawn_guides(plan, samples.room(), samples.rows_of(plan), views=[View.FINISH], sheets=["S04"],
                            sides=[Side.PRINT])  # fmt: skip
    main = guide.pages[0]
    details = [page for page in guide.pages if "detail" in page.title]
    assert details
    assert all(page.k < main.k / 2 for page in details)
    letters = {mark.words for mark in guide.canvas.marks if mark.layer == "details" and mark.shape == "text"}
    assert letters == {page.title.split("detail ")[1][0] for page in details}


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
