"""The forecast sheet as text and as CSV."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING

from nest.domain.cells import guarded
from nest.output.text_columns import aligned_table
from nest.output.words import counted, percent

if TYPE_CHECKING:
    from nest.domain.forecast import BackTest, Band, ForecastSheet, SizeForecast

CSV_HEAD = ("size", "monday", "kind", "sheets", "low90", "low50", "high50", "high90", "upto", "upto_low90",
            "upto_low50", "upto_high50", "upto_high90")  # fmt: skip


def forecast_text(sheet: ForecastSheet) -> str:
    """Return the sheet: a line for each week with the bands of every size, then totals, then the back-test."""
    text = f"FORECAST: sheets in {counted(len(sheet.weeks), 'week')} from {sheet.weeks[0]}; mean, and in brackets "
    text += "between what nine futures in ten lie\n"
    head = ("week of", *(size.size for size in sheet.sizes))
    rows = [
        (str(monday), *(_words(size.weeks[n], 1) for size in sheet.sizes)) for n, monday in enumerate(sheet.weeks)
    ]
    rows.append(("all", *(_words(size.upto[-1], 1) for size in sheet.sizes)))
    text += _indented(aligned_table(head, rows, range(1, len(head))))
    text += "".join(f"  {line}\n" for line in sure_lines(sheet))
    test = f"BACK-TEST: none, {sheet.untested}\n" if sheet.back_test is None else back_test_text(sheet.back_test)
    return f"{text}\n{test}"


def _indented(table: str) -> str:
    return "".join(f"  {line}\n" for line in table.splitlines())


def _words(band: Band, places: int) -> str:
    return f"{band.mean:.{places}f} ({band.low90}-{band.high90})"


def sure_lines(sheet: ForecastSheet) -> list[str]:
    """Return how sure the level of the forecast is, which no band has in it: the past is a sample too."""
    count = len(sheet.past_weeks)
    words = ", ".join(f"{size.size} {_level(size, count)}" for size in sheet.sizes)
    return [
        f"the bands hold how weeks differ; not in them: the mean of {counted(count, 'past week')} is itself unsure "
        "(95 of 100 times within)",
        words,
    ]


def _level(size: SizeForecast, count: int) -> str:
    mean = sum(size.past) / count
    return f"{mean:.2f} ± {1.96 * size.past_error:.2f}" if math.isfinite(size.past_error) else f"{mean:.2f} ± unknown"


def back_test_text(test: BackTest) -> str:
    """Return how forecasts made in the past did, beside the mean of the last weeks."""
    many = counted(len(test.origins), "forecast")
    text = f"BACK-TEST: {many} of {counted(test.weeks, 'week')}, each from the weeks before it alone, "
    text += f"{test.paths} futures: {', '.join(map(str, test.origins))}\n"
    head = ("size", "a week", "bias", "(plain)", "off by", "(plain)", "in half", "due", "in nine tenths", "due")
    rows = [
        (one.size, f"{one.weekly:.2f}", f"{one.bias:+.2f}", f"{one.plain_bias:+.2f}", f"{one.off:.1f}",
         f"{one.plain_off:.1f}", *(percent(share) for share in (one.in50, one.due50, one.in90, one.due90)))
        for one in test.sizes
    ]  # fmt: skip
    text += _indented(aligned_table(head, rows, range(1, len(head))))
    points = len(test.origins) * test.weeks
    error = 100 * math.sqrt(0.9 * 0.1 / points)
    return text + (
        f"  sheets; bias: forecast less truth, a week; off by: the {test.weeks} weeks together; plain: the mean of the "
        f"last {test.plain_weeks} weeks\n"
        f"  bands: share of the {points} weeks inside, beside the share due: sheets are whole, so it is more than half "
        f"and nine\n  tenths; chance alone moves it by some {error:.0f} points\n"
    )


def forecast_csv(sheet: ForecastSheet) -> str:
    """Return one line for each size and week: past weeks as drawn, coming ones with mean and bands.

    ``upto`` and its bands are all coming weeks up to that one together.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(CSV_HEAD)
    for size in sheet.sizes:
        name = guarded(size.size)
        for monday, drawn in zip(sheet.past_weeks, size.past, strict=True):
            writer.writerow((name, monday, "past", drawn, *[""] * 9))
        for monday, week, upto in zip(sheet.weeks, size.weeks, size.upto, strict=True):
            writer.writerow((name, monday, "forecast", *_cells(week), *_cells(upto)))
    return out.getvalue()


def _cells(band: Band) -> tuple[str, int, int, int, int]:
    return f"{band.mean:.3f}", band.low90, band.low50, band.high50, band.high90
