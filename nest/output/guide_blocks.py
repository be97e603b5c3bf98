"""What stands beside the sheet on a guide: title block, check lines, key, plates, cuts, pieces, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.plan import CutStage
from nest.domain.room import Cutting, Unit
from nest.output.areas import sheet_areas
from nest.output.panels import CHECK_MM, ONE, Block, Cell, Line, block_width, fields, line_of, paragraphs, table
from nest.output.piece_label import copy_words
from nest.output.sheet_drawing import numbered_pieces
from nest.output.text_fit import LEADING
from nest.output.words import (
    EDGE_WORDS,
    decimal,
    length_words,
    one_line,
    percent,
    piece_size,
    rect_words,
    size_words,
)
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import PlannedPlate
    from nest.domain.room import Room
    from nest.output.cut_list import Setting
    from nest.output.panels import Sample
    from nest.output.patterns import Pattern

SHEET_TITLE = "This sheet"
"""Title of the block the check lines follow."""
_LEAST_WIDTH_EM = 38.0
_CAUTIONS = (
    "Raw sheets: print side (mask) up, protective film on, under yellow light only; keep them flat.",
    "Knife and guillotine: guards in place, hands clear of the blade, cut-resistant glove on the hand that holds.",
    "Uncured polymer harms skin: wear gloves, keep trimmings and dust off skin, wash before eating.",
    "Local rules, the material's data sheet, the machine's manual and the room's qualified safety person come first; "
    "only trained people cut.",
)
_CUT_NOTES = (
    "Cut in the order of the numbers. Lines that run across: stop from the BOTTOM edge; lines that run around: stop "
    "from the LEFT edge.",
    "Raw cuts: edges of the sheet. Finish cuts: edges of the plate as drawn here. "
    "'In hand' is the same cut from that edge of the part then in hand.",
)
_FREE_NOTE = (
    "Processed plates: cut every piece along its own edges by knife or on the cutting table; the table of pieces "
    "gives its lower left corner and size."
)
_KEY: tuple[tuple[Sample, str], ...] = (
    ("raw", "raw cut, number in a square"),
    ("finish", "finish cut, number in a rounded box"),
    ("piece", "piece, cut to this edge"),
    ("image", "image inside its floor border"),
    ("keep-out", "keep-out: clamp, tape, trim"),
    ("lead", "lead edge: goes into the clamp"),
    ("arrow", "around, from lead to tail of the piece"),
    ("kept", "rest to keep"),
    ("scrap", "rest to scrap"),
)


def guide_blocks(
    pattern: Pattern, room: Room, rows: Sequence[Row], key: str, cuts: Sequence[Setting], warnings: Sequence[str] = ()
) -> list[Block]:
    """Return the blocks beside the sheet in reading order, all but the check lines (they keep their length).

    Warnings stand first, where there are any.
    """
    tables = [_plates(pattern, room), *_cuts(pattern, room, cuts), _pieces(pattern, room)]
    width = max(_LEAST_WIDTH_EM * ONE.table, *(block_width(block) for block in tables))
    notes = [*(_CUT_NOTES if cuts else ()), *((_FREE_NOTE,) if room.cutting is Cutting.FREE else ())]
    return [
        *((paragraphs("WARNING", warnings, width),) if warnings else ()),
        _sheet(pattern, room, key, width),
        paragraphs("Caution", _CAUTIONS, width),
        _lines_key(),
        tables[0],
        *_jobs(pattern, rows),
        *((paragraphs("How to cut", notes, width),) if notes else ()),
        *tables[1:],
    ]


def _sheet(pattern: Pattern, room: Room, key: str, width: float) -> Block:
    sheet, unit, times = pattern.first, room.unit, len(pattern.sheets)
    area = sheet_areas(sheet)
    pairs = [
        ("Sheet", f"{sheet.id} × {times}, ids as on {sheet.id}" if times > 1 else sheet.id),
        ("Plan", key),
        ("Take", f"{sheet.source.kind.value} {sheet.source.ref}"),
        ("Material", sheet.material),
        ("Lot", sheet.lot or "not stated"),
        ("Use by", sheet.expiry or "not stated"),
        ("Size", size_words(sheet.across_mm, sheet.around_mm, unit)),
        ("Yield", f"pieces {percent(area.gross)}, image {percent(area.image_yield)} of the sheet"),
    ]
    if times > 1:
        pairs.insert(1, ("Sheets", ", ".join(other.id for other in pattern.sheets)))
    if area.kept > 0:
        pairs.append(("", f"pieces {percent(area.credited)} of the sheet less rests kept"))
    kept = [rest for rest in sheet.rests if rest.kept]
    scrap = [rest for rest in sheet.rests if not rest.kept]
    pairs += [("Keep", f"{rest.id}: {rect_words(rest.rect, unit)}") for rest in kept] or [("Keep", "nothing")]
    pairs += [("Scrap", f"{rest.id}: {rect_words(rest.rect, unit)}") for rest in scrap] or [("Scrap", "nothing")]
    return fields(SHEET_TITLE, [(name, one_line(value)) for name, value in pairs], width)


def check_block(k: float) -> Block:
    """Return the 100 mm check lines with their words, for a page reduced by ``k``."""
    size, beside, long = ONE.table, 2.5 + 1.2 * ONE.table, CHECK_MM / k
    words = "100 mm: measure before cutting"
    first = line_of(LEADING * size, Cell(x=beside, words=f"around {words}"), sample="check", least=long + 2.0)
    drop = Line(height=max(0.0, long + 0.8 - 2.3 * LEADING * size))
    second = line_of(LEADING * size, Cell(x=beside, words=f"across {words}"))
    last = Line(height=1.3 * LEADING * size)
    return Block(title="Check the scale", lines=(first, drop, second, last), whole=True)


def _lines_key() -> Block:
    lines = tuple(
        line_of(LEADING * ONE.table * 1.1, Cell(x=6.2 * ONE.table, words=words), sample=sample)
        for sample, words in _KEY
    )
    return Block(title="Lines and areas", lines=lines, whole=True)


def _plates(pattern: Pattern, room: Room) -> Block:
    unit = room.unit
    rows = []
    for plate in pattern.first.plates:
        rows.append([
            one_line(plate.id),
            length_words(plate.across_mm, unit),
            length_words(plate.around_mm, unit),
            EDGE_WORDS[plate.lead],
            str(len(plate.pieces)),
            one_line(plate.group) or "usual",
        ])
    heads = ["Plate", f"across {unit.value}", f"around {unit.value}", "lead edge here", "pieces", "group"]
    return table("Plates as they go on the drum", heads, rows, right=frozenset((1, 2, 4)))


def _jobs(pattern: Pattern, rows: Sequence[Row]) -> list[Block]:
    """Return customer, title and press of the jobs on this sheet, where the rows state any."""
    here = {piece.job for plate in pattern.first.plates for piece in plate.pieces}
    told: dict[str, tuple[str, str, str]] = {}
    for row in rows:
        before = told.get(row.job, ("", "", ""))
        if row.job in here:
            now = (row.customer, row.title, row.press)
            told[row.job] = (before[0] or now[0], before[1] or now[1], before[2] or now[2])
    lines = [[one_line(job), *map(one_line, words)] for job, words in sorted(told.items()) if any(words)]
    heads = ["job", "customer", "title", "press"]
    return [table("Jobs on this sheet", heads, lines, right=frozenset())] if lines else []


def _cuts(pattern: Pattern, room: Room, cuts: Sequence[Setting]) -> list[Block]:
    inch = room.unit is Unit.INCH
    blocks = []
    for stage, title in (
        (CutStage.RAW, "Raw cuts, before imaging"),
        (CutStage.FINISH, "Finish cuts, processed plates"),
    ):
        chosen = [setting for setting in cuts if setting.cut.stage is stage]
        if not chosen:
            continue
        heads = ["Cut", "of", "line runs", "from", "stop mm", *(("stop in",) if inch else ()), "in hand mm",
                 *(("in hand in",) if inch else ())]  # fmt: skip
        right = frozenset((0, 4, 5, 6, 7) if inch else (0, 4, 5))
        rows = [_cut_row(setting, pattern.first.plates, inch) for setting in chosen]
        blocks.append(table(title, heads, rows, right=right))
    return blocks


def _cut_row(setting: Setting, plates: Sequence[PlannedPlate], inch: bool) -> list[str]:
    whose = "sheet" if setting.cut.plate is None else one_line(setting.cut.plate)
    return [
        str(setting.cut.order),
        whose,
        "across" if setting.runs_across else "around",
        setting.edge,
        *_lengths(setting.stop_mm, inch),
        *_lengths(setting.part_mm, inch),
    ]


def _lengths(mm: float | None, inch: bool) -> tuple[str, ...]:
    """Return a length to set in mm, in an inch room in inches too."""
    if mm is None:
        return ("-", "-") if inch else ("-",)
    return (decimal(mm, 2), *((decimal(mm / MM_PER_INCH, 3),) if inch else ()))


def _pieces(pattern: Pattern, room: Room) -> Block:
    unit, sheet = room.unit, pattern.first
    out = []
    for number, plate_index, index in numbered_pieces(pattern):
        piece = sheet.plates[plate_index].pieces[index]
        across, around = piece_size(piece)
        out.append([
            str(number),
            one_line(piece.job),
            one_line(piece.separation),
            one_line(piece.part),
            copy_words(pattern.copies[plate_index][index]),
            length_words(across, unit),
            length_words(around, unit),
            f"{piece.turn}°",
            length_words(piece.rect.x, unit),
            length_words(piece.rect.y, unit),
        ])
    heads = ["No", "job", "separation", "part", "copy", "across", "around", "turn", "x", "y"]
    title = f"Pieces, {unit.value}; x, y from the sheet's lower left"
    return table(title, heads, out, right=frozenset((0, 5, 6, 7, 8, 9)))
