"""Labels as a browser draws and prints them: text inside its cell and beside nothing else, pages at real size."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from nest.output.labels.grid import LabelGrid
from nest.output.labels.pages import label_pages, labels_html, labels_svg
from tests.output import sample_plans as samples
from tests.output.browsing import Seen, opened

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from nest.domain.plan import Plan
    from nest.output.labels.pages import LabelPage

GRIDS = (
    LabelGrid(columns=3, rows=8),
    LabelGrid(columns=1, rows=3),
    LabelGrid(columns=10, rows=20, paper=(210.0, 297.0)),
    LabelGrid(columns=2, rows=4, cell=(99.1, 67.7), margin=(4.65, 13.1), gap=(2.5, 0.0)),
)
MEASURE = """() => [...document.querySelectorAll('svg g')].map(cell => {
  const mm = 96 / 25.4, box = node => {
    const r = node.getBoundingClientRect();
    return [r.left / mm, r.top / mm, r.right / mm, r.bottom / mm];
  };
  return {edge: box(cell.querySelector('rect')), texts: [...cell.querySelectorAll('text')].map(box),
          arrow: box(cell.querySelector('polygon'))};
})"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with opened() as browser:
        yield browser


def pages_of(plan: Plan, grid: LabelGrid, **more: Any) -> tuple[LabelPage, ...]:
    return label_pages(plan, samples.room(), samples.rows_of(plan), grid, "abcd1234", **more)


def test_pieces_come_first_and_plates_start_a_page_of_their_own() -> None:
    plan = samples.week()
    made = pages_of(plan, GRIDS[0], start=23)
    assert [(one.number, one.title) for one in made][-1] == (5, "Plate labels")
    # 73 pieces: 2 on the page begun, then 24, 24, 23
    assert [len(one.cells) for one in made] == [2, 24, 24, 23, 6]
    assert made[0].cells[0].box == GRIDS[0].box(22)
    assert made[-1].cells[0].box == GRIDS[0].box(0)
    assert [one.title for one in pages_of(plan, GRIDS[0], pieces=False)] == ["Plate labels"]


def test_a_start_outside_the_grid_is_refused() -> None:
    with pytest.raises(ValueError, match="a page has labels 1 to 24; got 25"):
        pages_of(samples.small(), GRIDS[0], start=25)


@pytest.mark.parametrize("font", ["sans-serif", "DejaVu Sans"])
@pytest.mark.parametrize("plan", [samples.week(), samples.hostile()])
@pytest.mark.parametrize("grid", GRIDS)
def test_text_stays_inside_its_label_and_touches_neither_text_nor_arrow(
    browser: Any, tmp_path: Path, grid: LabelGrid, plan: Plan, font: str
) -> None:
    path = tmp_path / "labels.html"
    text = labels_html(pages_of(plan, grid), "abcd1234", lines=True)
    path.write_text(text.replace('font-family="sans-serif"', f'font-family="{font}"'), encoding="utf-8")
    with Seen(browser, path) as seen:
        cells = seen.page.evaluate(MEASURE)
        assert seen.asked == [path.as_uri()]
        assert seen.told == []
    assert len(cells) == plan.totals.pieces + plan.totals.plates
    for cell in cells:
        left, top, right, bottom = cell["edge"]
        texts = cell["texts"]
        assert len(texts) >= 2
        for at, (x0, y0, x1, y1) in enumerate(texts):
            assert x0 >= left
            assert y0 >= top
            assert x1 <= right
            assert y1 <= bottom
            assert x0 >= cell["arrow"][2] - 0.01
            # browsers round the height of a font to whole pixels, 0.26 mm
            assert all(y1 <= other[1] + 0.3 for other in texts[at + 1 :])


def test_pages_print_at_real_size_on_their_own_paper(browser: Any, tmp_path: Path) -> None:
    for grid in (GRIDS[0], LabelGrid(columns=2, rows=2, paper=(100.0, 150.0))):
        pages = pages_of(samples.small(), grid)
        path = tmp_path / "labels.html"
        path.write_text(labels_html(pages, "key", lines=False), encoding="utf-8")
        with Seen(browser, path) as seen:
            assert seen.pdf_pages() == len(pages)
            pdf = seen.page.pdf(prefer_css_page_size=True)
        boxes = re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", pdf)
        assert boxes
        for w, h in boxes:
            # a browser rounds a page to whole pixels
            assert float(w) * 25.4 / 72 == pytest.approx(grid.paper[0], abs=0.2)
            assert float(h) * 25.4 / 72 == pytest.approx(grid.paper[1], abs=0.2)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_screen_reader_meets_no_serious_fault(browser: Any, tmp_path: Path, scheme: str) -> None:
    path = tmp_path / "labels.html"
    path.write_text(labels_html(pages_of(samples.hostile(), GRIDS[0]), "key", lines=True), encoding="utf-8")
    with Seen(browser, path, color_scheme=scheme) as seen:
        assert seen.faults() == []


def test_each_page_is_a_drawing_of_its_own_in_mm() -> None:
    files = labels_svg(pages_of(samples.hostile(), GRIDS[0]), lines=False)
    assert list(files) == ["labels-01.svg", "labels-02.svg"]
    for text in files.values():
        assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>\n<svg ')
        assert 'width="210.0mm" height="297.0mm" viewBox="0 0 210.0 297.0"' in text
        assert "<script>" not in text
