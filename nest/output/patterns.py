"""Equal sheets once: which sheets of a plan are cut alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from nest.domain.plan import PlacedPiece, Plan, PlannedPlate, PlannedSheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """Sheets that differ in nothing but ids and copy numbers, in the plan's order.

    ``copies`` holds, for each plate and piece of the first sheet, the copy numbers sheet by sheet.
    """

    sheets: tuple[PlannedSheet, ...]
    copies: tuple[tuple[tuple[int, ...], ...], ...]

    @property
    def first(self) -> PlannedSheet:
        """The sheet whose ids the guide shows."""
        return self.sheets[0]


def patterns(plan: Plan) -> tuple[Pattern, ...]:
    """Return the plan's sheets grouped by equal pattern, ordered by first sheet.

    Equal means: same source, material, lot, expiry and cost, and the same plates, pieces (job, separation, part, place,
    turn), rests and cuts. Plates stand in the same order; pieces may stand in any.
    """
    groups: dict[Hashable, list[PlannedSheet]] = {}
    for sheet in plan.sheets:
        groups.setdefault(_likeness(sheet), []).append(sheet)
    return tuple(Pattern(sheets=tuple(sheets), copies=_copies(sheets)) for sheets in groups.values())


def _copies(sheets: Sequence[PlannedSheet]) -> tuple[tuple[tuple[int, ...], ...], ...]:
    out = []
    for index, plate in enumerate(sheets[0].plates):
        by_place = [{_place(piece): piece.copy for piece in sheet.plates[index].pieces} for sheet in sheets]
        out.append(tuple(tuple(copies[_place(piece)] for copies in by_place) for piece in plate.pieces))
    return tuple(out)


def _likeness(sheet: PlannedSheet) -> Hashable:
    number = {plate.id: index for index, plate in enumerate(sheet.plates)}
    cuts = tuple(
        (cut.order, cut.stage, None if cut.plate is None else number.get(cut.plate), cut.x1, cut.y1, cut.x2, cut.y2)
        for cut in sheet.cuts
    )
    rests = tuple((rest.rect, rest.kept, rest.credit) for rest in sheet.rests)
    size = (sheet.across_mm, sheet.around_mm, sheet.cost)
    stock = (sheet.source, sheet.material, sheet.lot, sheet.expiry)
    return stock, size, tuple(_plate_likeness(plate) for plate in sheet.plates), rests, cuts


def _plate_likeness(plate: PlannedPlate) -> Hashable:
    return plate.rect, plate.lead, plate.keep_out, plate.process, plate.group, frozenset(map(_place, plate.pieces))


def _place(piece: PlacedPiece) -> Hashable:
    return piece.row, piece.rect, piece.turn, piece.image, piece.outline
