"""A label for an offcut at real size, read by eye and by scanner; the QR code holds the id and nothing else."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

import segno

from nest.output.drawing import Canvas
from nest.output.stock_text import state_words
from nest.output.text_fit import Box, largest_size, shortened
from nest.output.words import length_words, one_line

if TYPE_CHECKING:
    from nest.domain.room import Unit
    from nest.domain.stock import RackOffcut

WIDE_MM, TALL_MM, RIM_MM = 100.0, 60.0, 3.0
CODE_MM = 26.0
"""Side of the QR code with its quiet zone: modules of 0.9 mm for ids as the ledger gives them."""
LEAST_MODULE_MM = 0.33
"""The least a hand scanner reads from print (from memory)."""
QUIET = 4
"""Modules of white round the code (ISO/IEC 18004)."""
TEXT_MM, TITLE_MM, LEADING = 3.0, 8.0, 1.45


def offcut_label(offcut: RackOffcut, unit: Unit) -> str:
    """Return the label as SVG in mm, 100 × 60.

    Raises
    ------
    ValueError
        If the id is too long for a code that can be read.
    """
    ident = one_line(offcut.id)
    page = Canvas(WIDE_MM, TALL_MM, f"Offcut {ident}", "Label at real size: the frame measures 100 × 60 mm")
    for layer in ("frame", "code", "direction", "words"):
        page.layer(layer, layer)
    page.rect(
        "frame", Box(x=0.15, y=0.15, w=WIDE_MM - 0.3, h=TALL_MM - 0.3), fill="none", stroke="black", stroke_width=0.3
    )
    code = Box(x=WIDE_MM - RIM_MM - CODE_MM, y=RIM_MM, w=CODE_MM, h=CODE_MM)
    _code(page, offcut.id, code)
    width = code.x - RIM_MM
    size = largest_size([ident], width - 2.0, TITLE_MM * 1.3, most=TITLE_MM, bold_first=True)
    page.text("words", ident, (RIM_MM, RIM_MM + 8.0), size, bold=True)
    _lines(page, offcut, unit, width)
    _direction(page, offcut, unit, Box(x=code.x, y=code.y + CODE_MM, w=CODE_MM, h=TALL_MM - RIM_MM - code.y - CODE_MM))
    return page.svg()


def _lines(page: Canvas, offcut: RackOffcut, unit: Unit, width: float) -> None:
    size = f"across {length_words(offcut.across_mm, unit)} / around {length_words(offcut.around_mm, unit)} {unit.value}"
    lines = (
        (offcut.material, 5.0, True),
        (size, 4.2, True),
        (f"lot {offcut.lot or 'not known'}", TEXT_MM + 0.4, False),
        (f"use by {offcut.expiry or 'not stated'}", TEXT_MM + 0.4, False),
        (state_words(offcut) + (", film on" if offcut.relief is None else ""), TEXT_MM + 0.4, False),
        (f"cut {offcut.made}" + (f" from {offcut.parent}" if offcut.parent else ""), TEXT_MM, False),
        (f"place {offcut.place}" if offcut.place else "place ______________", TEXT_MM, False),
    )
    y = RIM_MM + 8.0 + 2.2
    for words, most, bold in lines:
        words = one_line(words)
        size_mm = max(2.4, largest_size([words], width - 1.0, most * 1.3, most=most, bold_first=bold))
        y += most * LEADING
        page.text("words", shortened(words, width - 1.0, size_mm, bold=bold), (RIM_MM, y), size_mm, bold=bold)
    page.text("words", "keep dark and flat, film on; gloves", (RIM_MM, TALL_MM - RIM_MM), 2.6)


def _code(page: Canvas, ident: str, box: Box) -> None:
    """Draw the QR code, dark runs of a line as one rectangle."""
    matrix = segno.make(ident, error="q", micro=False, boost_error=False).matrix
    module = box.w / (len(matrix) + 2 * QUIET)
    if module < LEAST_MODULE_MM:
        raise ValueError(f"the id {ident!r} is too long for a code of {box.w:g} mm")
    for row, line in enumerate(matrix):
        column = 0
        for dark, run in groupby(line):
            count = len(list(run))
            if dark:
                # runs overlap the next line a little, so that no viewer draws a white seam between them
                page.rect(
                    "code",
                    Box(
                        x=box.x + (QUIET + column) * module,
                        y=box.y + (QUIET + row) * module,
                        w=count * module,
                        h=module * 1.01,
                    ),
                    fill="black",
                    shape_rendering="crispEdges",
                )
            column += count


def _direction(page: Canvas, offcut: RackOffcut, unit: Unit, box: Box) -> None:
    """Draw the offcut small, in its proportions, with an arrow along around: the direction the sheet was coated in."""
    room = Box(x=box.x + 1.0, y=box.y + 0.5, w=box.w - 11.0, h=box.h - 5.0)
    scale = min(room.w / offcut.across_mm, room.h / offcut.around_mm)
    w, h = max(1.5, offcut.across_mm * scale), max(1.5, offcut.around_mm * scale)
    x, y = room.x + (room.w - w) / 2, room.y + (room.h - h) / 2
    page.rect("direction", Box(x=x, y=y, w=w, h=h), fill="none", stroke="black", stroke_width=0.3)
    at = box.x + box.w - 4.5
    page.line("direction", (at, room.y + room.h), (at, room.y + 2.0), stroke="black", stroke_width=0.5)
    page.polygon("direction", [(at, room.y), (at - 1.4, room.y + 3.0), (at + 1.4, room.y + 3.0)], fill="black")
    page.text("direction", "around", (at + 3.2, room.y + room.h), 2.6, upward=True)
    page.text("direction", "coating", (at - 1.2, room.y + room.h), 2.6, upward=True)
    page.text("direction", "across", (x + w / 2, room.y + room.h + 3.0), 2.6, anchor="middle")
