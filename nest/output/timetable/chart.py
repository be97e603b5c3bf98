"""A chart of a timetable on a page for the wall: rows of bars over the hours, readable in black on white.

Steps are told apart by their number, by hatches and by the key at the foot.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.line import step_words
from nest.output.drawing import Canvas
from nest.output.paper import MARGIN, PAPERS
from nest.output.text_fit import Box, shortened, text_width
from nest.output.timetable.clock import DAYS, FIRST_CLOCK, NO_DAY, clock, moment
from nest.output.words import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.room import Paper
    from nest.domain.timetable import Timetable

TEXT, TITLE = 2.9, 5.0
"""Sizes of text in mm on the paper."""
ROW, BAR = (5.6, 17.0), 0.7
"""Least and largest height of a row in mm, and which part of it a bar takes."""
STEPS_MINUTES = (15, 30, 60, 120, 240, 360, 720, 1440)
TALLER = 1.8
"""How much taller rows are in which words stand upward."""
SWATCH = 7.0
"""Width of a step's sample in the key, mm."""
LEAST_TICK = 13.0
"""Least distance of hour lines in mm, so that their clocks stand apart."""
HATCHES = ((0.0, 0.0), (1.8, 45.0), (1.8, -45.0), (1.5, 0.0), (1.5, 90.0), (0.9, 45.0), (0.9, -45.0), (0.8, 0.0),
           (0.8, 90.0), (2.6, 45.0), (2.6, -45.0))  # fmt: skip
"""Distance and turn of each step's hatch; the first is plain."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A stay: minutes, the number of its step, words that stand in it where they fit, and what pointing at it shows."""

    start: float
    end: float
    step: int
    words: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line of bars with its name; ``end`` are words behind its last bar."""

    name: str
    bars: tuple[Bar, ...]
    end: str = ""
    bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """What a chart shows; ``steps`` are numbered from 1, with their words for the key."""

    title: str
    about: str
    rows: tuple[Row, ...]
    steps: tuple[str, ...]
    foot: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where bars lie on the page, mm; ``scale`` is mm a minute, ``tops`` where each row begins and the last ends."""

    left: float
    right: float
    scale: float
    tops: tuple[float, ...]

    @property
    def top(self) -> float:
        return self.tops[0]

    @property
    def bottom(self) -> float:
        return self.tops[-1]

    def x(self, minutes: float) -> float:
        return self.left + minutes * self.scale


