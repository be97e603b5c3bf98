"""The loading card: how a plate goes on the drum, what to key in, where each image lies."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from nest.domain.plan import Edge
from nest.output.panels import check_block, paragraphs, table
from nest.output.sheet_drawing import Show
from nest.output.views.blocks import (
    POLYMER,
    WIDTH,
    caution_block,
    datum_words,
    jobs_block,
    key_block,
    told_fields,
    warning_blocks,
)
from nest.output.views.facing import QUARTERS, Side, measure_of, plate_seen
from nest.output.views.page_drawing import PageSpec
from nest.output.words import EDGE_WORDS, one_line
from nest.plates.weight import HEAVY_KG, plate_kilos

if TYPE_CHECKING:
    from nest.domain.plan import PlacedPiece, PlannedPlate, PlannedSheet
    from nest.output.panels import Block
    from nest.output.views.blocks import Subject
    from nest.output.views.facing import Measure

IMAGER = (
    "Imager: laser and drum run behind closed, interlocked covers; never bypass them. Edges lie flat and taped: a "
    "loose plate can strike the laser head."
)
HEAVY = "This plate is heavy: two people lift and load it."


def loading_card(subject: Subject, index: int, side: Side) -> PageSpec:
    """Return the card of one plate, lead edge at the bottom, seen from a side."""
    seen = plate_seen(subject.pattern.first, index, side)
    plate = subject.pattern.first.plates[index]
    measure = measure_of(subject.room.guides, side, seen.across_mm, seen.around_mm)
    items = subject.items(seen, [index])
    material = subject.room.materials[seen.material]
    kilos = plate_kilos(plate.rect.w * plate.rect.h / 1e6, material.thickness_mm, material.base_mm)
    first = [*warning_blocks(subject), _key_in(subject, seen, plate, kilos), _holds(subject, seen, measure)]
    return PageSpec(
        title=one_line(f"LOADING CARD {plate.id}{subject.times}"),
        info=one_line(
            f"Lead edge at the bottom{', turned over left to right' if side is Side.BASE else ''} · {seen.material} · "
            f"{plate.group or 'usual'} · plan {subject.key}"
        ),
        side=side,
        sheet=seen,
        items=items,
        show=Show(pieces=True, full_labels=False, keep_outs=True, laser=True),
        blocks=[
            *first,
            _images(subject, index, seen, measure),
            *jobs_block(subject, {piece.job for piece in plate.pieces}),
            caution_block(*((HEAVY,) if kilos >= HEAVY_KG else ()), IMAGER, POLYMER),
            check_block(1.0),
            key_block(("datum", "lead", "keep-out", "laser", "piece", "image", "arrow")),
        ],
        first=len(first),
        measure=measure,
        edges=_edge_words(subject),
    )


def _edge_words(subject: Subject) -> tuple[str, str, str, str]:
    """Return what holds each edge on the drum: left, bottom, right, top."""
    told, imager = subject.lengths, subject.room.imager
    tape = f"tape {told.told(imager.drum_tape_mm)}" if imager.drum_tape_mm else ""
    clamp = f"clamp {told.told(imager.clamp_mm)}" if imager.clamp_mm else ""
    return tape, clamp, tape, " · ".join(word for word in ("TAIL EDGE", tape) if word)


def _key_in(subject: Subject, seen: PlannedSheet, plate: PlannedPlate, kilos: float) -> Block:
    told = subject.lengths
    keyed = f"KEY IN  across {told.told(plate.across_mm)}  ·  around {told.told(plate.around_mm)}"
    return told_fields(keyed, [
        ("Across", "along the drum axis; around: from lead to tail"),
        ("Plate", f"{plate.id}{subject.times} of {seen.source.kind.value} {seen.source.ref}"),
        ("Material", f"{seen.material}, {told.told(subject.room.materials[seen.material].thickness_mm)} thick, about "
                     f"{kilos:.1f} kg"),
        ("Lot", f"{seen.lot or 'not stated'}, use by {seen.expiry or 'not stated'}"),
        ("Plate is for", plate.group or "usual"),
        ("Lead edge", f"goes into the clamp; on the sheet it was the {EDGE_WORDS[plate.lead]} from the print side"),
    ])  # fmt: skip


def _holds(subject: Subject, seen: PlannedSheet, measure: Measure) -> Block:
    """Return clamp, bar, tapes and trim, and where the laser may start and has to end."""
    told, room, keep = subject.lengths, subject.room, seen.plates[0].keep_out
    bars = [(station.name, station.bar_mm) for station in room.stations if station.bar_mm > 0]
    sides = {Edge.X0: "left", Edge.X1: "right"}
    near = measure.edges[0]
    start = getattr(keep, near.value)
    end = seen.across_mm - getattr(keep, (Edge.X1 if near is Edge.X0 else Edge.X0).value)
    lead, tail = keep.y0, seen.around_mm - keep.y1
    return told_fields("Clamp, tapes and laser", [
        ("Clamp", f"{told.told(room.imager.clamp_mm)} of the lead edge" if room.imager.clamp_mm else "none stated"),
        *((f"Bar, {name}", f"{told.told(depth)} of the lead edge") for name, depth in bars),
        ("Tapes", f"tail, left and right: {told.told(room.imager.drum_tape_mm)} of the plate each"
                  if room.imager.drum_tape_mm else "none stated"),
        ("Trim", f"{told.told(room.trim_of(seen.material))} all round after processing"),
        ("LASER around", f"may start {told.told(lead)} from the LEAD edge, ends at {told.told(tail)}"),
        ("LASER across", f"may start {told.told(start)} from the {sides[near].upper()} edge, ends at {told.told(end)}"),
    ])  # fmt: skip


def _images(subject: Subject, index: int, seen: PlannedSheet, measure: Measure) -> Block:
    told, plate = subject.lengths, subject.pattern.first.plates[index]
    if not plate.pieces:
        return paragraphs("Images", ["none"], WIDTH)
    rows = []
    for number, at, piece in subject.numbered(index):
        image = seen.plates[0].pieces[at].image
        rows.append([
            str(number),
            file_name(piece),
            told.exact(measure.x_of(image)),
            told.exact(measure.y_of(image)),
            told.exact(image.w),
            told.exact(image.h),
            f"{(piece.turn + 90 * QUARTERS[plate.lead]) % 360}°",
        ])
    heads = ["No", "file", "at across", "at around", "wide", "high", "turn"]
    title = f"Images, {told.unit.value}: nearest corner from the datum"
    made = table(title, heads, rows, right=frozenset((0, 2, 3, 4, 5, 6)), tick=True)
    return with_note(made, f"{datum_words(measure)} Turns are anticlockwise as seen from the print side.")


def with_note(block: Block, note: str) -> Block:
    """Return a block with a sentence beneath it."""
    lines = paragraphs("", [note], WIDTH).lines
    return replace(block, lines=(*block.lines, *lines))


def file_name(piece: PlacedPiece) -> str:
    """Return the name an image's file is expected under: job, separation and part.

    Examples
    --------
    >>> from nest.domain.plan import Rect
    >>> box = Rect(x=0.0, y=0.0, w=1.0, h=1.0)
    >>> file_name(PlacedPiece(job="24/17", separation="Reflex blue", part="", copy=1, rect=box, turn=0, image=box))
    '24-17_Reflex-blue'
    """
    words = [re.sub(r"[\s/\\:*?\"<>|]+", "-", one_line(word)) for word in (piece.job, piece.separation, piece.part)]
    return "_".join(word for word in words if word)
