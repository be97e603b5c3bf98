"""The cutting guide: one page a sheet pattern, the sheet at 1:1 with everything an operator needs beside it."""

from __future__ import annotations

import hashlib
import re
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage, Rect
from nest.output.cut_list import Setting, settings
from nest.output.drawing import Canvas
from nest.output.guide_blocks import SHEET_TITLE, check_block, guide_blocks
from nest.output.notices import plan_rows, told_warnings, warnings_by_job
from nest.output.page import Frame, Look, reduction
from nest.output.panels import column_widths, flow
from nest.output.patterns import Pattern, patterns
from nest.output.plan_file import dump_plan
from nest.output.sheet_drawing import LANE_K, LAYERS, SheetDrawing
from nest.output.side_columns import draw_columns
from nest.output.text_fit import shortened, text_width
from nest.output.words import length_words, one_line, size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.output.panels import Block

_SIDE_LAYERS = (
    ("title-block", "What this sheet is, and the tables beside the drawing"),
    ("check-lines", "100 mm check lines both ways"),
    ("references", "Edges that stop settings are measured from"),
)
_BESIDE = (1.0, 1.2, 1.5, 2.0, 2.6)
"""Heights tried for columns beside the sheet, in heights of the sheet."""
_BENEATH = (0.1, 0.15, 0.22, 0.3, 0.45, 0.7, 1.0)
"""Heights tried for columns beneath the sheet, in widths of the sheet."""
_ROUNDS = 12
_LARGEST = 1.7
"""Most that tables may enlarge text over what the sheet alone would ask for."""


def guides(plan: Plan, room: Room, rows: Sequence[Row]) -> dict[str, str]:
    """Return the guides of a plan: SVG text by file name, one for each pattern of equal sheets.

    Parameters
    ----------
    plan
        The plan.
    room
        Its room: unit, cutting.
    rows
        The ordered rows, for titles and customers of the pieces.
    """
    key = plan_key(plan)
    out: dict[str, str] = {}
    for pattern in patterns(plan):
        name = _file_name(pattern.first.id, out)
        out[name] = guide_svg(pattern, room, rows, key, warnings=sheet_warnings(plan, pattern))
    return out


def sheet_warnings(plan: Plan, pattern: Pattern) -> list[str]:
    """Return the plan's warnings that concern a pattern's pieces, or no row in particular."""
    here = {piece.row for plate in pattern.first.plates for piece in plate.pieces}
    rows = plan_rows(plan)
    texts = [text for text in plan.warnings if _concerns(text, rows, here)]
    return told_warnings(texts, rows)


def _concerns(text: str, rows: set[RowKey], here: set[RowKey]) -> bool:
    _, named, _ = warnings_by_job([text], rows)[0]
    return not named or any(row in here for row in named)


def plan_key(plan: Plan) -> str:
    """Return the short name of a plan's content: the first 8 hex digits of the SHA-256 of its file."""
    return hashlib.sha256(dump_plan(plan).encode()).hexdigest()[:8]


def _file_name(sheet_id: str, used: dict[str, str]) -> str:
    stem = "guide-" + (re.sub(r"[^A-Za-z0-9_-]+", "_", sheet_id)[:60] or "sheet")
    name, number = f"{stem}.svg", 2
    while name.lower() in {other.lower() for other in used}:
        name, number = f"{stem}-{number}.svg", number + 1
    return name


def guide_svg(pattern: Pattern, room: Room, rows: Sequence[Row], key: str, *, warnings: Sequence[str] = ()) -> str:
    """Return the guide of one pattern; ``key`` is the plan's short name, ``warnings`` stand on top."""
    cuts = settings(pattern.first)
    layout = _Layout(pattern, guide_blocks(pattern, room, rows, key, cuts, warnings), cuts)
    times = f" × {len(pattern.sheets)}" if len(pattern.sheets) > 1 else ""
    title = one_line(f"Cutting guide {pattern.first.id}{times}")
    about = one_line(f"Sheet {pattern.first.source.ref} of plan {key}, 1:1 in mm, seen from the print side")
    canvas = Canvas(layout.page_w, layout.page_h, title, about)
    for name, words in (*LAYERS, *_SIDE_LAYERS):
        canvas.layer(name, words)
    look, sheet = layout.look, pattern.first
    wide = layout.page_w - 2 * layout.margin
    lot = f"lot {sheet.lot}" if sheet.lot else "lot not stated"
    whole = size_words(sheet.across_mm, sheet.around_mm, room.unit)
    y = layout.margin
    for words, most, bold in (
        (title, look.title, True),
        (f"Seen from the PRINT SIDE{' · read the WARNING' if warnings else ''}", 0.8 * look.title, True),
        (one_line(f"{sheet.material} · {whole} · {lot} · plan {key}"), look.label, False),
    ):
        y += most * 1.3
        fits = min(most, wide / text_width(words, 1.0, bold=bold))
        size = max(fits, 0.6 * most)
        words = shortened(words, wide, size, bold=bold)
        canvas.text("title-block", words, (layout.margin, y - 0.3 * most), size, bold=bold)
    frame = Frame(left=layout.sheet_left, bottom=layout.sheet_top + sheet.around_mm)
    drawing = SheetDrawing(canvas, frame, look, room.unit)
    drawing.draw(pattern, cuts)
    _name_edges(canvas, layout, frame, room)
    draw_columns(canvas, layout.placed, layout.columns, layout.columns_top, look)
    return canvas.svg()