def charts(table: Timetable, chart: Chart, paper: Paper) -> tuple[str, ...]:
    """Return a chart as SVG pages of a paper, laid across; as many rows a page as can be read."""
    short, wide = PAPERS[paper]
    key = _key_lines(chart, wide - 2 * MARGIN)
    top = MARGIN + TITLE * 1.3 + TEXT * 4.8
    bottom = short - MARGIN - (len(key) * 1.8 + len(chart.foot) * 1.45 + 2.6) * TEXT
    most = max(1, int((bottom - top) / ROW[0]))
    count = -(-len(chart.rows) // most)
    each = -(-len(chart.rows) // count) if count else 1
    return tuple(
        _page(table, chart, chart.rows[n * each : (n + 1) * each], (wide, short), (top, bottom), key,
              f" ({n + 1} of {count})" if count > 1 else "")
        for n in range(count)
    )  # fmt: skip


def _page(
    table: Timetable, chart: Chart, rows: Sequence[Row], size: tuple[float, float], span: tuple[float, float],
    key: Sequence[Sequence[int]], part: str,
) -> str:  # fmt: skip
    canvas = Canvas(*size, one_line(chart.title + part), one_line(chart.about))
    for layer, title in (("hours", "Hours"), ("bars", "Stays"), ("words", "Words")):
        canvas.layer(layer, title)
    names = max(text_width(row.name, TEXT, bold=row.bold) for row in rows)
    ends = max((text_width(row.end, TEXT) for row in chart.rows), default=0.0)
    left, right = MARGIN + min(names, 70.0) + 2.5, size[0] - MARGIN - ends - 2.0
    scale = (right - left) / max(1.0, table.makespan)
    frame = _Frame(left, right, scale, _tops(rows, span, scale))
    canvas.text("words", one_line(chart.title + part), (MARGIN, MARGIN + TITLE), TITLE, bold=True)
    canvas.text("words", one_line(chart.about), (MARGIN, MARGIN + TITLE * 1.3 + TEXT), TEXT)
    _hours(canvas, table, frame)
    for n, one in enumerate(rows):
        _row(canvas, frame, one, n)
    y = frame.bottom + TEXT * 3.6
    for line in key:
        x = MARGIN
        for n in line:
            _swatch(canvas, n, (x, y))
            canvas.text("words", _item(chart, n), (x + SWATCH + 1.0, y), TEXT)
            x += _item_width(chart, n)
        y += TEXT * 1.8
    for words in chart.foot:
        canvas.text("words", one_line(words), (MARGIN, y), TEXT)
        y += TEXT * 1.45
    return canvas.svg()


def _item(chart: Chart, n: int) -> str:
    return one_line(f"{n} {chart.steps[n - 1]}")


def _item_width(chart: Chart, n: int) -> float:
    return SWATCH + 4.0 + text_width(_item(chart, n), TEXT)


def _swatch(canvas: Canvas, n: int, at: tuple[float, float]) -> None:
    box = Box(x=at[0], y=at[1] - TEXT * 0.95, w=SWATCH, h=TEXT * 1.2)
    canvas.rect("bars", box, fill=_fill(canvas, n), stroke="black", stroke_width=0.22)


def _fill(canvas: Canvas, n: int) -> str:
    step, turn = HATCHES[(n - 1) % len(HATCHES)]
    return canvas.hatch(f"step{n}", step, 0.16, turn) if step else "white"


def _hours(canvas: Canvas, table: Timetable, frame: _Frame) -> None:
    """Draw a line for each hour or so, with the time of day above and below, and the day where it begins."""
    step = next((one for one in STEPS_MINUTES if one * frame.scale >= LEAST_TICK), STEPS_MINUTES[-1])
    start = moment(table, 0.0) or NO_DAY.replace(hour=FIRST_CLOCK.hour)
    first = start.hour * 60 + start.minute + start.second / 60
    at = step - first % step if first % step else 0.0
    while at <= table.makespan + 1e-6:
        x = frame.x(at)
        midnight = (first + at) % 1440 == 0
        canvas.line("hours", (x, frame.top), (x, frame.bottom), stroke="black", stroke_width=0.5 if midnight else 0.12)
        words = clock(table, at).split(" ")[-1]
        for y in (frame.top - TEXT * 0.5, frame.bottom + TEXT * 1.2):
            canvas.text("hours", words, (x, y), TEXT, anchor="middle", bold=midnight)
        at += step
    _days(canvas, table, frame, first)


def _days(canvas: Canvas, table: Timetable, frame: _Frame, first: float) -> None:
    """Write each day above the hour at which it begins on the page, where there is more than one."""
    begins = [0.0]
    while begins[-1] + (1440 - (first + begins[-1]) % 1440) <= table.makespan:
        begins.append(begins[-1] + (1440 - (first + begins[-1]) % 1440))
    ends = [*begins[1:], table.makespan]
    if len(begins) == 1:
        return
    for n, (begin, end) in enumerate(zip(begins, ends, strict=True)):
        day = moment(table, begin)
        words = f"day {n + 1}" if day is None else f"{DAYS[day.weekday()]} {day:%Y-%m-%d}"
        if text_width(words, TEXT, bold=True) <= (end - begin) * frame.scale:
            canvas.text("hours", words, (frame.x(begin), frame.top - TEXT * 1.9), TEXT, bold=True)


def _tops(rows: Sequence[Row], span: tuple[float, float], scale: float) -> tuple[float, ...]:
    """Return where each row begins; rows whose words only find room upward are taller."""
    shares = [
        TALLER if any(text_width(bar.words, TEXT) + 0.8 > (bar.end - bar.start) * scale for bar in row.bars) else 1.0
        for row in rows
    ]
    unit = min((span[1] - span[0]) / sum(shares), ROW[1] / max(shares))
    tops = [span[0]]
    for share in shares:
        tops.append(tops[-1] + unit * share)
    return tuple(tops)


def _row(canvas: Canvas, frame: _Frame, row: Row, n: int) -> None:
    y, low = frame.tops[n], frame.tops[n + 1]
    tall = (low - y) * BAR
    base = (y + low) / 2 + TEXT * 0.35
    canvas.line("hours", (MARGIN, low), (frame.right, low), stroke="black", stroke_width=0.06)
    name = shortened(one_line(row.name), frame.left - MARGIN - 2.0, TEXT, bold=row.bold)
    canvas.text("words", name, (MARGIN, base), TEXT, bold=row.bold)
    for bar in row.bars:
        x, w = frame.x(bar.start), max(0.3, (bar.end - bar.start) * frame.scale)
        box = Box(x=x, y=(y + low - tall) / 2, w=w, h=tall)
        canvas.rect("bars", box, about=one_line(bar.about), fill="white", stroke="none")
        canvas.rect("bars", box, fill=_fill(canvas, bar.step), stroke="black", stroke_width=0.22)
        _words(canvas, bar, box)
    if row.end and row.bars:
        canvas.text("words", one_line(row.end), (frame.x(max(bar.end for bar in row.bars)) + 1.2, base), TEXT)


def _words(canvas: Canvas, bar: Bar, box: Box) -> None:
    """Write a bar's words in it, level or upward, or else the number of its step, on white so that they are read."""
    x, y = box.x + box.w / 2, box.y + box.h / 2
    for words, upward in ((bar.words, False), (bar.words, True), (str(bar.step), False)):
        long = text_width(words, TEXT) + 0.8
        room, across = (box.h, box.w) if upward else (box.w, box.h)
        if not words or long > room or across < TEXT * 1.05:
            continue
        half, thick = long * 0.43, TEXT * 0.52
        back = Box(x=x - thick, y=y - half, w=2 * thick, h=2 * half) if upward else (
            Box(x=x - half, y=y - thick, w=2 * half, h=2 * thick))
        canvas.rect("bars", back, fill="white", stroke="none")
        at = (x + TEXT * 0.35, y) if upward else (x, y + TEXT * 0.35)
        canvas.text("words", one_line(words), at, TEXT, anchor="middle", upward=upward)
        return


def _key_lines(chart: Chart, width: float) -> list[list[int]]:
    """Return the numbers of the steps in lines that fit the page."""
    lines: list[list[int]] = [[]]
    used = 0.0
    for n in range(1, len(chart.steps) + 1):
        wide = _item_width(chart, n)
        if lines[-1] and used + wide > width:
            lines.append([])
            used = 0.0
        lines[-1].append(n)
        used += wide
    return lines


def key_words(step: str, station: str) -> str:
    """Return what the key says of a step."""
    words = step_words(step)
    return words if station in (words, step) else f"{words} ({station})"
