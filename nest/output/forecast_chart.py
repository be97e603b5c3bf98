"""The forecast as a drawing for the wall: A4 landscape, a panel for each size, black on white.

Left the past weeks as bars, right the coming ones: light where nine futures in ten lie, darker where half of them do, a
dash at the mean. Meaning is told by form and words too, so that any printer and copier will do.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from nest.output.drawing import Canvas
from nest.output.text_fit import Box, shortened
from nest.output.words import counted, one_line

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.domain.forecast import Band, ForecastSheet, SizeForecast

WIDE, TALL = 297.0, 210.0
"""A4 landscape (ISO 216), mm."""
RIM = 12.0
PANELS = 3
"""Panels on a page."""
HEAD, FOOT, GAP = 16.0, 12.0, 8.0
SIDE = 46.0
"""Width of the words right of a panel."""
AXIS, UNDER = 10.0, 6.0
"""Room left of a panel for figures, below it for weeks."""
TITLE, WORDS, SMALL = 5.0, 3.2, 2.6
LIGHT, DARK, PAST = "#dddddd", "#a6a6a6", "#4d4d4d"
MOST_STEPS = 5


def forecast_charts(sheet: ForecastSheet) -> dict[str, str]:
    """Return the pages by file name: forecast.svg, and forecast-2.svg and so on where there are many sizes."""
    pages = [sheet.sizes[at : at + PANELS] for at in range(0, len(sheet.sizes), PANELS)] or [()]
    return {
        f"forecast{'' if n == 0 else f'-{n + 1}'}.svg": _page(sheet, sizes, n + 1, len(pages))
        for n, sizes in enumerate(pages)
    }


def _page(sheet: ForecastSheet, sizes: Sequence[SizeForecast], number: int, pages: int) -> str:
    title = f"Sheets a week, {counted(len(sheet.weeks), 'week')} from {sheet.weeks[0]}"
    page = Canvas(WIDE, TALL, title, "Forecast of sheets by size with bands, beside the past weeks; A4 landscape")
    for layer in ("bands", "past", "axes", "words"):
        page.layer(layer, layer)
    page.text("words", title, (RIM, RIM + TITLE), TITLE, bold=True)
    which = f", page {number} of {pages}" if pages > 1 else ""
    page.text("words", f"{counted(sheet.paths, 'simulated future')}{which}", (WIDE - RIM, RIM + TITLE), WORDS,
              anchor="end")  # fmt: skip
    tall = (TALL - 2 * RIM - HEAD - FOOT - (PANELS - 1) * GAP) / PANELS
    for n, size in enumerate(sizes):
        top = RIM + HEAD + n * (tall + GAP)
        _panel(page, sheet, size, Box(x=RIM, y=top, w=WIDE - 2 * RIM, h=tall))
    _legend(page)
    return page.svg()


def _panel(page: Canvas, sheet: ForecastSheet, size: SizeForecast, box: Box) -> None:
    """Draw one size: axes, past, bands, and its totals in words beside it."""
    plot = Box(x=box.x + AXIS, y=box.y + WORDS + 1.5, w=box.w - AXIS - SIDE, h=box.h - WORDS - 1.5 - UNDER)
    page.text("words", shortened(one_line(size.size), plot.w, WORDS, bold=True), (plot.x, box.y + WORDS - 0.6), WORDS,
              bold=True)  # fmt: skip
    top = max([1, *size.past, *(week.high90 for week in size.weeks)])
    step = nice_step(top)
    most = step * math.ceil(top / step)
    count = len(size.past) + len(size.weeks)
    wide = plot.w / count

    def y_of(sheets: float) -> float:
        return plot.y + plot.h * (1 - sheets / most)

    for mark in range(0, most + 1, step):
        page.line("axes", (plot.x, y_of(mark)), (plot.x + plot.w, y_of(mark)), stroke="black",
                  stroke_width=0.25 if mark == 0 else 0.08)  # fmt: skip
        page.text("words", str(mark), (plot.x - 1.5, y_of(mark) + SMALL / 3), SMALL, anchor="end")
    for n, drawn in enumerate(size.past):
        if drawn:
            bar = Box(x=plot.x + n * wide + 0.2 * wide, y=y_of(drawn), w=0.6 * wide, h=y_of(0) - y_of(drawn))
            page.rect("past", bar, fill=PAST, stroke="none")
    for n, week in enumerate(size.weeks, len(size.past)):
        _bands(page, week, plot.x + n * wide, wide, y_of)
    now = plot.x + len(size.past) * wide
    page.line("axes", (now, plot.y - 1.0), (now, plot.y + plot.h + 1.0), stroke="black", stroke_width=0.4,
              stroke_dasharray="1.2 0.8")  # fmt: skip
    _weeks(page, sheet, plot, wide)
    _beside(page, size, len(sheet.weeks), plot.x + plot.w + 4.0, box)


def _bands(page: Canvas, week: Band, x: float, wide: float, y_of: Callable[[float], float]) -> None:
    for low, high, fill, part in ((week.low90, week.high90, LIGHT, 0.9), (week.low50, week.high50, DARK, 0.6)):
        # a band of one number still shows: half a millimetre
        top, bottom = y_of(high) - 0.25, y_of(low) + 0.25
        page.rect("bands", Box(x=x + wide * (1 - part) / 2, y=top, w=wide * part, h=bottom - top), fill=fill,
                  stroke="none")  # fmt: skip
    page.line("bands", (x + 0.1 * wide, y_of(week.mean)), (x + 0.9 * wide, y_of(week.mean)), stroke="black",
              stroke_width=0.5)  # fmt: skip


def _weeks(page: Canvas, sheet: ForecastSheet, plot: Box, wide: float) -> None:
    """Write Mondays under the panel, as many as find room, the first coming week always."""
    mondays = [*sheet.past_weeks, *sheet.weeks]
    first = len(sheet.past_weeks)
    every = max(1, math.ceil(SMALL * 5.4 / wide))
    for n, monday in enumerate(mondays):
        if (n - first) % every == 0:
            at = plot.x + (n + 0.5) * wide
            page.line("axes", (at, plot.y + plot.h), (at, plot.y + plot.h + 0.8), stroke="black", stroke_width=0.2)
            page.text("words", f"{monday:%m-%d}" if n != first else f"{monday}", (at, plot.y + plot.h + 4.0), SMALL,
                      anchor="middle", bold=n == first)  # fmt: skip


def _beside(page: Canvas, size: SizeForecast, weeks: int, x: float, box: Box) -> None:
    """Write the totals beside a panel: four weeks, and all."""
    lines = [("sheets together", False)]
    for upto in sorted({min(4, weeks), weeks}):
        band = size.upto[upto - 1]
        lines += [(f"{counted(upto, 'week')}: {band.mean:.0f}", True),
                  (f"half: {band.low50}-{band.high50}", False),
                  (f"9 in 10: {band.low90}-{band.high90}", False)]  # fmt: skip
    for n, (words, bold) in enumerate(lines):
        page.text("words", words, (x, box.y + WORDS * 1.45 * (n + 1.2)), WORDS, bold=bold)


def _legend(page: Canvas) -> None:
    """Say at the foot what the marks mean."""
    y = TALL - RIM
    x = RIM + AXIS
    for words, fill, width in (("past weeks, nested alike", PAST, 52.0), ("nine futures in ten", LIGHT, 48.0),
                               ("half of the futures", DARK, 46.0)):  # fmt: skip
        page.rect("past" if fill == PAST else "bands", Box(x=x, y=y - 3.0, w=5.0, h=3.4), fill=fill, stroke="black",
                  stroke_width=0.1)  # fmt: skip
        page.text("words", words, (x + 7.0, y), WORDS)
        x += width
    page.line("bands", (x, y - 1.2), (x + 5.0, y - 1.2), stroke="black", stroke_width=0.5)
    page.text("words", "mean", (x + 7.0, y), WORDS)
    page.text("words", "weeks by their Monday; new sheets, beside the offcuts used",
              (WIDE - RIM, y), SMALL, anchor="end")  # fmt: skip


def nice_step(most: int) -> int:
    """Return the distance of the figures on an axis: 1, 2, 5, 10, 20, … so that there are few.

    Examples
    --------
    >>> [nice_step(most) for most in (1, 5, 6, 14, 30, 51)]
    [1, 1, 2, 5, 10, 20]
    """
    scale = 1
    while True:
        for step in (1, 2, 5):
            if most <= MOST_STEPS * step * scale:
                return step * scale
        scale *= 10
