"""Each row's piece as a table: image, shortening, cut size, and whether it goes round its cylinder."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from nest.domain.room import Unit
from nest.output.text_columns import aligned_table
from nest.output.words import length_words, one_line
from nest.units import MM_PER_INCH, to_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.plates.pieces import Piece

_HEAD = ("job", "separation", "part", "material", "copies", "image across", "image around", "repeat", "factor",
         "cut across", "cut around", "turn", "goes round")  # fmt: skip
_NUMBERS = range(4, 11)
_CSV_HEAD = ("job", "separation", "part", "material", "copies", "image_across", "image_around", "repeat", "factor",
             "plate_image_around", "cut_across", "cut_around", "turn", "longest_around", "goes_round",
             "unit")  # fmt: skip


def pieces_text(pieces: Sequence[Piece], unit: Unit) -> str:
    """Return an aligned table of pieces, one line each, lengths in the room's unit, ending in a newline."""
    return aligned_table(_HEAD, [_cells(piece, unit) for piece in pieces], _NUMBERS)


def pieces_csv(pieces: Sequence[Piece], unit: Unit) -> str:
    """Return the table as CSV, lengths as plain numbers in the room's unit at full precision.

    ``plate_image_around`` is the image after shortening, ``longest_around`` the longest piece that goes round.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_CSV_HEAD)
    for piece in pieces:
        row = piece.row
        writer.writerow([
            _cell(row.job), _cell(row.separation), _cell(row.part), _cell(row.material), row.copies,
            *(_number(mm, unit) for mm in (row.image_across_mm, row.image_around_mm, row.repeat_mm)),
            f"{piece.factor:.9g}",
            *(_number(to_mm(size), unit) for size in (piece.image_h, piece.w, piece.h)),
            piece.turn.value, _number(piece.wrap_limit_mm, unit), _round_word(piece, ""), unit.value,
        ])  # fmt: skip
    return out.getvalue()


def _cells(piece: Piece, unit: Unit) -> tuple[str, ...]:
    row = piece.row
    sizes = (row.image_across_mm, row.image_around_mm)
    return (
        *(one_line(word) for word in (row.job, row.separation, row.part, row.material)),
        str(row.copies),
        *(length_words(mm, unit) for mm in sizes),
        "-" if row.repeat_mm is None else length_words(row.repeat_mm, unit),
        f"{piece.factor:.6f}",
        *(length_words(to_mm(size), unit) for size in (piece.w, piece.h)),
        piece.turn.value,
        _round_word(piece, "-"),
    )


def _round_word(piece: Piece, without: str) -> str:
    if piece.wrap_limit_mm is None:
        return without
    return "yes" if piece.goes_round else "no"


def _number(mm: float | None, unit: Unit) -> str:
    if mm is None:
        return ""
    return f"{mm if unit is Unit.MM else mm / MM_PER_INCH:.9g}"


def _cell(text: str) -> str:
    """Return a text cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")) else text
