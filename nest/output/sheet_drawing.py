"""The drawing of a sheet or plate at 1:1: plates, keep-outs, pieces, rests and numbered cuts, texts that keep clear."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from nest.domain.plan import CutStage, Edge, Rect
from nest.output.drawing import Canvas, id_of
from nest.output.edge_words import beside, edge_strip, on_edge
from nest.output.piece_label import draw_arrow, label_of, mere_number
from nest.output.placing import clear_part, leader_boxes, spot_beside, spot_on_line
from nest.output.text_fit import ASCENT, DESCENT, LEADING, Box, best_fit, largest_size, text_box, text_width
from nest.output.words import one_line, row_words
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import Cut, PlacedPiece, PlannedPlate, PlannedSheet, Rest
    from nest.output.lengths import Lengths
    from nest.output.marks import Point
    from nest.output.page import Frame, Look

LAYERS = (
    ("sheet", "Outline of the sheet or plate"),
    ("keep-outs", "Keep-outs of the plates: clamp, tape and trim, no piece"),
    ("rests", "Rests: kept as offcuts, or scrap"),
    ("images", "Image of each piece inside its floor border"),
    ("pieces", "Pieces to cut from the finished plates"),
    ("plates", "Plates to load, image and process"),
    ("finish-cuts", "Finish cuts in cutting order"),
    ("raw-cuts", "Raw cuts in cutting order"),
    ("lead-edges", "Lead edge of each plate"),
    ("detail-frames", "Frames of the parts that are shown larger"),
    ("datum", "Corner that figures are measured from"),
    ("arrows", "Arrow along around, from lead to tail of the piece"),
    ("cut-numbers", "Numbers of the cuts"),
    ("labels", "Texts of plates, pieces and rests"),
    ("details", "Letters of the parts that are shown larger"),
)
LANE_K = 4.4
"""Depth, in reductions, of the lane round the sheet for lead edge words."""
RAW_NUMBER, FINISH_NUMBER = 3.6, 2.8
"""Sizes of the numbers of cuts, in reductions."""


_RIM_K = 3.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Show:
    """What a drawing shows besides the outline, the plates and the lead edges."""

    pieces: bool = False
    full_labels: bool = True
    keep_outs: bool = False
    raw: bool = False
    finish: bool = False
    rests: bool = False
    unused: bool = False
    plate_names: bool = False
    laser: bool = False
    lead: bool = True
    details: bool = True
    window: bool = False
    times: int = 1

    def detail(self) -> Show:
        """Return what a detail of the drawing shows."""
        return replace(self, keep_outs=False, rests=False, unused=False, plate_names=False, laser=False, lead=False,
                       window=True)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A piece to draw: its number on every guide, the piece as it lies, the copies it stands for, its plate's id."""

    number: int
    piece: PlacedPiece
    copies: tuple[int, ...]
    plate: str


