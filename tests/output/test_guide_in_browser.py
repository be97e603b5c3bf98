"""Guides measured as a browser draws them: no text over another, piece texts inside their piece, all on the page."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.room import Datum, Guides, Paper, Ruler, Unit
from nest.intake import read_week
from nest.output.guide import guides
from nest.pipeline import Settings, make_plan
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.plan import Plan

BROWSER = Path("/usr/bin/chromium")
# Two fonts a viewer may take for sans-serif; the second is among the widest common ones.
FONTS = ("sans-serif", "DejaVu Sans")
SCALE = 10
"""Pixels a millimetre: a browser rounds the height of a font to whole pixels."""
MEASURE = """(scale) => {
  const box = node => {
    const r = node.getBoundingClientRect();
    return [r.left, r.top, r.right, r.bottom].map(edge => edge / scale);
  };
  const told = node => ({
    words: node.textContent, kind: node.getAttribute('class') || '', layer: node.parentNode.id, box: box(node)
  });
  const texts = [...document.querySelectorAll('svg text')].map(told);
  const shapes = {};
  for (const node of document.querySelectorAll('rect[id*=piece-], rect[id*=rest-], rect[id$=sheet-outline]'))
    shapes[node.id] = box(node);
  return {texts, shapes};
}"""
Box = tuple[float, float, float, float]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    api = pytest.importorskip("playwright.sync_api")
    if not BROWSER.exists():
        pytest.skip("no headless browser here")
    flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with api.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=str(BROWSER), args=flags)
        yield opened
        opened.close()


def measured(browser: Any, text: str, font: str) -> tuple[dict[str, Any], float, float]:
    found = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', text)
    assert found is not None
    w, h = float(found[1]), float(found[2])
    text = re.sub(r'width="[\d.]+mm"', f'width="{w * SCALE}px"', text)
    text = re.sub(r'height="[\d.]+mm"', f'height="{h * SCALE}px"', text)
    text = text.replace('font-family="sans-serif"', f'font-family="{font}"')
    page = browser.new_page(viewport={"width": 1000, "height": 1000})
    page.set_content(f'<body style="margin:0">{text[text.index("<svg") :]}</body>')
    result = page.evaluate(MEASURE, SCALE)
    page.close()
    return result, w, h


def overlap(one: Box, other: Box) -> float:
    """Least depth by which two boxes lie over each other, mm."""
    return min(min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1]))


def inside(box: Box, outer: Box) -> bool:
    """Whether a box lies in another, within 0.02 mm."""
    return (
        box[0] >= outer[0] - 0.02 and box[1] >= outer[1] - 0.02
        and box[2] <= outer[2] + 0.02 and box[3] <= outer[3] + 0.02
    )  # fmt: skip


def check_texts(name: str, result: dict[str, Any], w: float, h: float) -> None:
    """Check that no text lies over another or leaves the page, and that texts of pieces stay in their piece."""
    texts = sorted(result["texts"], key=lambda item: item["box"][0])
    assert len(texts) > 20
    outlines = [tuple(box) for key, box in result["shapes"].items() if key.endswith("sheet-outline")]
    for index, one in enumerate(texts):
        box = tuple(one["box"])
        assert inside(box, (0.0, 0.0, w, h)), (name, one)
        for other in texts[index + 1 :]:
            if other["box"][0] >= box[2]:
                break
            assert overlap(box, tuple(other["box"])) < 0.02, (name, one, other)
        if one["kind"].startswith("piece-"):
            pieces = [
                tuple(shape) for key, shape in result["shapes"].items()
                if key == one["kind"] or key.endswith(f"-{one['kind']}")
            ]  # fmt: skip
            assert any(inside(box, piece) for piece in pieces), (name, one, pieces)
        elif one["layer"] in ("title-block", "references"):
            assert all(overlap(box, outline) < 0.02 for outline in outlines), (name, one)


@cache
def made(plan: Plan) -> dict[str, str]:
    """The guides of a sample, drawn once for both fonts."""
    return guides(plan, samples.room(), samples.rows_of(plan))


@pytest.mark.parametrize("font", FONTS)
@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile(), samples.extreme()])
def test_text_overlaps_nothing_and_stays_where_it_belongs(browser: Any, plan: Plan, font: str) -> None:
    for name, text in made(plan).items():
        check_texts(name, *measured(browser, text, font))


@pytest.mark.parametrize("paper", [Paper.A4, Paper.LETTER])
def test_text_keeps_clear_on_small_paper_and_in_inches_with_fractions(browser: Any, paper: Paper) -> None:
    plan, room = samples.week(), samples.room(Unit.INCH)
    drawn = Guides(datum=Datum.TOP_RIGHT, ruler=Ruler.PRINT_SIDE, fractions=32, paper=paper)
    for name, text in guides(plan, replace(room, guides=drawn), samples.rows_of(plan)).items():
        check_texts(name, *measured(browser, text, FONTS[1]))


def planned_weeks() -> list[Any]:
    """The demo, and weeks at hand beside the project, which take longer to plan, as folders of their two files."""
    here = Path(__file__).resolve()
    weeks = next((top / "shared/bench/weeks" for top in here.parents if (top / "shared/bench/weeks").is_dir()), here)
    found = [weeks / name for name in ("rules-11", "inches-11") if (weeks / name / "jobs.csv").is_file()]
    demo = here.parents[2] / "nest" / "demo_week"
    return [demo, *(pytest.param(week, marks=pytest.mark.slow) for week in found)]


@pytest.mark.parametrize("week", planned_weeks(), ids=lambda path: path.name)
def test_texts_of_every_guide_of_a_planned_week_keep_clear(browser: Any, week: Path) -> None:
    rows, room = read_week(week / "jobs.csv", week / "room.toml")
    plan = make_plan(rows, room, Settings(work_limit=60)).plan
    made = guides(plan, room, rows)
    assert len(made) >= 16
    for name, text in made.items():
        check_texts(name, *measured(browser, text, FONTS[0]))
