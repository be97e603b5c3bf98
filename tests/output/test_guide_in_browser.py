"""Guides measured as a browser draws them: no text over another, piece texts inside their piece, all on the page."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from nest.output.guide import guides
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
  for (const node of document.querySelectorAll('rect[id^=piece-], rect[id^=rest-], #sheet-outline'))
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


@pytest.mark.parametrize("font", FONTS)
@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile(), samples.extreme()])
def test_text_overlaps_nothing_and_stays_where_it_belongs(browser: Any, plan: Plan, font: str) -> None:
    for name, text in guides(plan, samples.room(), samples.rows_of(plan)).items():
        result, w, h = measured(browser, text, font)
        texts = sorted(result["texts"], key=lambda item: item["box"][0])
        assert len(texts) > 20
        for index, one in enumerate(texts):
            box = one["box"]
            assert box[0] >= -0.01, (name, one)
            assert box[1] >= -0.01, (name, one)
            assert box[2] <= w + 0.01, (name, one)
            assert box[3] <= h + 0.01, (name, one)
            for other in texts[index + 1 :]:
                if other["box"][0] >= box[2]:
                    break
                assert overlap(tuple(box), tuple(other["box"])) < 0.02, (name, one, other)
            if one["kind"].startswith("piece-"):
                piece = result["shapes"][one["kind"]]
                assert box[0] >= piece[0] - 0.02, (name, one, piece)
                assert box[1] >= piece[1] - 0.02, (name, one, piece)
                assert box[2] <= piece[2] + 0.02, (name, one, piece)
                assert box[3] <= piece[3] + 0.02, (name, one, piece)
            elif one["layer"] in ("title-block", "references"):
                assert overlap(tuple(box), tuple(result["shapes"]["sheet-outline"])) < 0.02, (name, one)


def test_every_piece_of_every_sample_has_a_text(browser: Any) -> None:
    for plan in (samples.week(), samples.extreme()):
        for text in guides(plan, samples.room(), samples.rows_of(plan)).values():
            result, _, _ = measured(browser, text, FONTS[0])
            pieces = {key for key in result["shapes"] if key.startswith("piece-")}
            assert pieces
            assert {item["kind"] for item in result["texts"] if item["kind"]} == pieces
