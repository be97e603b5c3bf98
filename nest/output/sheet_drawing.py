"""The drawing of one sheet at 1:1: plates, keep-outs, pieces, rests and numbered cuts, with texts that keep clear."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nest.domain.plan import CutStage, Edge, Rect
from nest.output.drawing import Canvas, id_of
from nest.output.piece_label import draw_arrow, label_of
from nest.output.placing import clear_part, spot_on_line
from nest.output.text_fit import ASCENT, DESCENT, LEADING, Box, best_fit, largest_size, text_box, text_width
from nest.output.words import one_line, rect_words, row_words, size_words
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import PlannedPlate, Rest
    from nest.domain.room import Unit
    from nest.output.cut_list import Setting
    from nest.output.drawing import Point
    from nest.output.page import Frame, Look
    from nest.output.patterns import Pattern

LAYERS = (
    ("sheet", "Sheet outline as drawn from the store"),
    ("keep-outs", "Keep-outs of the plates: clamp, tape and trim, no piece"),
    ("rests", "Rests: kept as offcuts, or scrap"),
    ("images", "Image of each piece inside its floor border"),
    ("pieces", "Pieces to cut from the finished plates"),
    ("plates", "Plates to load, image and process"),
    ("finish-cuts", "Finish cuts in cutting order"),
    ("raw-cuts", "Raw cuts in cutting order"),
    ("lead-edges", "Lead edge of each plate"),
    ("arrows", "Arrow along around, from lead to tail of the piece"),
    ("cut-numbers", "Numbers of the cuts"),
    ("labels", "Texts of pieces and rests"),
)
LANE_K = 3.2
"""Depth, in reductions, of the lane round the sheet for lead edge words and numbers of raw cuts."""
NumberedPiece = tuple[int, int, int]
"""Number on the guide, index of the plate, index of the piece on it."""


def numbered_pieces(pattern: Pattern) -> list[NumberedPiece]:
    """Return the pieces of a pattern numbered plate by plate, from the top down and left to right."""
    order = [
        (plate_index, -plate.pieces[index].rect.y, plate.pieces[index].rect.x, index)
        for plate_index, plate in enumerate(pattern.first.plates)
        for index in range(len(plate.pieces))
    ]
    return [(number, plate, index) for number, (plate, _, _, index) in enumerate(sorted(order), start=1)]


class SheetDrawing:
    """Draws a pattern's first sheet; remembers where text stands so that nothing is written over it."""

    def __init__(self, canvas: Canvas, frame: Frame, look: Look, unit: Unit) -> None:
        self._canvas, self._frame, self._look, self._unit = canvas, frame, look, unit
        self._taken: list[Box] = []

    def draw(self, pattern: Pattern, cuts: Sequence[Setting]) -> None:
        """Draw everything: areas and lines first, then the texts in order of need."""
        sheet = pattern.first
        box = self._frame.box(Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm))
        self._canvas.rect("sheet", box, id="sheet-outline", fill="none", stroke="black", stroke_width=self._look.raw_mm)
        for plate in sheet.plates:
            self._draw_plate(plate)
        for rest in sheet.rests:
            self._draw_rest(rest)
        for number, plate_index, index in numbered_pieces(pattern):
            self._draw_piece(number, sheet.plates[plate_index], index)
        self._draw_cuts(cuts)
        images = [self._frame.box(piece.image) for plate in sheet.plates for piece in plate.pieces]
        for plate in sheet.plates:
            self._mark_lead(plate, images, box)
        for setting in cuts:
            self._number_cut(setting, images, box)
        for number, plate_index, index in numbered_pieces(pattern):
            self._write_piece(number, pattern, plate_index, index)
        for rest in sheet.rests:
            self._write_rest(rest, len(pattern.sheets))
        for plate in sheet.plates:
            self._write_unused(plate, cuts)

    def _draw_plate(self, plate: PlannedPlate) -> None:
        canvas, look = self._canvas, self._look
        x, y, w, h, keep = plate.rect.x, plate.rect.y, plate.rect.w, plate.rect.h, plate.keep_out
        fill = canvas.hatch("keep-out-hatch", 1.1 * look.k, look.thin_mm, 45.0)
        strips = {
            "y0": Rect(x=x, y=y, w=w, h=keep.y0),
            "y1": Rect(x=x, y=y + h - keep.y1, w=w, h=keep.y1),
            "x0": Rect(x=x, y=y + keep.y0, w=keep.x0, h=max(0.0, h - keep.y0 - keep.y1)),
            "x1": Rect(x=x + w - keep.x1, y=y + keep.y0, w=keep.x1, h=max(0.0, h - keep.y0 - keep.y1)),
        }
        for edge, strip in strips.items():
            if strip.w > 0 and strip.h > 0:
                name = id_of("keep-out", plate.id, edge)
                canvas.rect("keep-outs", self._frame.box(strip), id=name, fill=fill, stroke="black",
                            stroke_width=look.thin_mm)  # fmt: skip
        canvas.rect("plates", self._frame.box(plate.rect), about=f"plate {one_line(plate.id)}", kind="plate",
                    id=id_of("plate", plate.id), fill="none", stroke="black", stroke_width=look.finish_mm)  # fmt: skip

    def _draw_piece(self, number: int, plate: PlannedPlate, index: int) -> None:
        canvas, look, piece = self._canvas, self._look, plate.pieces[index]
        about = one_line(f"{row_words(piece.job, piece.separation, piece.part)}, copy {piece.copy}")
        edge: dict[str, Any] = {"fill": "none", "stroke": "black", "stroke_width": look.piece_mm, "kind": "piece"}
        edge["id"] = id_of("piece", number)
        if piece.outline is None:
            canvas.rect("pieces", self._frame.box(piece.rect), about=about, **edge)
        else:
            canvas.polygon("pieces", [self._frame.at(x, y) for x, y in piece.outline], about=about, **edge)
        canvas.rect("images", self._frame.box(piece.image), kind="image", id=id_of("image", number), fill="none",
                    stroke="black", stroke_width=look.thin_mm, stroke_dasharray=look.image_dash)  # fmt: skip

    def _draw_rest(self, rest: Rest) -> None:
        canvas, look, box = self._canvas, self._look, self._frame.box(rest.rect)
        word = "kept" if rest.kept else "scrap"
        canvas.rect("rests", box, about=f"{word} {one_line(rest.id)}", kind=f"rest {word}", id=id_of("rest", rest.id),
                    fill="none", stroke="black", stroke_width=look.piece_mm)  # fmt: skip
        thin: dict[str, Any] = {"stroke": "black", "stroke_width": look.piece_mm}
        by = 1.2 * look.k
        if rest.kept and min(box.w, box.h) > 4 * by:
            canvas.rect("rests", box.inset(by), fill="none", **thin)
        elif not rest.kept:
            canvas.line("rests", (box.x, box.y), (box.x + box.w, box.y + box.h), **thin)
            canvas.line("rests", (box.x, box.y + box.h), (box.x + box.w, box.y), **thin)

    def _draw_cuts(self, cuts: Sequence[Setting]) -> None:
        look = self._look
        for setting in cuts:
            cut, raw = setting.cut, setting.cut.stage is CutStage.RAW
            self._canvas.line(
                "raw-cuts" if raw else "finish-cuts", self._frame.at(cut.x1, cut.y1), self._frame.at(cut.x2, cut.y2),
                id=id_of("cut", cut.order), kind=f"cut {cut.stage.value}", stroke="black",
                stroke_width=look.raw_mm if raw else look.finish_mm,
                stroke_dasharray="none" if raw else look.finish_dash,
            )  # fmt: skip

    def _mark_lead(self, plate: PlannedPlate, images: Sequence[Box], sheet: Box) -> None:
        """Mark the lead edge with a solid bar inside the plate and words: outside the sheet, else along the bar."""
        look, box = self._look, self._frame.box(plate.rect)
        bar = min(0.8 * look.k, plate.rect.w / 20, plate.rect.h / 20)
        self._canvas.rect(
            "lead-edges", _edge_strip(box, plate.lead, bar), id=id_of("lead", plate.id), kind="lead", fill="black"
        )
        upright = plate.lead in (Edge.X0, Edge.X1)
        length, words = (box.h if upright else box.w), f"LEAD EDGE · {one_line(plate.id)}"
        outside = _on_edge(box, sheet, plate.lead)
        size = largest_size([words], length * 0.96, look.k * 3, most=look.table, bold_first=True)
        if size < look.small:
            words = "LEAD EDGE"
            size = largest_size([words], length * 0.96, look.k * 3, most=look.table, bold_first=True)
        if not outside:
            size = min(size, max(look.small, (getattr(plate.keep_out, plate.lead.value) - bar) / (ASCENT + DESCENT)))
        wide, tall = text_width(words, size, bold=True) + 0.5 * size, size * (ASCENT + DESCENT)
        away = -0.3 * look.k - tall / 2 if outside else bar + tall / 2
        start, end = _beside(box, plate.lead, away)
        w, h = (tall, wide) if upright else (wide, tall)
        middle_first = sorted((0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95), key=lambda part: abs(part - 0.5))
        found = spot_on_line(start, end, w, h, self._taken, images, None, parts=middle_first)
        if found is None:
            return
        patch, scale = found
        self._patch("lead-edges", patch)
        self._canvas.lines_in("lead-edges", patch, [words], size * scale, LEADING, upward=upright, bold_first=True)

    def _patch(self, layer: str, box: Box) -> None:
        """Clear the ground under a text and remember it as taken."""
        self._canvas.rect(layer, box, fill="white")
        self._taken.append(box)

    def _number_cut(self, setting: Setting, images: Sequence[Box], sheet: Box) -> None:
        look, cut = self._look, setting.cut
        raw, words = cut.stage is CutStage.RAW, str(cut.order)
        size = 2.4 * look.k if raw else 1.8 * look.k
        w, h = text_width(words, size, bold=True) + 0.7 * size, size * 1.35
        start, end = self._frame.at(cut.x1, cut.y1), self._frame.at(cut.x2, cut.y2)
        start, end = sorted((start, end), key=lambda point: (point[0], -point[1]))
        within = sheet
        if raw:
            # Outside the sheet there is nothing to cover: a line that starts at the edge is led out to its number.
            within = Box(x=sheet.x - w - 0.4 * h, y=sheet.y, w=sheet.w + w + 0.4 * h, h=sheet.h + 1.4 * h)
            if setting.runs_across and abs(start[0] - sheet.x) < EPS_MM:
                start = (within.x, start[1])
            elif not setting.runs_across and abs(start[1] - sheet.y - sheet.h) < EPS_MM:
                start = (start[0], within.y + within.h)
        found = spot_on_line(start, end, w, h, self._taken, images, within)
        if found is None:
            return
        box, scale = found
        self._taken.append(box)
        if raw:
            self._lead_out(setting, box, sheet)
        self._canvas.rect("cut-numbers", box, fill="white", stroke="black", rx=0.0 if raw else box.h / 2,
                          stroke_width=look.finish_mm if raw else look.thin_mm)  # fmt: skip
        self._canvas.lines_in("cut-numbers", box, [words], size * scale, LEADING, bold_first=True)

    def _lead_out(self, setting: Setting, box: Box, sheet: Box) -> None:
        line: dict[str, Any] = {"stroke": "black", "stroke_width": self._look.thin_mm}
        if setting.runs_across and box.x < sheet.x:
            self._canvas.line("cut-numbers", (box.x, box.y + box.h / 2), (sheet.x, box.y + box.h / 2), **line)
        elif not setting.runs_across and box.y + box.h > sheet.y + sheet.h:
            x = box.x + box.w / 2
            self._canvas.line("cut-numbers", (x, box.y), (x, sheet.y + sheet.h), **line)

    def _write_piece(self, number: int, pattern: Pattern, plate_index: int, index: int) -> None:
        look, piece = self._look, pattern.first.plates[plate_index].pieces[index]
        image, outer = self._frame.box(piece.image), self._frame.box(piece.rect)
        near = [box for box in self._taken if box.touches(outer)]
        copies = pattern.copies[plate_index][index]
        label = label_of(number, piece, copies, clear_part(_padded(image, look), near), self._unit, look)
        if label.level < 3:
            # Where the image is too small for all of the text, the floor border is written on as well.
            wider = label_of(number, piece, copies, clear_part(_padded(outer, look), near), self._unit, look)
            label = max(label, wider, key=lambda label: label.rank)
        if label.text.size > 0:
            box = text_box(label.text_box, label.text)
            self._patch("labels", box)
            self._canvas.lines_in("labels", box, label.text.lines, label.text.size, LEADING,
                                  upward=label.text.upward, bold_first=True, kind=f"piece-{number}")  # fmt: skip
        if label.arrow_box is not None:
            draw_arrow(self._canvas, label.arrow_box, piece.turn, look, id_of("arrow", number))

    def _write_unused(self, plate: PlannedPlate, cuts: Sequence[Setting]) -> None:
        """Name the unused areas of a plate, the larger first, no ground twice, where no cut runs through the words."""
        look = self._look
        lines = [self._cut_box(setting) for setting in cuts]
        named: list[Box] = []
        for rect in sorted(plate.free, key=lambda r: (-r.w * r.h, r.x, r.y)):
            whole = self._frame.box(rect)
            if any(whole.touches(other) for other in named):
                continue
            across, _, around = size_words(rect.w, rect.h, self._unit).partition(" / ")
            room = whole.inset(0.5 * look.k)
            if min(room.w, room.h) <= 0:
                continue
            fit = best_fit((["unused", f"{across} / {around}"], ["unused", across, around]), room.w, room.h,
                           most=look.table, least=look.small)  # fmt: skip
            if fit is None:
                continue
            box = text_box(room, fit)
            if not any(box.touches(other) for other in (*self._taken, *lines)):
                named.append(whole)
                self._taken.append(box)
                self._canvas.lines_in("labels", box, fit.lines, fit.size, LEADING, upward=fit.upward)

    def _cut_box(self, setting: Setting) -> Box:
        """Return a cut's line as a box with next to no thickness."""
        cut = setting.cut
        (x1, y1), (x2, y2) = self._frame.at(cut.x1, cut.y1), self._frame.at(cut.x2, cut.y2)
        return Box(x=min(x1, x2), y=min(y1, y2), w=abs(x1 - x2) + EPS_MM, h=abs(y1 - y2) + EPS_MM)

    def _write_rest(self, rest: Rest, times: int) -> None:
        look, word = self._look, "KEEP" if rest.kept else "SCRAP"
        outer = self._frame.box(rest.rect)
        room = clear_part(outer.inset(min(1.8 * look.k, outer.w / 8, outer.h / 8)), self._taken)
        name = f"{word} {one_line(rest.id)}" + (f" (one of {times})" if times > 1 else "")
        size = rect_words(rest.rect, self._unit)
        across, _, around = size.partition(" / ")
        choices = ([name, size], [name, across, around], [f"{name} · {size}"], [name], [word])
        fit = best_fit(choices, room.w, room.h, most=look.label, least=look.small)
        if fit is None:
            small = largest_size([word], room.w, room.h, most=look.label, bold_first=True)
            fit = best_fit([[word]], room.w, room.h, most=look.label, least=min(small, look.small))
        if fit is None or fit.size <= 0:
            return
        box = text_box(room, fit)
        self._patch("labels", box)
        self._canvas.lines_in("labels", box, fit.lines, fit.size, LEADING, upward=fit.upward, bold_first=True)


