"""PDF read back by an independent reader (pdfium): sizes of pages and lengths of lines as a printer would draw them."""

from __future__ import annotations

import builtins
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from nest.domain.room import Paper
from nest.errors import MissingExtra, OutputError
from nest.output.guide import View, drawn_guides
from nest.output.paper import PAPERS
from nest.output.pdf import Size, pdf_bytes
from nest.output.pdf_fonts import runs
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.output.guide import Guide

pdfium = pytest.importorskip("pypdfium2")
pytest.importorskip("reportlab")
PX_PER_MM = 20.0
"""Resolution pages are looked at with: one pixel is 0.05 mm."""


def guides(view: View | None = None, paper: Paper = Paper.A3, sample: str = "small") -> list[Guide]:
    plan, room = getattr(samples, sample)(), samples.room()
    room = replace(room, guides=replace(room.guides, paper=paper))
    return drawn_guides(plan, room, samples.rows_of(plan), views=tuple(View) if view is None else [view])


def size_mm(page: Any) -> tuple[float, float]:
    w, h = page.get_size()
    return w / 72 * 25.4, h / 72 * 25.4


def dark(page: Any, left_mm: float, low_mm: float, w_mm: float, h_mm: float) -> Any:
    """Dark pixels of a part of a page, measured in mm from its lower left corner."""
    whole = size_mm(page)
    crop = tuple(mm / 25.4 * 72 for mm in (left_mm, low_mm, whole[0] - left_mm - w_mm, whole[1] - low_mm - h_mm))
    image = page.render(scale=PX_PER_MM * 25.4 / 72, crop=crop, grayscale=True).to_numpy()
    return image.reshape(*image.shape[:2], -1)[..., 0] < 128


def longest_dark_run(page: Any, *part: float) -> float:
    """Length in mm of the longest level run of dark pixels in a part of a page."""
    edges = np.diff(np.pad(dark(page, *part).astype(np.int8), ((0, 0), (1, 1))), axis=1)
    starts, ends = np.nonzero(edges == 1)[1], np.nonzero(edges == -1)[1]
    return float(max(ends - starts, default=0)) / PX_PER_MM


def between_ticks(page: Any) -> float:
    """Distance in mm of the middles of the two end ticks of the line at a page's foot, beneath the line itself."""
    columns = np.nonzero(dark(page, 5.0, 3.6, 106.0, 0.8).all(axis=0))[0]
    left, right = columns[columns < columns.mean()], columns[columns > columns.mean()]
    assert max(len(left), len(right)) < 0.4 * PX_PER_MM
    return float(right.mean() - left.mean()) / PX_PER_MM


@pytest.mark.parametrize("paper", Paper)
def test_pages_are_the_rooms_paper_and_every_one_has_a_100_mm_line(paper: Paper) -> None:
    made = guides(paper=paper)
    document = pdfium.PdfDocument(pdf_bytes(made, paper, Size.FIT))
    assert len(document) == sum(len(guide.pages) for guide in made)
    for page in document:
        assert sorted(size_mm(page)) == pytest.approx(sorted(PAPERS[paper]), abs=0.01)
        assert between_ticks(page) == pytest.approx(100.0, abs=0.2)


def test_at_full_size_the_sheet_and_its_check_lines_are_life_size() -> None:
    (guide,) = guides(View.RAW)
    document = pdfium.PdfDocument(pdf_bytes([guide], Paper.A3, Size.FULL))
    page, drawn = document[0], guide.pages[0]
    assert size_mm(page) == pytest.approx((drawn.box.w, drawn.box.h), abs=0.01)
    # The sheet of this sample is 420 mm across: its lower edge is the longest level line there.
    outline = next(mark for mark in guide.canvas.marks if mark.look.get("id") == "sheet-outline")
    x, y = outline.points[3]
    assert longest_dark_run(page, x - 5, drawn.box.h - y - 2, 430.0, 3.0) == pytest.approx(420.0, abs=0.9)
    check = next(mark for mark in guide.canvas.marks if mark.look.get("id") == "check-across")
    (x1, y1), _ = check.points
    assert longest_dark_run(page, x1 - 2, drawn.box.h - y1 - 0.3, 110.0, 0.6) == pytest.approx(100.0, abs=0.6)


