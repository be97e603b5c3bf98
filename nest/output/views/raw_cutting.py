"""The guide of raw cutting: how a sheet becomes plates and rests, step by step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.plan import CutStage, Edge, Rect
from nest.output.panels import check_block, numbered, paragraphs
from nest.output.sheet_drawing import Show
from nest.output.views.blocks import (
    KNIFE,
    POLYMER,
    RAW,
    RAW_FROM_BASE,
    WIDTH,
    caution_block,
    datum_words,
    key_block,
    sheet_pairs,
    told_fields,
    warning_blocks,
)
from nest.output.views.facing import Side, measure_of, sheet_seen
from nest.output.views.page_drawing import PageSpec
from nest.output.views.steps import SHEET_ERROR_MM, raw_steps, steps, takes_error, within
from nest.output.words import one_line

if TYPE_CHECKING:
    from nest.domain.plan import PlannedSheet, Rest
    from nest.output.panels import Block
    from nest.output.views.blocks import Subject
    from nest.output.views.facing import Measure
    from nest.output.views.steps import RawStep

EDGE_NAMES = {Edge.X0: "LEFT", Edge.X1: "RIGHT", Edge.Y0: "BOTTOM", Edge.Y1: "TOP"}
"""Edges as one looks at the drawing."""


def raw_cutting(subject: Subject, side: Side) -> PageSpec:
    """Return the page that tells how a sheet is cut into plates and rests, seen from a side."""
    sheet = sheet_seen(subject.pattern.first, side)
    measure = measure_of(subject.room.guides, side, sheet.across_mm, sheet.around_mm)
    told = one_line(f"{sheet.material} · {subject.lengths.size(sheet.across_mm, sheet.around_mm)} · plan {subject.key}")
    over = "Turned over left to right. " if side is Side.BASE else ""
    first = [
        *warning_blocks(subject),
        told_fields("This sheet", sheet_pairs(subject)),
        _measure_first(subject, sheet, measure),
    ]
    return PageSpec(
        title=one_line(f"RAW CUTTING {sheet.id}{subject.times}"),
        info=over + told,
        side=side,
        sheet=sheet,
        items=(),
        show=Show(raw=True, rests=True, plate_names=True, times=len(subject.pattern.sheets)),
        blocks=[
            *first,
            _steps(subject, sheet, measure),
            _lead_edges(subject, sheet),
            caution_block(RAW_FROM_BASE if side is Side.BASE else RAW, KNIFE, POLYMER),
            check_block(1.0),
            key_block(("datum", "raw", "lead", "kept", "scrap")),
        ],
        first=len(first) + 1,
        measure=measure,
        life_size=any(cut.stage is CutStage.RAW for cut in sheet.cuts),
    )


def _measure_first(subject: Subject, sheet: PlannedSheet, measure: Measure) -> Block:
    told, whole = subject.lengths, Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm)
    cuts = [cut for cut in sheet.cuts if cut.stage is CutStage.RAW]
    made = steps(whole, cuts)
    off = told.told(SHEET_ERROR_MM)
    entries = []
    for name, length, level in (("across", sheet.across_mm, False), ("around", sheet.around_mm, True)):
        if takes_error(whole, made, sheet, level):
            rule = "What it is off goes to a rest, never to a plate."
        else:
            rule = f"No rest can take what it is off: use no sheet that measures less than {told.told(length)}."
        entries.append((name, [f"nominal {told.told(length)}, measured _______", rule]))
    entries.append(("", [
        f"Up to {off} off is usual. If it is off by more, stop and tell the planner.", datum_words(measure),
    ]))  # fmt: skip
    return numbered("Measure the sheet first", entries, WIDTH)


def _steps(subject: Subject, sheet: PlannedSheet, measure: Measure) -> Block:
    whole = Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm)
    made = steps(whole, [cut for cut in sheet.cuts if cut.stage is CutStage.RAW])
    if not made:
        return paragraphs("Raw cuts: none", ["The whole sheet is the plate: cut nothing off it."], WIDTH)
    entries = [_step(subject, sheet, raw) for raw in raw_steps(sheet, made, measure)]
    for step in made:
        if step.part is None:
            entries.append((str(step.cut.order), ["This cut crosses no part from edge to edge: ask the planner."]))
    return numbered(f"Raw cuts, step by step: {len(made)}", entries, WIDTH)


def _step(subject: Subject, sheet: PlannedSheet, raw: RawStep) -> tuple[str, list[str]]:
    told, level = subject.lengths, raw.step.runs_across
    kept, other = _part_words(sheet, raw.kept), _part_words(sheet, raw.other)
    line, way = ("across", "around") if level else ("around", "across")
    left = raw.other.h if level else raw.other.w
    texts = [
        f"Stop {told.told(raw.stop_mm)} from the {EDGE_NAMES[raw.edge]} edge of the part in hand; line runs {line}.",
        f"Measured from the side of {kept}: {way} {told.told(raw.stop_mm)}, check it.",
    ]
    if raw.takes is None:
        texts.append(f"Left: {other}, {way} {told.told(left)}, check it.")
    elif raw.takes:
        texts.append(f"Left: {other}, {way} about {told.told(left)}: what the sheet is off stays here, in the rest.")
    else:
        texts.append(f"Left: {other}, {way} {told.told(left)}: no rest takes what the sheet is off; measure it.")
    for rest in sheet.rests:
        if any(_is(rest, part) for part in (raw.kept, raw.other)):
            texts.append(label_words(subject, rest) if rest.kept else f"{rest.id} is scrap.")
    return str(raw.step.cut.order), [one_line(text) for text in texts]


def label_words(subject: Subject, rest: Rest) -> str:
    """Return what is written on a kept rest at the cut that frees it."""
    sheet = subject.pattern.first
    times = len(subject.pattern.sheets)
    one = f" (on {sheet.id}; the other sheets' ids on theirs)" if times > 1 else ""
    lot = f"lot {sheet.lot}" if sheet.lot else "lot not stated"
    use_by = f"use by {sheet.expiry}" if sheet.expiry else "use by not stated"
    size = subject.lengths.size(rest.rect.w, rest.rect.h)
    return f"LABEL NOW: {rest.id}{one} · {sheet.material} · {size} · {lot} · {use_by}"


def _is(rest: Rest, part: Rect) -> bool:
    return within(rest.rect, part) and within(part, rest.rect)


def _part_words(sheet: PlannedSheet, part: Rect) -> str:
    """Return what a part holds: its plates first, else its rests."""
    plates = [plate.id for plate in sheet.plates if within(plate.rect, part)]
    rests = [rest.id for rest in sheet.rests if within(rest.rect, part)]
    if plates:
        words = f"plate{'s' if len(plates) > 1 else ''} {', '.join(plates)}"
        return f"{words} with {', '.join(rests)}" if rests else words
    return f"rest{'s' if len(rests) > 1 else ''} {', '.join(rests)}" if rests else "no plate or rest"


def _lead_edges(subject: Subject, sheet: PlannedSheet) -> Block:
    edges = [(plate.id, f"{EDGE_NAMES[plate.lead].lower()} edge on this drawing") for plate in sheet.plates]
    return told_fields("Mark the lead edge on the film of each plate", edges)
