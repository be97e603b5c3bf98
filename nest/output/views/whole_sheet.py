"""The sheet at a glance: everything on it in one drawing, with the table of its pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.output.areas import sheet_areas
from nest.output.panels import check_block, table
from nest.output.piece_label import copy_words
from nest.output.sheet_drawing import Show
from nest.output.views.blocks import (
    KNIFE,
    POLYMER,
    RAW,
    caution_block,
    datum_words,
    jobs_block,
    key_block,
    sheet_pairs,
    told_fields,
    warning_blocks,
)
from nest.output.views.facing import Side, measure_of
from nest.output.views.loading_card import with_note
from nest.output.views.page_drawing import PageSpec
from nest.output.words import EDGE_WORDS, one_line, percent, piece_size

if TYPE_CHECKING:
    from nest.output.panels import Block
    from nest.output.views.blocks import Subject
    from nest.output.views.facing import Measure


def whole_sheet(subject: Subject) -> PageSpec:
    """Return the page that shows a whole sheet from the print side: plates, pieces, rests and raw cuts."""
    sheet = subject.pattern.first
    measure = measure_of(subject.room.guides, Side.PRINT, sheet.across_mm, sheet.around_mm)
    size = subject.lengths.size(sheet.across_mm, sheet.around_mm)
    lot = f"lot {sheet.lot}" if sheet.lot else "lot not stated"
    first = [*warning_blocks(subject), _about(subject)]
    return PageSpec(
        title=one_line(f"CUTTING GUIDE {sheet.id}{subject.times}"),
        info=one_line(f"{sheet.material} · {size} · {lot} · plan {subject.key}"),
        side=Side.PRINT,
        sheet=sheet,
        items=subject.items(sheet, range(len(sheet.plates))),
        show=Show(pieces=True, keep_outs=True, raw=True, rests=True, unused=True, details=False,
                  times=len(subject.pattern.sheets)),
        blocks=[
            *first,
            _plates(subject),
            *jobs_block(subject, {piece.job for plate in sheet.plates for piece in plate.pieces}),
            _pieces(subject, measure),
            caution_block(RAW, KNIFE, POLYMER),
            check_block(1.0),
            key_block(("datum", "raw", "piece", "image", "keep-out", "lead", "arrow", "kept", "scrap")),
        ],
        first=len(first),
        measure=measure,
    )  # fmt: skip


def _about(subject: Subject) -> Block:
    sheet, area, told = subject.pattern.first, sheet_areas(subject.pattern.first), subject.lengths
    pairs = sheet_pairs(subject)
    pairs.append(("Yield", f"pieces {percent(area.gross)}, image {percent(area.image_yield)} of the sheet"))
    if area.kept > 0:
        pairs.append(("", f"pieces {percent(area.credited)} of the sheet less rests kept"))
    for word, kept in (("Keep", True), ("Scrap", False)):
        rests = [rest for rest in sheet.rests if rest.kept is kept]
        pairs += [(word, f"{rest.id}: {told.size(rest.rect.w, rest.rect.h)}") for rest in rests] or [(word, "nothing")]
    return told_fields("This sheet", pairs)


def _plates(subject: Subject) -> Block:
    told = subject.lengths
    rows = [
        [
            one_line(plate.id),
            told.exact(plate.across_mm),
            told.exact(plate.around_mm),
            EDGE_WORDS[plate.lead],
            str(len(plate.pieces)),
            one_line(plate.group) or "usual",
        ]
        for plate in subject.pattern.first.plates
    ]
    unit = told.unit.value
    heads = ["Plate", f"across {unit}", f"around {unit}", "lead edge here", "pieces", "group"]
    return table("Plates as they go on the drum", heads, rows, right=frozenset((1, 2, 4)))


def _pieces(subject: Subject, measure: Measure) -> Block:
    told, sheet = subject.lengths, subject.pattern.first
    rows = []
    for plate_index in range(len(sheet.plates)):
        for number, index, piece in subject.numbered(plate_index):
            across, around = piece_size(piece)
            rows.append([
                str(number),
                one_line(piece.job),
                one_line(piece.separation),
                one_line(piece.part),
                copy_words(subject.pattern.copies[plate_index][index]),
                told.exact(across),
                told.exact(around),
                f"{piece.turn}°",
                told.exact(measure.x_of(piece.rect)),
                told.exact(measure.y_of(piece.rect)),
            ])
    heads = ["No", "job", "separation", "part", "copy", "across", "around", "turn", "x", "y"]
    made = table(f"Pieces, {told.unit.value}", heads, rows, right=frozenset((0, 5, 6, 7, 8, 9)))
    return with_note(made, datum_words(measure))