def test_tiles_show_the_drawing_at_full_size_and_carry_a_100_mm_line() -> None:
    made = guides(View.FINISH)
    fit = pdfium.PdfDocument(pdf_bytes(made, Paper.A4, Size.FIT))
    document = pdfium.PdfDocument(pdf_bytes(made, Paper.A4, Size.TILES))
    assert len(document) > len(fit)
    titles = [entry.get_title() for entry in document.get_toc()]
    assert len(titles) == len(document)
    firsts = [title for title in titles if re.search(r"full size, row 1 of \d, column 1 of \d", title)]
    assert len(firsts) == 2
    for index, title in enumerate(titles):
        if "full size" in title:
            assert between_ticks(document[index]) == pytest.approx(100.0, abs=0.2)
            assert "CAUTION: blades cut" in document[index].get_textpage().get_text_bounded()


def test_cards_and_sheets_at_a_glance_are_never_tiled() -> None:
    for view in (View.SHEET, View.LOAD):
        made = guides(view, Paper.A4)
        document = pdfium.PdfDocument(pdf_bytes(made, Paper.A4, Size.TILES))
        assert len(document) == sum(len(guide.pages) for guide in made)


def test_text_can_be_searched_and_hostile_names_are_text() -> None:
    made = guides(View.SHEET, sample="hostile")
    words = "".join(page.get_textpage().get_text_bounded() for page in
                    pdfium.PdfDocument(pdf_bytes(made, Paper.A3, Size.FIT)))  # fmt: skip
    assert "<script>" in words
    assert "PRINT SIDE" in words


def test_the_same_guides_give_the_same_bytes() -> None:
    assert pdf_bytes(guides(), Paper.A3, Size.FIT) == pdf_bytes(guides(), Paper.A3, Size.FIT)


def test_signs_the_font_has_not_are_taken_from_elsewhere_or_replaced() -> None:
    pdf_bytes(guides(View.SHEET), Paper.A3, Size.FIT)
    assert runs("Cyan 12", bold=False) == [("Vera", "Cyan 12")]
    assert runs("Cyan", bold=True) == [("VeraBd", "Cyan")]
    # Unassigned: no font has it.
    assert "".join(words for _, words in runs("a\U000e0fffb", bold=False)) in ("a\ufffdb", "a?b")
    # Hebrew alef, bet, gimel are read from the right: drawn from left to right as gimel, bet, alef.
    drawn = runs("x \u05d0\u05d1\u05d2 y", bold=False)
    words = "".join(text for _, text in drawn)
    assert words in ("x \u05d2\u05d1\u05d0 y", "x \ufffd\ufffd\ufffd y", "x ??? y")


def test_a_page_larger_than_pdf_allows_is_refused_with_the_way_out() -> None:
    (guide,) = guides(View.RAW)
    page = guide.pages[0]
    huge = replace(guide, pages=(replace(page, box=replace(page.box, w=6000.0)),))
    with pytest.raises(OutputError, match="use --size tiles"):
        pdf_bytes([huge], Paper.A3, Size.FULL)


def test_without_the_library_the_error_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def gone(name: str, *more: Any, **named: Any) -> Any:
        if name.startswith("reportlab"):
            raise ModuleNotFoundError(name)
        return real(name, *more, **named)

    made = guides(View.SHEET)
    monkeypatch.setattr(builtins, "__import__", gone)
    with pytest.raises(MissingExtra, match=r"pip install '\.\[pdf\]'") as caught:
        pdf_bytes(made, Paper.A3, Size.FIT)
    assert caught.value.exit_code == 2
