"""Guides as PDF, every page at exactly 100 %: pages of the room's paper, tiles at full size, or pages as large as life.

Written with reportlab (optional extra ``pdf``): BSD licence, kept by its company since 2000, brings its own font, needs
only pillow and charset-normalizer.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from nest.errors import MissingExtra, OutputError
from nest.output.page import Look
from nest.output.paper import MARGIN, PAPERS
from nest.output.pdf_fonts import PLAIN, ready_fonts, runs
from nest.output.text_fit import Box, text_width
from nest.output.tiles import FOOT_MM, TILE_MARGIN_MM, tiles_of
from nest.output.views.blocks import SHORT_CAUTION

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.room import Paper
    from nest.output.drawing import Canvas, Hatch
    from nest.output.guide import Guide
    from nest.output.marks import Mark, Point
    from nest.output.tiles import Tile
    from nest.output.views.page_drawing import Page

PT_PER_MM = 72.0 / 25.4
LARGEST_MM = 5080.0
"""Largest side of a page that readers of PDF must be able to show: 14,400 points (ISO 32000-1, annex C)."""
CHECK_MM = 100.0
TILE_CAUTION = "CAUTION: blades cut, uncured polymer harms skin; see the page before."


class Size(StrEnum):
    """How guides go on paper."""

    FIT = "fit"
    TILES = "tiles"
    FULL = "full"


def pdf_bytes(guides: Sequence[Guide], paper: Paper, size: Size) -> bytes:
    """Return guides as one PDF; the same guides give the same bytes on one computer.

    Parameters
    ----------
    guides
        The guides.
    paper
        The room's paper.
    size
        ``FIT``: each page on one sheet of paper, reduced where it must be. ``TILES``: so too, and behind each page of
        raw or finish cuts that is reduced, its drawing at full size on several sheets. ``FULL``: each page at full
        size, the page as large as it needs.

    Raises
    ------
    MissingExtra
        If the library is not installed.
    OutputError
        If a page at full size is larger than PDF allows.
    """
    book = _Book("Guides")
    for guide in guides:
        sketch = _Sketch(guide.canvas)
        for page in guide.pages:
            if size is Size.FULL:
                book.full(sketch, page)
                continue
            book.fit(sketch, page)
            if size is Size.TILES and page.k > 1.0005 and page.drawing is not None:
                for tile in tiles_of(page.drawing, PAPERS[paper]):
                    book.tile(sketch, page, tile)
    return book.done()


@dataclass(frozen=True, slots=True)
class _Spot:
    """A mark with the box it lies in."""

    mark: Mark
    box: Box


class _Sketch:
    """The marks of a canvas in the order they are drawn."""

    def __init__(self, canvas: Canvas) -> None:
        by_layer: dict[str, list[_Spot]] = {name: [] for name in canvas.layers}
        for mark in canvas.marks:
            by_layer[mark.layer].append(_Spot(mark, _box_of(mark)))
        self.spots = [spot for spots in by_layer.values() for spot in spots]
        self.hatches = canvas.hatches


def _box_of(mark: Mark) -> Box:
    xs, ys = [x for x, _ in mark.points], [y for _, y in mark.points]
    reach = text_width(mark.words, mark.size, bold=mark.bold) if mark.shape == "text" else 1.0
    left, top = min(xs) - reach, min(ys) - reach
    return Box(x=left, y=top, w=max(xs) + reach - left, h=max(ys) + reach - top)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """How a window of a canvas lies on a page: scale, and the page's height; everything in points after it."""

    window: Box
    scale: float
    left: float
    top: float
    page_h: float

    def at(self, point: Point) -> Point:
        x = (point[0] - self.window.x) * self.scale + self.left
        y = self.page_h - ((point[1] - self.window.y) * self.scale + self.top)
        return x * PT_PER_MM, y * PT_PER_MM

    def length(self, mm: float) -> float:
        return mm * self.scale * PT_PER_MM


