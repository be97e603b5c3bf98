"""The third door between the two vocabularies: planned sheets back to filled bins, and on to planned sheets again.

A piece that stays where it is stays the record it was; ids of sheets, plates and rests stay with what they name.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage, Edge
from nest.domain.totals import sheet_cost
from nest.packing.assemble import Draft, letters, planned_sheet
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout
from nest.packing.windows import plate_lateness
from nest.units import to_units

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from nest.domain.job import RowKey
    from nest.domain.plan import PlacedPiece, PlannedPlate, PlannedSheet, Rect
    from nest.domain.room import Room
    from nest.packing.translate import MaterialProblem

Slot = tuple[int, int]
"""Unit and item in it: one copy of a row."""
SAME_MONEY = 0.005


class Slots:
    """The copies of each row that have no piece yet."""

    def __init__(self, material: MaterialProblem) -> None:
        self._free: dict[RowKey, list[Slot]] = defaultdict(list)
        for u, members in enumerate(material.members):
            for i, piece in enumerate(members):
                self._free[piece.row.key].append((u, i))
        self._material = material

    def take(self, piece: PlacedPiece) -> Slot | None:
        """Return the next copy of a piece's row, None where none is wanted or the row's piece has another size now."""
        free = self._free.get(piece.row)
        if not free:
            return None
        u, i = free[0]
        item = self._material.problem.units[u].items[i]
        size = (item.w, item.h) if axis_of(piece) == 0 else (item.h, item.w)
        if (to_units(piece.rect.w), to_units(piece.rect.h)) != size:
            return None
        if item.axes and not item.axes & (1 << axis_of(piece)):
            return None
        return free.pop(0)


def axis_of(piece: PlacedPiece) -> int:
    """Return the sheet axis a piece lies along: 0 as given, 1 turned by a quarter."""
    return piece.turn // 90 % 2


def bin_index(material: MaterialProblem, sheet: PlannedSheet) -> int | None:
    """Return the bin type a sheet was drawn from, None where the stock has no such sheet of this size any more."""
    for at, stocked in enumerate(material.stock):
        if stocked.entry.id == sheet.source.ref and stocked.is_offcut == (sheet.source.kind.value == "offcut"):
            b = material.problem.bins[at]
            same = (b.w, b.h) == (to_units(sheet.across_mm), to_units(sheet.around_mm))
            return at if same else None
    return None


def filled_bin(
    material: MaterialProblem, room: Room, sheet: PlannedSheet, index: int, slots: Mapping[PlacedPiece, Slot]
) -> BinLayout:
    """Return a planned sheet as a filled bin of those pieces that have a slot; plates may come out empty."""
    plates = []
    for plate in sheet.plates:
        placed = tuple(
            Placed(unit=slots[p][0], item=slots[p][1], x=to_units(p.rect.x), y=to_units(p.rect.y), axis=axis_of(p))
            for p in plate.pieces
            if p in slots
        )
        level = min((material.problem.units[p.unit].level for p in placed), default=0)
        lead = 1 if plate.lead in (Edge.X0, Edge.X1) else 0
        r = plate.rect
        plates.append(PlateLayout(
            x=to_units(r.x), y=to_units(r.y), w=to_units(r.w), h=to_units(r.h), lead=lead, level=level, placed=placed
        ))  # fmt: skip
    rests = tuple(
        RestLayout(x=to_units(r.rect.x), y=to_units(r.rect.y), w=to_units(r.rect.w), h=to_units(r.rect.h), kept=r.kept)
        for r in sheet.rests
    )
    raw = sorted((c for c in sheet.cuts if c.stage is CutStage.RAW), key=lambda c: c.order)
    cuts = tuple((to_units(c.x1), to_units(c.y1), to_units(c.x2), to_units(c.y2)) for c in raw)
    cost = sheet_cost(replace(sheet, cost=material.problem.bins[index].price), room)
    cost += sum(plate_lateness(material.problem, plate) for plate in plates)
    return BinLayout(bin=index, cost=cost, plates=tuple(plates), rests=rests, cuts=cuts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stayed:
    """An earlier sheet with its bin as it was and the slots of its pieces."""

    sheet: PlannedSheet
    layout: BinLayout
    slots: Mapping[PlacedPiece, Slot]


def again(
    room: Room, material: MaterialProblem, layout: BinLayout, name: str, before: Stayed | None,
    numbers: Mapping[Slot, int],
) -> PlannedSheet:  # fmt: skip
    """Return the planned sheet of a filled bin.

    Parameters
    ----------
    name : str
        The sheet's id.
    before : Stayed or None
        The sheet of this id as it was; None where it is new.
    numbers : mapping of slot to int
        The copy number of every placed item.
    """
    if before is not None and unchanged(before, layout, numbers):
        sheet = before.sheet
        if abs(sheet.cost - material.problem.bins[layout.bin].price) <= SAME_MONEY:
            return sheet
    copies = {(0, u, i): n for (u, i), n in numbers.items()}
    made = planned_sheet(room, Draft(material=material, layout=layout), name, copies, 0)
    return made if before is None else with_old_names(made, before.sheet)


def unchanged(before: Stayed, layout: BinLayout, numbers: Mapping[Slot, int]) -> bool:
    """Return whether a sheet's bin holds what it held, all its pieces under their copy numbers."""
    pieces = [piece for plate in before.sheet.plates for piece in plate.pieces]
    return layout == before.layout and all(
        piece in before.slots and numbers.get(before.slots[piece]) == piece.copy for piece in pieces
    )


def with_old_names(made: PlannedSheet, old: PlannedSheet) -> PlannedSheet:
    """Return a sheet whose plates and rests that were there before have their old ids, and pieces their old turn."""
    plate_ids = new_ids(
        [(p.id, p.rect) for p in made.plates], {p.rect: p.id for p in old.plates},
        (f"{old.id}-{letters(n)}" for n in range(10_000)),
    )  # fmt: skip
    rest_ids = new_ids(
        [(r.id, r.rect) for r in made.rests], {r.rect: r.id for r in old.rests},
        (f"{old.id}-R{n}" for n in range(1, 10_000)),
    )  # fmt: skip
    was = {(p.row, p.copy, p.rect): p for plate in old.plates for p in plate.pieces}
    plates = tuple(
        replace(plate, id=plate_ids[plate.id], pieces=stayed_pieces(plate, was)) for plate in made.plates
    )
    return replace(
        made,
        plates=tuple(sorted(plates, key=lambda p: (len(p.id), p.id))),
        rests=tuple(replace(rest, id=rest_ids[rest.id]) for rest in made.rests),
        cuts=tuple(replace(cut, plate=plate_ids[cut.plate] if cut.plate else None) for cut in made.cuts),
    )


def stayed_pieces(plate: PlannedPlate, was: Mapping[tuple[RowKey, int, Rect], PlacedPiece]) -> tuple[PlacedPiece, ...]:
    """Return a plate's pieces, those that did not move as they were, half turns too."""
    out = []
    for piece in plate.pieces:
        old = was.get((piece.row, piece.copy, piece.rect))
        out.append(old if old is not None and axis_of(old) == axis_of(piece) else piece)
    return tuple(out)


def new_ids(made: Sequence[tuple[str, Rect]], old: Mapping[Rect, str], fresh: Iterable[str]) -> dict[str, str]:
    """Return the id of each part: its old one where one of the same rectangle was there, else the next one not used."""
    used = set(old.values())
    names = (name for name in fresh if name not in used)
    return {made_id: old[rect] if rect in old else next(names) for made_id, rect in made}