def _padded(box: Box, look: Look) -> Box:
    return box.inset(min(0.35 * look.k, box.w / 10, box.h / 10))


def _edge_strip(box: Box, lead: Edge, depth: float) -> Box:
    """Return the strip of a depth along an edge of a plate, on the page."""
    if lead is Edge.Y0:
        return Box(x=box.x, y=box.y + box.h - depth, w=box.w, h=depth)
    if lead is Edge.Y1:
        return Box(x=box.x, y=box.y, w=box.w, h=depth)
    if lead is Edge.X0:
        return Box(x=box.x, y=box.y, w=depth, h=box.h)
    return Box(x=box.x + box.w - depth, y=box.y, w=depth, h=box.h)


def _beside(box: Box, lead: Edge, away: float) -> tuple[Point, Point]:
    """Return the line along an edge of a plate, so far inside it (outside where negative), on the page."""
    left, right, top, low = box.x, box.x + box.w, box.y, box.y + box.h
    if lead is Edge.Y0:
        return (left, low - away), (right, low - away)
    if lead is Edge.Y1:
        return (left, top + away), (right, top + away)
    if lead is Edge.X0:
        return (left + away, top), (left + away, low)
    return (right - away, top), (right - away, low)


def _on_edge(box: Box, sheet: Box, edge: Edge) -> bool:
    """Whether an edge of a plate is an edge of its sheet."""
    mine, whole = _beside(box, edge, 0.0)[0], _beside(sheet, edge, 0.0)[0]
    axis = 0 if edge in (Edge.X0, Edge.X1) else 1
    return abs(mine[axis] - whole[axis]) <= EPS_MM
