"""The numbers of pieces: the same on every guide of a sheet, in the order in which finish cutting sets them free."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.plan import CutStage
from nest.output.views.steps import same, steps

if TYPE_CHECKING:
    from nest.domain.plan import PlannedSheet
    from nest.output.patterns import Pattern

NumberedPiece = tuple[int, int, int]
"""Number on the guide, index of the plate, index of the piece on it."""


def numbered_pieces(pattern: Pattern) -> list[NumberedPiece]:
    """Return the pieces of a pattern numbered plate by plate in the order in which the finish cuts free them.

    Pieces that no cut frees come last, from the top down and left to right; so do all of a plate that is cut freely.
    """
    sheet = pattern.first
    order = []
    for plate_index, plate in enumerate(sheet.plates):
        freed = _freed(sheet, plate_index)
        order += [
            (plate_index, freed.get(index, len(sheet.cuts)), -piece.rect.y, piece.rect.x, index)
            for index, piece in enumerate(plate.pieces)
        ]
    return [(number, plate, index) for number, (plate, *_, index) in enumerate(sorted(order), start=1)]


def _freed(sheet: PlannedSheet, plate_index: int) -> dict[int, int]:
    """Return which finish cut, counted from 0, sets each piece of a plate free."""
    plate = sheet.plates[plate_index]
    own = [cut for cut in sheet.cuts if cut.stage is CutStage.FINISH and cut.plate == plate.id]
    found: dict[int, int] = {}
    left = dict(enumerate(plate.pieces))
    for number, step in enumerate(steps(plate.rect, own)):
        for half in (step.low, step.high):
            if half is not None:
                index = next((index for index, piece in left.items() if same(half, piece.rect)), None)
                if index is not None:
                    found[index] = number
                    del left[index]
    return found
