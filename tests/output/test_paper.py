from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from nest.domain.room import Paper
from nest.output.panels import Block, Cell, check_block, line_of, paragraphs, table
from nest.output.paper import MARGIN, PAPERS, Lanes, lay_out

LANES = Lanes(left=9.0, right=4.0, top=4.0, bottom=9.0)
HEAD = 16.0


def blocks_of(rows: int) -> list[Block]:
    lines = [[str(row), "2417", "Reflex blue", "304.91"] for row in range(rows)]
    return [
        paragraphs("Caution", ["Hands clear of the blade, guards in place."] * 3, 90.0),
        check_block(1.0),
        table("Pieces", ["No", "job", "separation", "around"], lines, right=frozenset((0, 3))),
    ]


@settings(deadline=None, max_examples=60)
@example(w=285.0, h=155.0, rows=1, paper=Paper.A3)
@given(w=st.floats(50, 2100), h=st.floats(50, 2100), rows=st.integers(1, 400), paper=st.sampled_from(Paper))
def test_everything_is_on_some_page_inside_its_margins_and_clear_of_the_drawing(
    w: float, h: float, rows: int, paper: Paper
) -> None:
    blocks = blocks_of(rows)
    made = lay_out(w, h, LANES, blocks, paper, HEAD, 1)
    assert sorted((made.w, made.h)) == sorted(PAPERS[paper])
    assert made.k >= 1.0
    right, low = made.left + w / made.k + LANES.right, made.top + h / made.k + LANES.bottom
    assert right <= made.w - MARGIN + 1e-6
    assert low <= made.h - MARGIN + 1e-6
    words = []
    for number, page in enumerate(made.pages):
        for column in page:
            lowest = column.y + max(item.y + item.line.height for item in column.lines)
            assert column.x + column.w <= made.w - MARGIN + 1e-6
            assert lowest <= made.h - MARGIN + 1e-6
            if number == 0:
                assert column.x >= right or column.y >= low
            words += [cell.words for item in column.lines for cell in item.line.cells]
    for block in blocks:
        if block.title != "Check the scale":
            assert all(cell.words in words for line in block.lines for cell in line.cells)
    assert words.count("Reflex blue") == rows


def test_a_long_table_repeats_its_head_and_goes_on_another_page() -> None:
    made = lay_out(900.0, 1200.0, LANES, blocks_of(400), Paper.A4, HEAD, 1)
    assert len(made.pages) > 1
    heads = [item for page in made.pages for column in page for item in column.lines if item.line.rule]
    assert len(heads) >= 3


def test_a_short_table_leaves_the_drawing_on_one_page_and_large() -> None:
    made = lay_out(900.0, 1200.0, LANES, blocks_of(5), Paper.A3, HEAD, 1)
    assert len(made.pages) == 1
    # Upright the drawing alone may be 281 - 13 wide, level 281 - 16 - 13 high.
    assert made.k == pytest.approx(min(max(900 / 268, 1200 / 375), max(900 / 391, 1200 / 252)), rel=0.45)


def test_a_drawing_that_fits_is_not_reduced() -> None:
    assert lay_out(150.0, 120.0, LANES, blocks_of(3), Paper.A3, HEAD, 1).k == 1.0


def test_a_block_that_is_wider_than_the_page_still_stands_on_one() -> None:
    wide = Block(title="Wide", lines=(line_of(4.0, Cell(x=0.0, words="w" * 400)),))
    made = lay_out(900.0, 1200.0, LANES, [wide], Paper.A4, HEAD, 0)
    assert sum(len(page) for page in made.pages) == 1
