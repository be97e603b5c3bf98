"""Cutting lines for knife tables as DXF R2010 in mm, one file for each sheet to cut and each plate to finish.

Written with ezdxf (optional extra ``dxf``): MIT licence, kept since 2011; it needs numpy, fonttools and pyparsing.
Layers are named by the groups and types of processing steps of ISO 19593-1 (terms from memory) where they apply.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

from nest.domain.plan import CutStage, Edge, Rect
from nest.errors import MissingExtra
from nest.output.patterns import patterns
from nest.output.views.blocks import subject_of
from nest.output.views.facing import Side, plate_seen, sheet_seen
from nest.output.words import one_line, row_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan, PlannedSheet
    from nest.domain.room import Room
    from nest.output.views.blocks import Subject

CUTTING = "Structural-Cutting"
OUTLINE = "Dimensions"
IMAGE = "Positions-ContentArea"
TEXT = "Legend"
MM = 4
"""Value of $INSUNITS for millimetres."""
_TEXT_MM = 6.0


def dxf_files(
    plan: Plan, room: Room, rows: Sequence[Row], sides: Sequence[Side], sheets: Sequence[str] | None = None
) -> dict[str, str]:
    """Return drawings for a knife table: DXF text by file name.

    ``SHEET-raw.dxf`` has the raw cuts of a sheet as lines, ``PLATE-finish.dxf`` a closed contour for every piece of a
    processed plate, lead edge at the bottom. The origin is the lower left corner; drawings from the base side are
    turned over left to right and end in ``-base``.

    Parameters
    ----------
    plan, room, rows
        The plan and what it was made from.
    sides
        Sides that face the knife.
    sheets
        Ids of the sheets to draw; None for all. Equal sheets share their drawings.

    Raises
    ------
    MissingExtra
        If the library is not installed.
    """
    files: dict[str, str] = {}
    for pattern in patterns(plan):
        if sheets is not None and not any(sheet.id in sheets for sheet in pattern.sheets):
            continue
        subject = subject_of(pattern, room, {})
        for side in sides:
            tail = "-base" if side is Side.BASE else ""
            if any(cut.stage is CutStage.RAW for cut in pattern.first.cuts):
                _add(files, f"{pattern.first.id}-raw{tail}", _raw(sheet_seen(pattern.first, side)))
            for index, plate in enumerate(pattern.first.plates):
                _add(files, f"{plate.id}-finish{tail}", _finish(subject, index, side))
    return files


def _add(files: dict[str, str], stem: str, document: Any) -> None:
    stem = re.sub(r"[^A-Za-z0-9_-]+", "_", stem)[:80]
    name, number = f"{stem}.dxf", 2
    while name.lower() in {other.lower() for other in files}:
        name, number = f"{stem}-{number}.dxf", number + 1
    stream = io.StringIO()
    document.write(stream)
    files[name] = stream.getvalue()


def _new() -> Any:
    try:
        from ezdxf.filemanagement import new
    except ImportError as error:
        raise MissingExtra("a DXF drawing", "ezdxf", "dxf") from error
    document = new("R2010", units=MM)
    document.header["$MEASUREMENT"] = 1
    for number, name in enumerate((CUTTING, OUTLINE, IMAGE, TEXT), start=1):
        document.layers.add(name, color=number)
    return document


def _raw(sheet: PlannedSheet) -> Any:
    document = _new()
    space = document.modelspace()
    _box(space, OUTLINE, Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm))
    for cut in sorted(sheet.cuts, key=lambda cut: cut.order):
        if cut.stage is CutStage.RAW:
            space.add_line((cut.x1, cut.y1), (cut.x2, cut.y2), dxfattribs={"layer": CUTTING})
    for plate in sheet.plates:
        _write(space, f"PLATE {plate.id}", plate.rect)
        _lead(space, plate.rect, plate.lead)
    for rest in sheet.rests:
        _write(space, f"{'KEEP' if rest.kept else 'SCRAP'} {rest.id}", rest.rect)
    return document


def _finish(subject: Subject, index: int, side: Side) -> Any:
    document = _new()
    space = document.modelspace()
    seen = plate_seen(subject.pattern.first, index, side)
    plate = seen.plates[0]
    _box(space, OUTLINE, plate.rect)
    _lead(space, plate.rect, plate.lead)
    for item in subject.items(seen, [index]):
        piece = item.piece
        if piece.outline is None:
            _box(space, CUTTING, piece.rect)
        else:
            space.add_lwpolyline(piece.outline, close=True, dxfattribs={"layer": CUTTING})
        _box(space, IMAGE, piece.image)
        _write(space, f"{item.number} {row_words(piece.job, piece.separation, piece.part)}", piece.rect)
    return document


def _box(space: Any, layer: str, rect: Rect) -> None:
    right, top = rect.x + rect.w, rect.y + rect.h
    corners = [(rect.x, rect.y), (right, rect.y), (right, top), (rect.x, top)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def _lead(space: Any, rect: Rect, lead: Edge) -> None:
    right, top = rect.x + rect.w, rect.y + rect.h
    start, end = {
        Edge.Y0: ((rect.x, rect.y), (right, rect.y)),
        Edge.Y1: ((rect.x, top), (right, top)),
        Edge.X0: ((rect.x, rect.y), (rect.x, top)),
        Edge.X1: ((right, rect.y), (right, top)),
    }[lead]
    space.add_line(start, end, dxfattribs={"layer": TEXT})


def _write(space: Any, words: str, rect: Rect) -> None:
    """Write a text into a rectangle, no taller than a fifth of it."""
    size = min(_TEXT_MM, rect.h / 5, 1.2 * rect.w / max(1, len(words)))
    text = space.add_text(one_line(words)[:200], height=size, dxfattribs={"layer": TEXT})
    text.set_placement((rect.x + 0.05 * rect.w, rect.y + 0.1 * rect.h))
