from __future__ import annotations

import pytest

from nest.output.labels.grid import LabelGrid
from nest.output.paper_sizes import PAPERS


def test_a_grid_fills_its_paper_inside_margins_and_gaps() -> None:
    # (210 - 2 x 6 - 2 x 3) / 3 = 64; (297 - 2 x 8.5) / 7 = 40
    grid = LabelGrid(columns=3, rows=7, margin=(6.0, 8.5), gap=(3.0, 0.0))
    assert grid.size == pytest.approx((64.0, 40.0))
    assert grid.per_page == 21
    box = grid.box(20)
    assert (box.x, box.y) == pytest.approx((6 + 2 * 67, 8.5 + 6 * 40))
    assert box.x + box.w == pytest.approx(210 - 6)
    assert box.y + box.h == pytest.approx(297 - 8.5)


def test_labels_are_counted_along_the_rows() -> None:
    grid = LabelGrid(columns=2, rows=3)
    assert [(grid.box(n).x, grid.box(n).y) for n in range(4)] == [(0.0, 0.0), (105.0, 0.0), (0.0, 99.0), (105.0, 99.0)]


def test_a_stated_cell_is_kept_and_may_just_fit() -> None:
    # common label stock: 3 x 63.5 and 2 gaps of 2.5 from a margin of 7.25 end 7.25 before the edge
    grid = LabelGrid(columns=3, rows=7, cell=(63.5, 38.1), margin=(7.25, 15.15), gap=(2.5, 0.0))
    assert grid.size == (63.5, 38.1)
    assert LabelGrid(columns=3, rows=8, cell=(70.0, 37.125)).box(23).w == 70.0


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"cell": (80.0, 30.0)},
         "3 labels with their gaps are 240.0 mm wide; the paper has 210.0 mm from its margin on"),
        ({"cell": (70.0, 37.0), "margin": (0.0, 10.0)},
         "8 labels with their gaps are 296.0 mm high; the paper has 287.0 mm from its margin on"),
        ({"columns": 12}, "labels would be 17.5 mm wide; they must be at least 20 mm wide"),
        ({"rows": 40}, "labels would be 7.4 mm high; they must be at least 10 mm high"),
        ({"margin": (110.0, 0.0)}, "labels would be -3.3 mm wide; they must be at least 20 mm wide"),
    ],
)  # fmt: skip
def test_a_grid_that_cannot_be_printed_says_why(changes: dict[str, object], message: str) -> None:
    values: dict[str, object] = {"columns": 3, "rows": 8, **changes}
    with pytest.raises(ValueError, match=message):
        LabelGrid(**values)  # type: ignore[arg-type]


def test_papers_are_those_of_the_standards() -> None:
    # ISO 216: A4 210 x 297, each size half of the next; Letter is 8 1/2 x 11 in (ANSI/ASME Y14.1, size A)
    assert PAPERS["A4"] == (210.0, 297.0)
    assert PAPERS["A3"] == (297.0, 2 * 210.0)
    assert PAPERS["A5"] == (148.0, 210.0)
    assert PAPERS["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))
