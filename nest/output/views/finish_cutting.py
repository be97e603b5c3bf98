"""The guide of finish cutting: how a processed plate becomes pieces, cut by cut."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from nest.domain.plan import Rect
from nest.domain.room import Cutting
from nest.output.panels import check_block, paragraphs, table
from nest.output.piece_label import copy_words
from nest.output.sheet_drawing import Show
from nest.output.views.blocks import (
    KNIFE,
    POLYMER,
    WIDTH,
    caution_block,
    datum_words,
    jobs_block,
    key_block,
    told_fields,
    warning_blocks,
)
from nest.output.views.facing import Side, measure_of, plate_seen
from nest.output.views.page_drawing import PageSpec
from nest.output.views.steps import measured_from, same, steps, within
from nest.output.words import counted, one_line, piece_size

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.plan import PlannedSheet
    from nest.output.panels import Block
    from nest.output.sheet_drawing import Item
    from nest.output.views.blocks import Subject
    from nest.output.views.facing import Measure
    from nest.output.views.steps import Step

PROCESSED = "Processed plates: cut only what is fully finished and dry; ventilate, solvent may still be in the polymer."


def finish_cutting(subject: Subject, index: int, side: Side) -> PageSpec:
    """Return the page that tells how one processed plate is cut into its pieces, lead edge at the bottom."""
    seen = plate_seen(subject.pattern.first, index, side)
    plate = subject.pattern.first.plates[index]
    measure = measure_of(subject.room.guides, side, seen.across_mm, seen.around_mm)
    items = subject.items(seen, [index])
    made = steps(Rect(x=0.0, y=0.0, w=seen.across_mm, h=seen.around_mm), seen.cuts)
    first = [*warning_blocks(subject), _about(subject, index, seen, len(made))]
    return PageSpec(
        title=one_line(f"FINISH CUTTING {plate.id}{subject.times}"),
        info=one_line(
            f"Lead edge at the bottom{', turned over left to right' if side is Side.BASE else ''} · {seen.material} · "
            f"{counted(len(made), 'cut')} · {counted(len(plate.pieces), 'piece')} · plan {subject.key}"
        ),
        side=side,
        sheet=seen,
        items=items,
        show=Show(pieces=True, finish=True, unused=True),
        blocks=[
            *first,
            paragraphs("How to cut", _notes(subject, measure, bool(made)), WIDTH),
            caution_block(KNIFE, PROCESSED, POLYMER),
            *([_cuts(subject, made, items, measure)] if made else []),
            _pieces(subject, index, seen, measure),
            *jobs_block(subject, {piece.job for piece in plate.pieces}),
            check_block(1.0),
            key_block(("datum", "lead", *(("finish",) if made else ()), "piece", "image", "arrow")),
        ],
        first=len(first) + 2,
        measure=measure,
        life_size=True,
        edges=("", "", "", ""),
    )


def _about(subject: Subject, index: int, seen: PlannedSheet, cuts: int) -> Block:
    plate, told = subject.pattern.first.plates[index], subject.lengths
    angle = subject.room.bevel_of(seen.material)
    if angle > 0:
        reach = subject.room.materials[seen.material].thickness_mm * math.tan(math.radians(angle))
        bevel = (
            f"ALL FOUR SIDES of every piece, {angle:g}° from the vertical: the base is {told.told(reach)} wider on "
            "each side than the print face; the lines drawn are those of the base"
        )
    else:
        bevel = "none: cut upright on all sides"
    return told_fields("This plate", [
        ("Plate", f"{plate.id}{subject.times}"),
        ("Size", told.size(seen.across_mm, seen.around_mm)),
        ("In all", f"{counted(cuts, 'cut')}, {counted(len(plate.pieces), 'piece')}"
                   if cuts else f"{counted(len(plate.pieces), 'piece')}, cut freely"),
        ("Bevel", bevel),
    ])  # fmt: skip


def _notes(subject: Subject, measure: Measure, cuts: bool) -> list[str]:
    free = subject.room.cutting is Cutting.FREE
    return [
        *(["Cut in the order of the numbers and tick each. Every cut runs edge to edge through the part in hand and "
           "through no piece; 'in hand' is that part's size, the stop is set from its own edge."] if cuts else []),
        *(["Cut each piece along its own edges by knife or on the cutting table, in the order of the numbers; keep "
           "off the neighbours. The table gives each piece's nearest corner and size."] if free else []),
        datum_words(measure),
    ]  # fmt: skip


def _cuts(subject: Subject, made: Sequence[Step], items: Sequence[Item], measure: Measure) -> Block:
    told = subject.lengths
    names = {"x0": "left", "x1": "right", "y0": "bottom", "y1": "top"}
    rows, shapes = [], [item.piece.rect for item in items]
    for step in made:
        edge, stop = measured_from(step, measure, shapes)
        part = step.part
        rows.append([
            str(step.cut.order),
            "-" if part is None else f"{told.exact(part.w)} × {told.exact(part.h)}",
            "across" if step.runs_across else "around",
            names[edge.value],
            *([told.words(stop)] if told.fractions else []),
            told.exact(stop),
            "; ".join(_becomes(half, items) for half in (step.low, step.high) if half is not None) or "ask the planner",
        ])
    unit = told.unit.value
    heads = ["Cut", "in hand", "line runs", "from", *(["stop"] if told.fractions else []), f"stop {unit}", "then"]
    right = frozenset((0, 1, 4, 5) if told.fractions else (0, 1, 4))
    return table(f"Cuts, {unit}: {len(made)} in all", heads, rows, right=right, tick=True)


def _becomes(half: Rect, items: Sequence[Item]) -> str:
    """Return what a half is: a finished piece, a strip to throw away, or a part to be cut further."""
    inside = [item for item in items if within(item.piece.rect, half)]
    if not inside:
        return "strip"
    if len(inside) == 1 and same(inside[0].piece.rect, half):
        return f"piece {inside[0].number}"
    return "go on"


def _pieces(subject: Subject, index: int, seen: PlannedSheet, measure: Measure) -> Block:
    told, plate = subject.lengths, subject.pattern.first.plates[index]
    rows = []
    for number, at, piece in subject.numbered(index):
        across, around = piece_size(piece)
        lies = seen.plates[0].pieces[at].rect
        rows.append([
            str(number),
            one_line(piece.job),
            one_line(piece.separation),
            one_line(piece.part),
            copy_words(subject.pattern.copies[index][at]),
            told.exact(across),
            told.exact(around),
            told.exact(measure.x_of(lies)),
            told.exact(measure.y_of(lies)),
        ])
    heads = ["No", "job", "separation", "part", "copy", "across", "around", "x", "y"]
    title = f"Pieces, {told.unit.value}: {len(plate.pieces)} in all"
    return table(title, heads, rows, right=frozenset((0, 5, 6, 7, 8)), tick=True)