class _Book:
    """A PDF being written."""

    def __init__(self, title: str) -> None:
        try:
            from reportlab.pdfgen.canvas import Canvas as Writer
        except ImportError as error:
            raise MissingExtra("a PDF", "reportlab", "pdf") from error
        ready_fonts()
        self._file = io.BytesIO()
        # invariant: no date and no random id, so the same guides give the same bytes
        self._pdf: Any = Writer(self._file, invariant=1, pageCompression=1)
        self._pdf.setTitle(title)
        self._pdf.setCreator("nest")
        self._pdf.setViewerPreference("PrintScaling", "None")

    def fit(self, sketch: _Sketch, page: Page) -> None:
        """Put a page on one sheet of its paper."""
        w, h = page.box.w / page.k, page.box.h / page.k
        self._open(w, h, page.title)
        self._draw(sketch, _Place(window=page.box, scale=1 / page.k, left=0.0, top=0.0, page_h=h))
        self._check_line(w, h, "of this paper")
        self._pdf.showPage()

    def full(self, sketch: _Sketch, page: Page) -> None:
        """Put a page on a page of its own size."""
        if max(page.box.w, page.box.h) > LARGEST_MM:
            raise OutputError(f"{page.title}: at full size it is larger than a PDF page may be; use --size tiles")
        self._open(page.box.w, page.box.h, page.title)
        self._draw(sketch, _Place(window=page.box, scale=1.0, left=0.0, top=0.0, page_h=page.box.h))
        self._check_line(page.box.w, page.box.h, "of this paper")
        self._pdf.showPage()

    def tile(self, sketch: _Sketch, page: Page, tile: Tile) -> None:
        """Put a tile of a drawing on its sheet of paper, with seams, register marks, its place and a 100 mm line."""
        w, h = tile.paper
        name = f"{page.title}, full size, row {tile.row} of {tile.rows}, column {tile.column} of {tile.columns}"
        self._open(w, h, name)
        place = _Place(window=tile.window, scale=1.0, left=TILE_MARGIN_MM, top=TILE_MARGIN_MM, page_h=h)
        self._draw(sketch, place)
        self._register(place, tile)
        self._grid(tile, w, h)
        self._pdf.setFillGray(0)
        self._pdf.setFont(PLAIN, Look(k=1.0).small * PT_PER_MM)
        self._pdf.drawString(MARGIN * PT_PER_MM, 9.5 * PT_PER_MM, TILE_CAUTION)
        self._check_line(w, h, f"· {name}")
        self._pdf.showPage()

    def done(self) -> bytes:
        """Return the file."""
        self._pdf.save()
        return self._file.getvalue()

    def _open(self, w: float, h: float, name: str) -> None:
        self._pdf.setPageSize((w * PT_PER_MM, h * PT_PER_MM))
        key = f"page-{self._pdf.getPageNumber()}"
        self._pdf.bookmarkPage(key)
        self._pdf.addOutlineEntry(name, key, level=0)

    def _draw(self, sketch: _Sketch, place: _Place) -> None:
        pdf, window = self._pdf, place.window
        pdf.saveState()
        self._clip(window, place)
        for spot in sketch.spots:
            if spot.box.touches(window):
                self._mark(spot.mark, place, sketch.hatches)
        pdf.restoreState()

    def _clip(self, box: Box, place: _Place) -> None:
        (x, top), (right, y) = place.at((box.x, box.y)), place.at((box.x + box.w, box.y + box.h))
        path = self._pdf.beginPath()
        path.rect(x, y, right - x, top - y)
        self._pdf.clipPath(path, stroke=0, fill=0)

    def _mark(self, mark: Mark, place: _Place, hatches: Mapping[str, Hatch]) -> None:
        if mark.shape == "text":
            self._text(mark, place)
            return
        pdf, look = self._pdf, mark.look
        stroke, fill = str(look.get("stroke", "none")), str(look.get("fill", "none"))
        if stroke != "none":
            pdf.setStrokeGray(1 if stroke == "white" else 0)
            pdf.setLineWidth(place.length(_figure(look.get("stroke_width", 1.0))))
            dashes = str(look.get("stroke_dasharray", "none"))
            pdf.setDash([] if dashes == "none" else [place.length(float(part)) for part in dashes.split()])
        if fill in ("black", "white"):
            pdf.setFillGray(1 if fill == "white" else 0)
        points = [place.at(point) for point in mark.points]
        if mark.shape == "line":
            pdf.line(*points[0], *points[1])
            return
        paint = {"stroke": int(stroke != "none"), "fill": int(fill in ("black", "white"))}
        if fill.startswith("url("):
            self._hatched(mark, place, hatches[fill[5:-1]])
            pdf.setStrokeGray(0)
            pdf.setLineWidth(place.length(_figure(look.get("stroke_width", 1.0))))
        radius = _figure(look.get("rx", 0.0))
        if radius > 0:
            (x, top), (right, y) = points[0], points[2]
            pdf.roundRect(x, y, right - x, top - y, min(place.length(radius), (top - y) / 2), **paint)
            return
        path = pdf.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        path.close()
        pdf.drawPath(path, **paint)

    def _hatched(self, mark: Mark, place: _Place, hatch: Hatch) -> None:
        """Fill a rectangle with lines that rise to the right at 45 degrees, as the SVG's pattern does."""
        pdf = self._pdf
        (left, top), (right, low) = mark.points[0], mark.points[2]
        pdf.saveState()
        self._clip(Box(x=left, y=top, w=right - left, h=low - top), place)
        pdf.setLineWidth(place.length(hatch.weight))
        pdf.setStrokeGray(0)
        pdf.setDash([])
        pitch = hatch.step * 2**0.5
        number = int((left + top) // pitch)
        while number * pitch <= right + low:
            total = number * pitch
            pdf.line(*place.at((total - top, top)), *place.at((total - low, low)))
            number += 1
        pdf.restoreState()

    def _text(self, mark: Mark, place: _Place) -> None:
        """Write a text; where its real width is above the one laid out for it, it is set narrower."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        pdf = self._pdf
        size = place.length(mark.size)
        parts = runs(mark.words, bold=mark.bold)
        widths = [stringWidth(words, font, size) for font, words in parts]
        whole = sum(widths)
        narrow = min(1.0, place.length(text_width(mark.words, mark.size, bold=mark.bold)) / max(whole, 1e-9))
        start = {"start": 0.0, "middle": -whole * narrow / 2, "end": -whole * narrow}[mark.anchor]
        pdf.saveState()
        pdf.translate(*place.at(mark.points[0]))
        if mark.upward:
            pdf.rotate(90)
        pdf.scale(narrow, 1.0)
        pdf.setFillGray(1 if mark.look.get("fill") == "white" else 0)
        x = start / narrow
        for (font, words), wide in zip(parts, widths, strict=True):
            pdf.setFont(font, size)
            pdf.drawString(x, 0.0, words)
            x += wide
        pdf.restoreState()

    def _register(self, place: _Place, tile: Tile) -> None:
        pdf = self._pdf
        pdf.setStrokeGray(0)
        pdf.setLineWidth(0.1 * PT_PER_MM)
        pdf.setDash([2 * PT_PER_MM, 2 * PT_PER_MM])
        for start, end in tile.seams:
            pdf.line(*place.at(start), *place.at(end))
        pdf.setDash([])
        pdf.setLineWidth(0.2 * PT_PER_MM)
        arm = 4.0 * PT_PER_MM
        for mark in tile.marks:
            x, y = place.at(mark)
            pdf.line(x - arm, y, x + arm, y)
            pdf.line(x, y - arm, x, y + arm)
            pdf.circle(x, y, arm / 2, stroke=1, fill=0)

    def _grid(self, tile: Tile, w: float, h: float) -> None:
        """Draw which tile this is, as a grid at the foot."""
        pdf = self._pdf
        cell = min(3.0, (FOOT_MM - 3.0) / tile.rows, 40.0 / tile.columns)
        left, top = w - TILE_MARGIN_MM - cell * tile.columns, h - TILE_MARGIN_MM - FOOT_MM + 3.0
        pdf.setLineWidth(0.15 * PT_PER_MM)
        for row in range(1, tile.rows + 1):
            for column in range(1, tile.columns + 1):
                here = (row, column) == (tile.row, tile.column)
                pdf.setFillGray(0 if here else 1)
                pdf.rect((left + (column - 1) * cell) * PT_PER_MM, (h - top - row * cell) * PT_PER_MM,
                         cell * PT_PER_MM, cell * PT_PER_MM, stroke=1, fill=1)  # fmt: skip

    def _check_line(self, w: float, h: float, words: str) -> None:
        """Draw a 100 mm line at the foot of the paper, to see whether it was printed at 100 %."""
        pdf, size = self._pdf, Look(k=1.0).small * PT_PER_MM
        y, left = 5.0 * PT_PER_MM, MARGIN * PT_PER_MM
        right = left + CHECK_MM * PT_PER_MM
        pdf.setStrokeGray(0)
        pdf.setFillGray(0)
        pdf.setDash([])
        pdf.setLineWidth(0.2 * PT_PER_MM)
        pdf.line(left, y, right, y)
        for x in (left, right):
            pdf.line(x, y - 1.5 * PT_PER_MM, x, y + 1.5 * PT_PER_MM)
        room = (w - 2 * MARGIN - CHECK_MM - 3.0) * PT_PER_MM
        for text in (f"100 mm {words}. {SHORT_CAUTION}", f"100 mm {words}", "100 mm"):
            said = text
            if pdf.stringWidth(said, PLAIN, size) <= room:
                break
        pdf.setFont(PLAIN, size)
        pdf.drawString(right + 3.0 * PT_PER_MM, y - size * 0.35, said)


def _figure(value: object) -> float:
    return float(str(value))