def _name_edges(canvas: Canvas, layout: _Layout, frame: Frame, room: Room) -> None:
    """Write size and name of the two reference edges outside the sheet, clear of the numbers of raw cuts."""
    sheet, look, unit = layout.pattern.first, layout.look, room.unit
    box = frame.box(Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm))
    bottom = ("BOTTOM EDGE", f"across {length_words(sheet.across_mm, unit)} {unit.value}")
    left = ("LEFT EDGE", f"around {length_words(sheet.around_mm, unit)} {unit.value}")
    words, size = _edge_words(*bottom, box.w, look)
    below = (box.x + box.w / 2, box.y + box.h + layout.below - 0.4 * look.table)
    canvas.text("references", words, below, size, anchor="middle", bold=True)
    words, size = _edge_words(*left, box.h, look)
    beside = (layout.margin + look.table, box.y + box.h / 2)
    canvas.text("references", words, beside, size, anchor="middle", bold=True, upward=True)


def _edge_words(name: str, length: str, room: float, look: Look) -> tuple[str, float]:
    """Return what fits along an edge: name and length, else the name, smaller where it must be."""
    for words in (f"{name} · {length}", name):
        if text_width(words, look.table, bold=True) <= room:
            return words, look.table
    return name, room / text_width(name, 1.0, bold=True)


class _Layout:
    """Where things stand on the page; text grows with the page's reduction, and the page with its text."""

    def __init__(self, pattern: Pattern, blocks: Sequence[Block], cuts: Sequence[Setting]) -> None:
        self.pattern = pattern
        raw = sum(setting.cut.stage is CutStage.RAW for setting in cuts)
        self._number_w = text_width(str(max(raw, 1)), 2.4, bold=True) + 3.4
        self._blocks = blocks
        sheet = pattern.first
        alone = reduction(sheet.across_mm, sheet.around_mm)
        # The column height that gives the least reduced page; a sheet full of tiny pieces may end above the limit.
        beside = [(False, sheet.around_mm * part) for part in _BESIDE]
        beneath = [(True, sheet.across_mm * part) for part in _BENEATH]
        _, under, height, k = min(self._settle(under, height, alone) for under, height in (*beside, *beneath))
        self._measure(k, under, height)

    def _settle(self, under: bool, height: float, alone: float) -> tuple[float, bool, float, float]:
        k = alone
        for _ in range(_ROUNDS):
            self._measure(k, under, height)
            need = reduction(self.page_w, self.page_h)
            if need <= k * 1.0001 or k >= _LARGEST * alone:
                break
            k = min(need, _LARGEST * alone)
        self._measure(k, under, height)
        return round(reduction(self.page_w, self.page_h), 6), under, height, k

    def _measure(self, k: float, under: bool, height: float) -> None:
        self.look = look = Look(k=k)
        sheet = self.pattern.first
        self.margin = 4.0 * k
        self.below = 4.6 * k + 1.8 * look.table
        self.sheet_left = self.margin + 1.6 * look.table + self._number_w * k
        self.sheet_top = self.margin + 2.6 * look.title + 1.6 * look.label + LANE_K * k
        height = max(height + (0.0 if under else self.below), 130.0 + 8 * look.table)
        at = 1 + next(index for index, block in enumerate(self._blocks) if block.title == SHEET_TITLE)
        self.placed = flow([*self._blocks[:at], check_block(k), *self._blocks[at:]], height / k)
        right = self.sheet_left + sheet.across_mm + LANE_K * k
        foot = self.sheet_top + sheet.around_mm + self.below
        self.columns_top = foot + 2.0 * k if under else self.sheet_top
        self.columns: list[tuple[float, float]] = []
        left = self.margin if under else right + 2.0 * k
        for width in column_widths(self.placed):
            self.columns.append((left, width * k))
            left += (width + 3.0) * k
        low = max(item.y + item.line.height for item in self.placed) * k
        self.page_w = max(left - 3.0 * k, right) + self.margin
        self.page_h = max(foot, self.columns_top + low) + self.margin
