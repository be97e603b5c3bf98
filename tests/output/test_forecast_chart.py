"""The forecast's drawing: on its page, nothing over anything, heights in proportion, readable without colour."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from datetime import date, timedelta

import pytest

from nest.domain.forecast import Band, ForecastSheet, SizeForecast
from nest.output.forecast_chart import DARK, LIGHT, PAST, TALL, WIDE, forecast_charts, nice_step
from nest.output.text_fit import text_width

SVG = "{http://www.w3.org/2000/svg}"
MONDAY = date(2027, 3, 1)


def band(mean: float, low90: int, low50: int, high50: int, high90: int) -> Band:
    return Band(mean=mean, low90=low90, low50=low50, high50=high50, high90=high90)


def sheet(
    sizes: int = 3, past: int = 26, weeks: int = 13, *, most: int = 8, name: str = "QF170 900x1200"
) -> ForecastSheet:
    one = tuple(
        SizeForecast(
            size=f"{name} {n}" if n else name, past=tuple(k % (most + 1) for k in range(past)), past_error=0.2,
            weeks=(band(3.5, 1, 2, 4, most),) * weeks, upto=tuple(band(3.5 * k, k, 2 * k, 4 * k, 5 * k)
                                                                  for k in range(1, weeks + 1)),
        )
        for n in range(sizes)
    )  # fmt: skip
    return ForecastSheet(
        past_weeks=tuple(MONDAY + timedelta(weeks=n - past) for n in range(past)),
        weeks=tuple(MONDAY + timedelta(weeks=n) for n in range(weeks)), sizes=one, paths=200,
    )  # fmt: skip


def texts(svg: str) -> list[tuple[str, float, float, float]]:
    """Return each text with its left end, right end and base line."""
    found = []
    for node in ET.fromstring(svg).iter(f"{SVG}text"):
        words, size = node.text or "", float(node.get("font-size", "0"))
        wide = text_width(words, size, bold=node.get("font-weight") == "bold")
        x, anchor = float(node.get("x", "0")), node.get("text-anchor", "start")
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        found.append((words, left, left + wide, float(node.get("y", "0"))))
    return found


@pytest.mark.parametrize(("past", "weeks", "most"), [(26, 13, 8), (4, 13, 1), (104, 26, 240), (0, 1, 30)])
def test_every_text_lies_on_the_page_and_on_no_other(past: int, weeks: int, most: int) -> None:
    (svg,) = forecast_charts(sheet(past=past, weeks=weeks, most=most)).values()
    found = texts(svg)
    assert all(0 <= left < right <= WIDE and 0 < base < TALL for _, left, right, base in found)
    for n, (_, left, right, base) in enumerate(found):
        for _, other_left, other_right, other in found[n + 1 :]:
            assert abs(base - other) > 2.0 or right < other_left or other_right < left


def test_sizes_fill_pages_of_three() -> None:
    assert list(forecast_charts(sheet(3))) == ["forecast.svg"]
    pages = forecast_charts(sheet(7))
    assert list(pages) == ["forecast.svg", "forecast-2.svg", "forecast-3.svg"]
    assert "page 2 of 3" in pages["forecast-2.svg"]
    root = ET.fromstring(pages["forecast-3.svg"])
    assert (root.get("width"), root.get("height")) == ("297mm", "210mm")


def test_bars_and_bands_are_in_proportion() -> None:
    (svg,) = forecast_charts(sheet(1, past=9, weeks=2)).values()
    rects = [
        (node.get("fill"), float(node.get("height", "0"))) for node in ET.fromstring(svg).iter(f"{SVG}rect")
        if node.get("stroke") == "none"
    ]  # fmt: skip
    bars = [height for fill, height in rects if fill == PAST]
    # 0 to 8 in turn; none is drawn for 0
    assert [round(height / bars[0], 3) for height in bars] == [1, 2, 3, 4, 5, 6, 7, 8]
    light = [height for fill, height in rects if fill == LIGHT]
    dark = [height for fill, height in rects if fill == DARK]
    # 1 to 8 and 2 to 4, half a millimetre more so that a band of one number shows
    assert light == pytest.approx([7 * bars[0] + 0.5] * 2, abs=1e-3)
    assert dark == pytest.approx([2 * bars[0] + 0.5] * 2, abs=1e-3)


def test_names_of_other_peoples_making_stay_text() -> None:
    (svg,) = forecast_charts(sheet(1, name="<b>&\x07" + "very long " * 40)).values()
    assert any(words.startswith("<b>&") for words, *_ in texts(svg))


def test_axis_figures_are_few() -> None:
    for most in range(1, 500):
        assert most / nice_step(most) <= 5
