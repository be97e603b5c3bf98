"""What `nest check` and `nest pieces` do: read the inputs and say what they mean, planning nothing."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from nest.cli.streams import show, tell
from nest.domain.job import Need
from nest.intake.week import read_week
from nest.output.notices import told_warnings
from nest.output.pieces_table import pieces_csv, pieces_text
from nest.output.words import counted, one_line, size_words
from nest.plates.gaps import gap_warnings
from nest.plates.pieces import piece_of, wrap_warning

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room, Sheet


def check_inputs(jobs: Path, room_path: Path) -> int:
    """Read both files and print what they hold, warnings first; return the exit code.

    Raises
    ------
    InputError
        With every fault of both files.
    """
    rows, room = read_week(jobs, room_path)
    lines = _warning_lines([*wraps(rows, room), *gap_warnings(room, rows)], rows)
    lines += [f"{jobs}: {_rows_words(rows)}", f"{room_path}: {_room_words(room)}", *_stock_lines(rows, room)]
    show("".join(f"{line}\n" for line in lines) + "no fault found\n")
    return 0


def print_pieces(jobs: Path, room_path: Path, *, as_csv: bool) -> int:
    """Print each row's piece, wrap warnings first (with CSV on standard error); return the exit code.

    Raises
    ------
    InputError
        With every fault of both files.
    """
    rows, room = read_week(jobs, room_path)
    warnings = _warning_lines(wraps(rows, room), rows)
    pieces = [piece_of(row, room) for row in rows]
    if as_csv:
        for warning in warnings:
            tell(warning)
        show(pieces_csv(pieces, room.unit))
        return 0
    head = "".join(f"{warning}\n" for warning in warnings) + ("\n" if warnings else "")
    show(f"{head}{pieces_text(pieces, room.unit)}lengths in {room.unit.value}\n")
    return 0


def wraps(rows: Sequence[Row], room: Room) -> Iterator[str]:
    """Yield a warning for every row whose piece does not go round its cylinder."""
    for row in rows:
        text = wrap_warning(piece_of(row, room), room)
        if text is not None:
            yield one_line(text)


def _warning_lines(warnings: Iterable[str], rows: Sequence[Row]) -> list[str]:
    return [f"warning: {text}" for text in told_warnings(warnings, [row.key for row in rows])]


def _rows_words(rows: Sequence[Row]) -> str:
    pieces = sum(row.copies for row in rows)
    fill = sum(row.copies for row in rows if row.need is Need.FILL)
    words = [counted(len(rows), "row"), counted(len({row.job for row in rows}), "job"), counted(pieces, "piece")]
    return ", ".join(words) + (f", {fill} of them only fill free area" if fill else "")


def _room_words(room: Room) -> str:
    words = [
        counted(len(room.materials), "material"),
        counted(len(room.sheets), "stocked sheet"),
        counted(len(room.offcuts), "offcut"),
        counted(len(room.stations), "station"),
        f"{room.cutting.value} cutting",
        f"lengths in {room.unit.value}",
    ]
    return ", ".join(words)


def _stock_lines(rows: Sequence[Row], room: Room) -> list[str]:
    """Return a line per material: what is asked for and what is in the store."""
    asked: dict[str, int] = defaultdict(int)
    for row in rows:
        asked[row.material] += row.copies
    lines = []
    for name in room.materials:
        sheets = [_sheet_words(sheet, room) for sheet in room.sheets if sheet.material == name]
        offcuts = sum(offcut.material == name for offcut in room.offcuts)
        store = [*sheets, *([counted(offcuts, "offcut")] if offcuts else [])]
        lines.append(f"  {name}: {counted(asked[name], 'piece')}; store: {'; '.join(store) or 'nothing'}")
    return lines


def _sheet_words(sheet: Sheet, room: Room) -> str:
    count = "any number" if sheet.on_hand is None else f"{sheet.on_hand}"
    kept = f" ({sheet.keep_back} kept back)" if sheet.keep_back else ""
    return f"{count} of {size_words(sheet.across_mm, sheet.around_mm, room.unit)}{kept}"
