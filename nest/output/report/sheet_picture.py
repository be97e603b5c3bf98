"""A sheet's cutting drawing as part of a page: the guide's own drawing with text sized for a printed page.

The drawing's ids become classes and names unique in the page, so that any number of drawings can stand in one page and
the page's style can turn them light or dark.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from nest.output.drawing import Canvas
from nest.output.page import Frame, Look
from nest.output.sheet_drawing import LANE_K, LAYERS, SheetDrawing, Show
from nest.output.views.blocks import subject_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from nest.domain.room import Room
    from nest.output.patterns import Pattern

_WIDE, _HIGH = 178.0, 128.0
"""Part of an A4 page in mm that a drawing has, beside its tables."""
_SVG = "{http://www.w3.org/2000/svg}"
_WORDS = ("labels", "cut-numbers", "arrows")
"""Layers a small picture leaves out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPicture:
    """A drawing to put into a page: its size in mm and what stands inside its svg element."""

    w: float
    h: float
    inside: Markup


def sheet_picture(pattern: Pattern, room: Room, name: str, jobs: Mapping[str, str]) -> SheetPicture:
    """Return the drawing of a pattern's first sheet.

    Parameters
    ----------
    pattern
        The pattern.
    room
        Its room, for the unit of sizes written on the drawing.
    name
        What the drawing is called in the page: letters, digits, hyphens.
    jobs
        Class by job number, given to the job's pieces.
    """
    sheet = pattern.first
    k = max(1.0, sheet.across_mm / _WIDE, sheet.around_mm / _HIGH)
    lane = (LANE_K + 2.2) * k
    w, h = sheet.across_mm + 2 * lane, sheet.around_mm + 2 * lane
    canvas = Canvas(w, h, name, name)
    for layer, _ in LAYERS:
        canvas.layer(layer, layer)
    frame = Frame(left=lane, bottom=lane + sheet.around_mm)
    subject = subject_of(pattern, room, {})
    show = Show(pieces=True, keep_outs=True, raw=True, finish=True, rests=True, unused=True, details=False,
                times=len(pattern.sheets))  # fmt: skip
    items = subject.items(sheet, range(len(sheet.plates)))
    SheetDrawing(canvas, frame, Look(k=k), subject.lengths).draw(sheet, items, show)
    classes = {f"piece-{item.number}": f"piece {jobs[item.piece.job]}" for item in items}
    root = ET.fromstring(canvas.svg())
    parts = [_text(child, name, classes) for child in root if _wanted(child)]
    return SheetPicture(w=round(w, 4), h=round(h, 4), inside=Markup("".join(parts)))


def _wanted(element: ET.Element) -> bool:
    """Whether a part of the drawing is kept: not its title, which the page writes, nor the white ground."""
    if element.tag in (f"{_SVG}title", f"{_SVG}desc"):
        return False
    return element.tag != f"{_SVG}rect"


def _text(element: ET.Element, name: str, classes: Mapping[str, str]) -> str:
    """Return an element as it stands in HTML: no namespaces, names of its own."""
    tag = element.tag.removeprefix(_SVG)
    own = element.get("id", "")
    layer = tag == "g" and own in dict(LAYERS)
    children = [child for child in element if not (layer and child.tag == f"{_SVG}title")]
    if tag in ("defs", "g") and not children:
        return ""
    known = {key: value for key, value in element.attrib.items() if key not in ("id", "class")}
    if tag == "pattern":
        known["id"] = f"{name}-{own}"
    kind = classes.get(own) or ("" if tag == "text" else element.get("class", ""))
    if layer:
        kind = "texts" if own in _WORDS else own
    if kind:
        known["class"] = kind
    written = "".join(f' {key}="{escape(_local(value, name))}"' for key, value in known.items())
    inner = escape(element.text or "") if tag in ("text", "title", "desc") else ""
    inside = inner + Markup("").join(Markup(_text(child, name, classes)) for child in children)
    return f"<{tag}{written}>{inside}</{tag}>" if inside else f"<{tag}{written}/>"


def _local(value: str, name: str) -> str:
    """Return an attribute with references led to this drawing's own parts."""
    return re.sub(r"^url\(#([\w.-]+)\)$", rf"url(#{name}-\1)", value)
