"""What stands on the labels: one for each piece in cutting order, one for each plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.patterns import Pattern
from nest.output.views.numbering import numbered_pieces
from nest.output.words import EDGE_WORDS, counted, length_words, one_line, piece_size, size_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlacedPiece, Plan, PlannedPlate, PlannedSheet
    from nest.domain.room import Room, Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelText:
    """One label: its head in large letters and the lines beneath; ``lead`` where its foot stands for a lead edge."""

    head: str
    lines: tuple[str, ...]
    lead: bool


def piece_labels(plan: Plan, room: Room, rows: Mapping[RowKey, Row], key: str) -> tuple[LabelText, ...]:
    """Return a label for each piece in the order of sheets and of the numbers on the guide; ``key`` names the plan."""
    out = []
    for sheet in plan.sheets:
        alone = Pattern(sheets=(sheet,), copies=())
        for number, plate, index in numbered_pieces(alone):
            piece = sheet.plates[plate].pieces[index]
            out.append(_piece(number, sheet.plates[plate], piece, rows.get(piece.row), room.unit, key))
    return tuple(out)


def _piece(number: int, plate: PlannedPlate, piece: PlacedPiece, row: Row | None, unit: Unit, key: str) -> LabelText:
    across, around = piece_size(piece)
    copies = 1 if row is None else row.copies
    copy = f"copy {piece.copy} of {copies}" if copies > 1 else "only copy"
    repeat = None if row is None else row.repeat_mm
    turn = f"repeat {length_words(repeat, unit)} {unit.value}" if repeat is not None else "no repeat stated"
    lines = [one_line(" ".join(word for word in (piece.separation, piece.part) if word))]
    if row is not None and row.customer:
        lines.append(one_line(row.customer))
    lines += [
        f"{copy} · {turn}",
        f"{size_words(across, around, unit)}",
        f"{one_line(plate.id)} no. {number} · plan {key}",
    ]
    return LabelText(head=one_line(piece.job), lines=tuple(lines), lead=False)


def plate_labels(plan: Plan, room: Room, key: str) -> tuple[LabelText, ...]:
    """Return a label for each plate in the plan's order; ``key`` names the plan."""
    return tuple(_plate(sheet, plate, room.unit, key) for sheet in plan.sheets for plate in sheet.plates)


def _plate(sheet: PlannedSheet, plate: PlannedPlate, unit: Unit, key: str) -> LabelText:
    lot = f"lot {sheet.lot}" if sheet.lot else "lot not stated"
    until = f"use by {sheet.expiry}" if sheet.expiry else "no expiry stated"
    lines = (
        one_line(sheet.material + (f" · {plate.group}" if plate.group else "")),
        size_words(plate.across_mm, plate.around_mm, unit),
        f"{counted(len(plate.pieces), 'piece')} · lead: {EDGE_WORDS[plate.lead]} of {one_line(sheet.id)}",
        one_line(f"{sheet.source.ref} · {lot}"),
        one_line(f"{until} · plan {key}"),
    )
    return LabelText(head=one_line(plate.id), lines=lines, lead=True)