class SheetDrawing:
    """Draws a sheet as it lies; remembers where text stands so that nothing is written over it.

    ``missing_pieces`` and ``missing_cuts`` are the numbers that found no room at a readable size.
    """

    def __init__(self, canvas: Canvas, frame: Frame, look: Look, lengths: Lengths) -> None:
        self._canvas, self._frame, self._look, self._lengths = canvas, frame, look, lengths
        self._taken: list[Box] = []
        self.missing_pieces: list[int] = []
        self.missing_cuts: list[int] = []

    def take(self, box: Box) -> None:
        """Keep texts off a box that is drawn by others."""
        self._taken.append(box)

    def draw(self, sheet: PlannedSheet, items: Sequence[Item], show: Show) -> None:
        """Draw everything: areas and lines first, then the texts in order of need."""
        box = self._frame.box(Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm))
        dash = self._look.laser_dash if show.window else "none"
        self._canvas.rect("sheet", box, id="sheet-outline", fill="none", stroke="black",
                          stroke_width=self._look.raw_mm, stroke_dasharray=dash)  # fmt: skip
        cuts = [cut for cut in sheet.cuts if (show.raw if cut.stage is CutStage.RAW else show.finish)]
        for plate in sheet.plates:
            self._draw_plate(plate, show)
        for rest in sheet.rests if show.rests else ():
            self._draw_rest(rest)
        for item in items if show.pieces else ():
            self._draw_piece(item)
        self._draw_cuts(cuts)
        images = [self._frame.box(item.piece.image) for item in items] if show.pieces else []
        for plate in sheet.plates if show.lead else ():
            self._mark_lead(plate, images, box)
        for cut in cuts:
            self._number_cut(cut, images, box)
        if show.pieces:
            self._write_pieces(items, show, box)
        for rest in sheet.rests if show.rests else ():
            self._write_rest(rest, show.times, box)
        for plate in sheet.plates:
            if show.plate_names:
                self._write_plate(plate)
            if show.unused:
                self._write_unused(plate, cuts)

    def mark_detail(self, letter: str, window: Rect) -> None:
        """Frame the part of the drawing that a detail shows larger; its letter stands on the frame where it can."""
        look, box = self._look, self._frame.box(window)
        self._canvas.rect("detail-frames", box, fill="none", stroke="black", stroke_width=1.5 * look.raw_mm,
                          stroke_dasharray=look.laser_dash, kind="detail")  # fmt: skip
        w, h = 1.6 * look.head, 1.35 * look.head
        edges = (Edge.Y1, Edge.X0, Edge.X1, Edge.Y0)
        for edge, away in [(edge, away) for away in (0.0, -0.6 * w) for edge in edges]:
            spot = spot_on_line(*beside(box, edge, away), w, h, self._taken, (), None)
            if spot is not None:
                self._taken.append(spot)
                self._canvas.rect("details", spot, fill="black")
                self._canvas.lines_in("details", spot, [letter], look.head, LEADING, bold_first=True, fill="white")
                return

    def _draw_plate(self, plate: PlannedPlate, show: Show) -> None:
        canvas, look = self._canvas, self._look
        x, y, w, h, keep = plate.rect.x, plate.rect.y, plate.rect.w, plate.rect.h, plate.keep_out
        inner = Rect(x=x + keep.x0, y=y + keep.y0, w=max(0.0, w - keep.x0 - keep.x1), h=max(0.0, h - keep.y0 - keep.y1))
        strips = {
            "y0": Rect(x=x, y=y, w=w, h=keep.y0),
            "y1": Rect(x=x, y=y + h - keep.y1, w=w, h=keep.y1),
            "x0": Rect(x=x, y=inner.y, w=keep.x0, h=inner.h),
            "x1": Rect(x=x + w - keep.x1, y=inner.y, w=keep.x1, h=inner.h),
        }
        for edge, strip in strips.items():
            if show.keep_outs and strip.w > 0 and strip.h > 0:
                fill = canvas.hatch("keep-out-hatch", 1.1 * look.k, look.thin_mm, 45.0)
                name = id_of("keep-out", plate.id, edge)
                # On the loading card the line around the laser's area takes the place of the strips' own.
                canvas.rect("keep-outs", self._frame.box(strip), id=name, fill=fill,
                            stroke="none" if show.laser else "black", stroke_width=look.thin_mm)  # fmt: skip
        canvas.rect("plates", self._frame.box(plate.rect), about=f"plate {one_line(plate.id)}", kind="plate",
                    id=id_of("plate", plate.id), fill="none", stroke="black", stroke_width=look.finish_mm)  # fmt: skip
        if show.laser and inner.w > 0 and inner.h > 0:
            canvas.rect("plates", self._frame.box(inner), id=id_of("laser", plate.id), fill="none", stroke="black",
                        stroke_width=look.raw_mm, stroke_dasharray=look.laser_dash)  # fmt: skip

    def _draw_piece(self, item: Item) -> None:
        canvas, look, piece = self._canvas, self._look, item.piece
        about = one_line(f"{row_words(piece.job, piece.separation, piece.part)}, copy {piece.copy}")
        edge: dict[str, Any] = {"fill": "none", "stroke": "black", "stroke_width": look.piece_mm, "kind": "piece"}
        edge["id"] = id_of("piece", item.number)
        if piece.outline is None:
            canvas.rect("pieces", self._frame.box(piece.rect), about=about, **edge)
        else:
            canvas.polygon("pieces", [self._frame.at(x, y) for x, y in piece.outline], about=about, **edge)
        canvas.rect("images", self._frame.box(piece.image), kind="image", id=id_of("image", item.number), fill="none",
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

    def _draw_cuts(self, cuts: Sequence[Cut]) -> None:
        look = self._look
        for cut in cuts:
            raw = cut.stage is CutStage.RAW
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
            "lead-edges", edge_strip(box, plate.lead, bar), id=id_of("lead", plate.id), kind="lead", fill="black"
        )
        upright = plate.lead.value.startswith("x")
        length, outside = (box.h if upright else box.w), on_edge(box, sheet, plate.lead)
        for words in (f"LEAD EDGE · {one_line(plate.id)}", "LEAD EDGE"):
            # Outside, the words may reach over the ends of a short edge.
            reach = length * 0.96 + (2 * (LANE_K + 1.6) * look.k if outside else 0.0)
            size = largest_size([words], reach, look.k * 4, most=look.table, bold_first=True)
            if size < look.small:
                continue
            wide, tall = text_width(words, size, bold=True) + 0.5 * size, size * (ASCENT + DESCENT)
            start, end = beside(box, plate.lead, -0.3 * look.k - tall / 2 if outside else bar + tall / 2)
            w, h = (tall, wide) if upright else (wide, tall)
            middle_first = (0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95)
            patch = spot_on_line(start, end, w, h, self._taken, images, None, parts=middle_first)
            if patch is not None:
                self._patch("lead-edges", patch)
                self._canvas.lines_in("lead-edges", patch, [words], size, LEADING, upward=upright, bold_first=True)
                return

    def _patch(self, layer: str, box: Box) -> None:
        """Clear the ground under a text and remember it as taken."""
        self._canvas.rect(layer, box, fill="white")
        self._taken.append(box)

    def _number_cut(self, cut: Cut, images: Sequence[Box], sheet: Box) -> None:
        look, raw, words = self._look, cut.stage is CutStage.RAW, str(cut.order)
        size = (RAW_NUMBER if raw else FINISH_NUMBER) * look.k
        w, h = text_width(words, size, bold=True) + 0.7 * size, size * 1.35
        ends = (self._frame.at(cut.x1, cut.y1), self._frame.at(cut.x2, cut.y2))
        start, end = sorted(ends, key=lambda point: (point[0], -point[1]))
        level = abs(start[1] - end[1]) <= abs(start[0] - end[0])
        # A number on the rim of the plate may stand half outside.
        within = sheet.inset(-_RIM_K * look.k)
        if raw:
            # Outside the sheet there is nothing to cover: a line that starts at the edge is led out to its number.
            within = Box(x=sheet.x - w - 0.4 * h, y=sheet.y, w=sheet.w + w + 0.4 * h, h=sheet.h + 1.4 * h)
            if level and abs(start[0] - sheet.x) < EPS_MM:
                start = (within.x, start[1])
            elif not level and abs(start[1] - sheet.y - sheet.h) < EPS_MM:
                start = (start[0], within.y + within.h)
        box = spot_on_line(start, end, w, h, self._taken, images, within)
        if box is None:
            middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
            box = self._led_out(middle, w, h, images, within, "cut-numbers")
        elif raw:
            self._lead_out(level, box, sheet)
        if box is None:
            self.missing_cuts.append(cut.order)
            return
        self._taken.append(box)
        self._canvas.rect("cut-numbers", box, fill="white", stroke="black", rx=0.0 if raw else box.h / 2,
                          stroke_width=look.finish_mm if raw else look.thin_mm)  # fmt: skip
        self._canvas.lines_in("cut-numbers", box, [words], size, LEADING, bold_first=True)

    def _led_out(
        self, point: Point, w: float, h: float, spared: Sequence[Box], within: Box, layer: str
    ) -> Box | None:
        """Return a free box near a point after drawing the leader line to it, None where there is none."""
        look = self._look
        box = spot_beside(point, w, h, self._taken, spared, within)
        if box is None:
            return None
        mid = (box.x + box.w / 2, box.y + box.h / 2)
        self._canvas.line(layer, point, mid, kind="leader", stroke="black", stroke_width=look.thin_mm)
        dot = Box(x=point[0] - 0.35 * look.k, y=point[1] - 0.35 * look.k, w=0.7 * look.k, h=0.7 * look.k)
        self._canvas.rect(layer, dot, fill="black")
        self._taken += [*leader_boxes(point, box, h / 8), dot]
        return box

    def _lead_out(self, level: bool, box: Box, sheet: Box) -> None:
        line: dict[str, Any] = {"stroke": "black", "stroke_width": self._look.thin_mm}
        if level and box.x < sheet.x:
            self._canvas.line("cut-numbers", (box.x, box.y + box.h / 2), (sheet.x, box.y + box.h / 2), **line)
        elif not level and box.y + box.h > sheet.y + sheet.h:
            x = box.x + box.w / 2
            self._canvas.line("cut-numbers", (x, box.y), (x, sheet.y + sheet.h), **line)

    def _write_pieces(self, items: Sequence[Item], show: Show, sheet: Box) -> None:
        left = [item for item in items if not self._write_piece(item, full=show.full_labels)]
        images = [self._frame.box(item.piece.image) for item in items] if left else []
        for item in left:
            look, words = self._look, str(item.number)
            outer = self._frame.box(item.piece.rect)
            middle = (outer.x + outer.w / 2, outer.y + outer.h / 2)
            w, h = text_width(words, look.small, bold=True) + 0.5 * look.small, 1.3 * look.small
            box = self._led_out(middle, w, h, images, sheet, "labels")
            if box is None:
                self.missing_pieces.append(item.number)
                continue
            self._patch("labels", box)
            self._canvas.rect("labels", box, fill="none", stroke="black", stroke_width=look.thin_mm)
            self._canvas.lines_in("labels", box, [words], look.small, LEADING, bold_first=True, kind="led-out")

    def _write_piece(self, item: Item, *, full: bool) -> bool:
        """Write a piece's text and arrow into it; return whether there was room."""
        look, piece = self._look, item.piece
        image, outer = self._frame.box(piece.image), self._frame.box(piece.rect)
        near = [box for box in self._taken if box.touches(outer)]
        # Where the image is too small for all of the text, the floor border is written on as well.
        label = None
        for whole in (image, outer):
            room = clear_part(_padded(whole, look), near)
            found = (
                label_of(item.number, piece, item.copies, room, self._lengths, look)
                if full else mere_number(item.number, piece.turn, room, look)
            )  # fmt: skip
            if found is not None and (label is None or found.rank > label.rank):
                label = found
            if label is not None and label.level == 3:
                break
        if label is None:
            return False
        box = text_box(label.text_box, label.text)
        self._patch("labels", box)
        self._canvas.lines_in("labels", box, label.text.lines, label.text.size, LEADING,
                              upward=label.text.upward, bold_first=True, kind=f"piece-{item.number}")  # fmt: skip
        if label.arrow_box is not None:
            draw_arrow(self._canvas, label.arrow_box, piece.turn, look, id_of("arrow", item.number))
            self._taken.append(label.arrow_box)
        return True

    def _write_plate(self, plate: PlannedPlate) -> None:
        look, box = self._look, self._frame.box(plate.rect)
        name, w, h = f"PLATE {one_line(plate.id)}", plate.rect.w, plate.rect.h
        size = self._lengths.size(w, h)
        across, _, around = size.partition(" / ")
        room = clear_part(box.inset(min(2.0 * look.k, box.w / 8, box.h / 8)), self._taken)
        choices = ([name, across, around], [name, size], [name], [one_line(plate.id)])
        fit = best_fit(choices, room.w, room.h, most=look.title, least=look.small)
        if fit is not None:
            spot = text_box(room, fit)
            self._patch("labels", spot)
            self._canvas.lines_in("labels", spot, fit.lines, fit.size, LEADING, upward=fit.upward, bold_first=True)

    def _write_unused(self, plate: PlannedPlate, cuts: Sequence[Cut]) -> None:
        """Name the unused areas of a plate, the larger first, no ground twice, where no cut runs through the words."""
        look = self._look
        lines = [self._cut_box(cut) for cut in cuts]
        named: list[Box] = []
        for rect in sorted(plate.free, key=lambda r: (-r.w * r.h, r.x, r.y)):
            whole = self._frame.box(rect)
            if any(whole.touches(other) for other in named):
                continue
            across, _, around = self._lengths.size(rect.w, rect.h).partition(" / ")
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

    def _cut_box(self, cut: Cut) -> Box:
        """Return a cut's line as a box with next to no thickness."""
        (x1, y1), (x2, y2) = self._frame.at(cut.x1, cut.y1), self._frame.at(cut.x2, cut.y2)
        return Box(x=min(x1, x2), y=min(y1, y2), w=abs(x1 - x2) + EPS_MM, h=abs(y1 - y2) + EPS_MM)

    def _write_rest(self, rest: Rest, times: int, sheet: Box) -> None:
        look, word = self._look, "KEEP" if rest.kept else "SCRAP"
        outer = self._frame.box(rest.rect)
        room = clear_part(outer.inset(min(1.8 * look.k, outer.w / 8, outer.h / 8)), self._taken)
        name = f"{word} {one_line(rest.id)}" + (f" (one of {times})" if times > 1 else "")
        size = self._lengths.size(rest.rect.w, rest.rect.h)
        across, _, around = size.partition(" / ")
        choices = ([name, size], [name, across, around], [f"{name} · {size}"], [name], [word])
        fit = best_fit(choices, room.w, room.h, most=look.label, least=look.small)
        if fit is not None:
            box = text_box(room, fit)
            self._patch("labels", box)
            self._canvas.lines_in("labels", box, fit.lines, fit.size, LEADING, upward=fit.upward, bold_first=True)
            return
        w, h = text_width(name, look.small, bold=True) + 0.5 * look.small, 1.3 * look.small
        beside_it = self._led_out((outer.x + outer.w / 2, outer.y + outer.h / 2), w, h, (), sheet, "labels")
        if beside_it is not None:
            self._patch("labels", beside_it)
            self._canvas.lines_in("labels", beside_it, [name], look.small, LEADING, bold_first=True, kind="led-out")


def _padded(box: Box, look: Look) -> Box:
    return box.inset(min(0.35 * look.k, box.w / 10, box.h / 10))
