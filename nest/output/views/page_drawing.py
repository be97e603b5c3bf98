"""Draws a guide's pages on a canvas: heading, side seen, the drawing, the tables, and details of what is too small."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage, Rect
from nest.output.page import Frame, Look
from nest.output.paper import MARGIN, PAPERS, Lanes, lay_out
from nest.output.sheet_drawing import LANE_K, RAW_NUMBER, SheetDrawing
from nest.output.side_columns import draw_columns, draw_datum
from nest.output.text_fit import ASCENT, DESCENT, Box, shortened, text_width, wrapped
from nest.output.views.blocks import SHORT_CAUTION
from nest.output.views.details import Detail, cropped, windows
from nest.output.views.facing import Side
from nest.output.words import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Paper
    from nest.output.drawing import Canvas
    from nest.output.lengths import Lengths
    from nest.output.marks import Point
    from nest.output.panels import Block
    from nest.output.paper import PageLayout
    from nest.output.sheet_drawing import Item, Show
    from nest.output.views.facing import Measure

HEAD = 16.0
"""Height of a page's heading, mm on paper."""
BETWEEN = 12.0
"""Between the pages of a file, mm on paper."""
_DETAIL_LANES = Lanes(left=2.0, right=2.0, top=2.0, bottom=2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class PageSpec:
    """What stands on a page: the sheet as it lies and its pieces, what to show of them, texts and tables.

    The first ``first`` blocks stand on the first page with the drawing. ``measure`` tells where figures are taken from,
    ``edges`` are the names of the left, bottom, right and top edge. ``life_size`` says that the drawing is of use at
    full size: something is cut along its lines.
    """

    title: str
    info: str
    side: Side
    sheet: PlannedSheet
    items: Sequence[Item]
    show: Show
    blocks: Sequence[Block]
    first: int
    measure: Measure
    life_size: bool = False
    edges: tuple[str, str, str, str] = ("LEFT EDGE", "BOTTOM EDGE", "", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page on a canvas: its box there, by how much it is reduced on paper, and where a drawing to cut by is."""

    title: str
    box: Box
    k: float
    drawing: Box | None


class Pages:
    """Puts pages on a canvas one below the other, each its paper enlarged until the drawing is life-size."""

    def __init__(self, canvas: Canvas, paper: Paper, lengths: Lengths) -> None:
        self._canvas, self._paper, self._lengths = canvas, paper, lengths
        self._y = 0.0
        self.pages: list[Page] = []

    def add(self, spec: PageSpec) -> None:
        """Draw a page, those its tables go on, and details of what is too small on it."""
        prefix = f"p{len(self.pages) + 1}-" if self.pages else ""
        layout, found = self._main(spec, prefix)
        look, title = Look(k=layout.k), f"{spec.title}, continued"
        for number, columns in enumerate(layout.pages[1:], start=2):
            self._canvas.shift(0.0, self._y, f"{prefix}t{number}-")
            self._heading(spec, look, layout, title, SHORT_CAUTION)
            draw_columns(self._canvas, columns, look)
            self._close(layout, spec, title, None)
        for detail in found:
            self._detail(spec, detail, f"{prefix}d{detail.letter}-")

    def _main(self, spec: PageSpec, prefix: str) -> tuple[PageLayout, list[Detail]]:
        sheet, show = spec.sheet, spec.show
        lanes = _lanes(sum(cut.stage is CutStage.RAW for cut in sheet.cuts) if show.raw else 0)
        layout = lay_out(sheet.across_mm, sheet.around_mm, lanes, spec.blocks, self._paper, HEAD, spec.first)
        look, k = Look(k=layout.k), layout.k
        self._canvas.shift(0.0, self._y, prefix)
        self._heading(spec, look, layout, spec.title, spec.info)
        frame = Frame(left=layout.left * k, bottom=layout.top * k + sheet.around_mm)
        drawing = SheetDrawing(self._canvas, frame, look, self._lengths)
        self._datum(spec.measure, frame, look, drawing)
        self._edge_names(spec, frame, look, lanes, drawing)
        drawing.draw(sheet, spec.items, show)
        missing = (drawing.missing_pieces, drawing.missing_cuts)
        found = windows(sheet, spec.items, missing, k, PAPERS[self._paper]) if show.details else []
        for detail in found:
            drawing.mark_detail(detail.letter, detail.window)
        draw_columns(self._canvas, layout.pages[0], look)
        whole = frame.box(Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm))
        inked = Box(x=whole.x - lanes.left * k, y=whole.y - lanes.top * k, w=whole.w + (lanes.left + lanes.right) * k,
                    h=whole.h + (lanes.top + lanes.bottom) * k)  # fmt: skip
        self._close(layout, spec, spec.title, inked if spec.life_size else None)
        return layout, found

    def _close(self, layout: PageLayout, spec: PageSpec, title: str, drawing: Box | None) -> None:
        """Note the page just drawn and go on below it."""
        w, h = layout.w * layout.k, layout.h * layout.k
        shifted = None if drawing is None else Box(x=drawing.x, y=drawing.y + self._y, w=drawing.w, h=drawing.h)
        box = Box(x=0.0, y=self._y, w=w, h=h)
        self.pages.append(Page(title=f"{title}, {spec.side.words.lower()}", box=box, k=layout.k, drawing=shifted))
        self._canvas.w, self._canvas.h = max(self._canvas.w, w), self._y + h
        self._y += h + BETWEEN * layout.k

    def _heading(self, spec: PageSpec, look: Look, layout: PageLayout, title: str, info: str) -> None:
        """Write the title, the side seen in large letters in a box (white on black for the base side), and a line."""
        canvas, k = self._canvas, look.k
        words = spec.side.words
        badge_w = text_width(words, 1.0, bold=True) * look.side + 4.0 * k
        box = Box(x=(layout.w - MARGIN) * k - badge_w, y=MARGIN * k, w=badge_w, h=12.0 * k)
        base = spec.side is Side.BASE
        canvas.rect("title-block", box, fill="black" if base else "white", stroke="black", stroke_width=look.raw_mm)
        canvas.lines_in("title-block", box, [words], look.side, 1.0, bold_first=True,
                        fill="white" if base else "black")  # fmt: skip
        room = box.x - (MARGIN + 4.0) * k
        size = max(0.6 * look.title, min(look.title, room / text_width(title, 1.0, bold=True)))
        canvas.text("title-block", shortened(title, room, size, bold=True), (MARGIN * k, (MARGIN + 5.2) * k), size,
                    bold=True)  # fmt: skip
        for number, line in enumerate(wrapped(info, room, look.small)[:2]):
            canvas.text("title-block", line, (MARGIN * k, (MARGIN + 10.2 + 3.8 * number) * k), look.small)

    def _datum(self, measure: Measure, frame: Frame, look: Look, drawing: SheetDrawing) -> None:
        x, y = (0.0 if measure.from_left else measure.w), (0.0 if measure.from_bottom else measure.h)
        out = (-1.0 if measure.from_left else 1.0, 1.0 if measure.from_bottom else -1.0)
        corner, long = frame.at(x, y), 3.4 * look.k
        draw_datum(self._canvas, "datum", corner, out, long, look)
        drawing.take(Box(x=min(corner[0], corner[0] + out[0] * long), y=min(corner[1], corner[1] + out[1] * long),
                         w=long, h=long))  # fmt: skip

    def _edge_names(self, spec: PageSpec, frame: Frame, look: Look, lanes: Lanes, drawing: SheetDrawing) -> None:
        """Write names of the edges outside, lengths at the left and the bottom, clear of the numbers of raw cuts."""
        sheet, told = spec.sheet, self._lengths
        box = frame.box(Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm))
        unit = told.unit.value
        below = (box.x + box.w / 2, box.y + box.h + lanes.bottom * look.k - 0.4 * look.table)
        beside = (box.x - lanes.left * look.k + 1.0 * look.table, box.y + box.h / 2)
        left, bottom, right, top = spec.edges
        above = (box.x + box.w / 2, box.y - 1.2 * look.k)
        opposite = (box.x + box.w + 1.2 * look.k + look.table, box.y + box.h / 2)
        for name, length, room, at, upward in (
            (bottom, f"across {told.exact(sheet.across_mm)} {unit}", box.w, below, False),
            (left, f"around {told.exact(sheet.around_mm)} {unit}", box.h, beside, True),
            (top, "", box.w, above, False),
            (right, "", box.h, opposite, True),
        ):
            shortest = told.exact(sheet.around_mm if upward else sheet.across_mm) if length else ""
            for words in (" · ".join(word for word in (name, length) if word), length, shortest):
                wide = text_width(words, look.table, bold=True)
                if words and wide <= room:
                    self._canvas.text("references", words, at, look.table, anchor="middle", bold=True, upward=upward)
                    drawing.take(_line_box(at, wide, look.table, upward=upward))
                    break

    def _detail(self, spec: PageSpec, detail: Detail, prefix: str) -> None:
        sheet, items = cropped(spec.sheet, spec.items, detail.window)
        title = one_line(f"{spec.title}, detail {detail.letter}")
        layout = lay_out(sheet.across_mm, sheet.around_mm, _DETAIL_LANES, (), self._paper, HEAD, 0)
        look = Look(k=layout.k)
        self._canvas.shift(0.0, self._y, prefix)
        self._heading(spec, look, layout, title, SHORT_CAUTION)
        frame = Frame(left=layout.left * look.k, bottom=layout.top * look.k + sheet.around_mm)
        SheetDrawing(self._canvas, frame, look, self._lengths).draw(sheet, items, spec.show.detail())
        self._close(layout, spec, title, None)


def _line_box(at: Point, wide: float, size: float, *, upward: bool) -> Box:
    """Return the box of a line of text whose base line's middle is at a point."""
    if upward:
        return Box(x=at[0] - ASCENT * size, y=at[1] - wide / 2, w=(ASCENT + DESCENT) * size, h=wide)
    return Box(x=at[0] - wide / 2, y=at[1] - ASCENT * size, w=wide, h=(ASCENT + DESCENT) * size)


def _lanes(raw_cuts: int) -> Lanes:
    """Return the room around a drawing for edge names, lead edge words and the numbers of raw cuts."""
    table = Look(k=1.0).table
    number_w = text_width(str(raw_cuts), RAW_NUMBER, bold=True) + 4.6 if raw_cuts else 0.0
    below = 1.9 * RAW_NUMBER if raw_cuts else LANE_K
    return Lanes(left=1.6 * table + max(number_w, LANE_K), right=LANE_K, top=LANE_K, bottom=1.6 * table + below)
