"""Draws the columns of text beside the sheet, the samples of the key and the 100 mm check lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nest.output.panels import CHECK_MM
from nest.output.text_fit import ASCENT, Box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.output.drawing import Canvas
    from nest.output.marks import Point
    from nest.output.page import Look
    from nest.output.panels import Line
    from nest.output.paper import Column


def draw_columns(canvas: Canvas, columns: Sequence[Column], look: Look) -> None:
    """Draw columns of lines, all in mm on paper."""
    for column in columns:
        for item in column.lines:
            x, y, inner = column.x * look.k, (column.y + item.y) * look.k, column.w * look.k
            if item.title is None:
                _draw_line(canvas, item.line, x, y, inner, look)
                continue
            canvas.text("title-block", item.title, (x, y + look.head * 1.05), look.head, bold=True)
            at = y + item.line.height * look.k - 0.12 * look.head
            canvas.line("title-block", (x, at), (x + inner, at), stroke="black", stroke_width=look.piece_mm)


def _draw_line(canvas: Canvas, line: Line, x: float, y: float, inner: float, look: Look) -> None:
    base, tall = y + look.table * ASCENT, line.height * look.k
    for cell in line.cells:
        anchor = "end" if cell.right else "start"
        canvas.text("title-block", cell.words, (x + cell.x * look.k, base), look.table, anchor=anchor, bold=cell.bold)
    if line.rule:
        at = y + tall - 0.1 * look.table
        canvas.line("title-block", (x, at), (x + inner, at), stroke="black", stroke_width=look.thin_mm)
    if line.sample == "check":
        _check_lines(canvas, x + look.k, y, look)
    elif line.sample == "tick":
        side = 0.85 * look.table
        box = Box(x=x, y=y + 0.2 * look.table, w=side, h=side)
        canvas.rect("title-block", box, fill="none", stroke="black", stroke_width=look.piece_mm)
    elif line.sample is not None:
        box = Box(x=x, y=y + 0.1 * tall, w=5.0 * look.table, h=0.8 * tall)
        _sample(canvas, line.sample, box, look)


def _check_lines(canvas: Canvas, x: float, y: float, look: Look) -> None:
    """Draw 100 mm along both ways, with end ticks."""
    tick = 0.8 * look.k
    style: dict[str, Any] = {"stroke": "black", "stroke_width": look.finish_mm}
    top, low = y + tick, y + tick + CHECK_MM
    canvas.line("check-lines", (x, top), (x, low), id="check-around", **style)
    canvas.line("check-lines", (x, low), (x + CHECK_MM, low), id="check-across", **style)
    canvas.line("check-lines", (x - tick, top), (x + tick, top), **style)
    canvas.line("check-lines", (x + CHECK_MM, low - tick), (x + CHECK_MM, low + tick), **style)


def _sample(canvas: Canvas, sample: str, box: Box, look: Look) -> None:
    """Draw a short piece of a line or area as it looks on the sheet."""
    mid = box.y + box.h / 2
    left, right = (box.x, mid), (box.x + box.w, mid)
    layer = "title-block"
    line: dict[str, Any] = {"stroke": "black"}
    area: dict[str, Any] = {"fill": "none", "stroke": "black"}
    if sample == "raw":
        canvas.line(layer, left, right, stroke_width=look.raw_mm, **line)
    elif sample == "finish":
        canvas.line(layer, left, right, stroke_width=look.finish_mm, stroke_dasharray=look.finish_dash, **line)
    elif sample == "piece":
        canvas.rect(layer, box, stroke_width=look.piece_mm, **area)
    elif sample == "image":
        canvas.rect(layer, box, stroke_width=look.thin_mm, stroke_dasharray=look.image_dash, **area)
    elif sample == "keep-out":
        fill = canvas.hatch("keep-out-hatch", 1.1 * look.k, look.thin_mm, 45.0)
        canvas.rect(layer, box, stroke_width=look.thin_mm, stroke="black", fill=fill)
    elif sample == "lead":
        canvas.rect(layer, Box(x=box.x, y=mid - 0.35 * look.k, w=box.w, h=0.7 * look.k), fill="black")
    elif sample == "arrow":
        head = 0.9 * look.k
        canvas.line(layer, left, (right[0] - head, mid), stroke_width=look.piece_mm * 1.6, **line)
        tip = [right, (right[0] - 1.6 * head, mid - head), (right[0] - 1.6 * head, mid + head)]
        canvas.polygon(layer, tip, fill="black")
    elif sample == "datum":
        draw_datum(canvas, layer, (box.x, box.y + box.h), (1.0, -1.0), 0.9 * box.h, look)
    elif sample == "laser":
        canvas.rect(layer, box, stroke_width=look.finish_mm, stroke_dasharray=look.laser_dash, **area)
    elif sample == "kept":
        canvas.rect(layer, box, stroke_width=look.piece_mm, **area)
        canvas.rect(layer, box.inset(0.45 * look.k), stroke_width=look.piece_mm, **area)
    elif sample == "scrap":
        canvas.rect(layer, box, stroke_width=look.piece_mm, **area)
        canvas.line(layer, (box.x, box.y), (box.x + box.w, box.y + box.h), stroke_width=look.piece_mm, **line)
        canvas.line(layer, (box.x, box.y + box.h), (box.x + box.w, box.y), stroke_width=look.piece_mm, **line)


def draw_datum(canvas: Canvas, layer: str, corner: Point, into: Point, length: float, look: Look) -> None:
    """Draw the mark of a datum corner: a solid triangle in it; ``into`` tells the signs that lead into the sheet."""
    x, y = corner
    corners = [(x, y), (x + into[0] * length, y), (x, y + into[1] * length)]
    canvas.polygon(layer, corners, fill="black", stroke="white", stroke_width=look.thin_mm)
