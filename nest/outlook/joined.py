"""Plans made one after another as one plan: an offcut drawn later is part of the sheet that left it.

What a rest was credited and later charged with cancels out; parts of it are then credited at the sheet's own rate,
which is no less. So the one plan costs no more than the plans it is made of.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.domain.credit import rest_credit
from nest.domain.plan import CutStage, PlannedPlate, PlannedSheet, Rect, Rest, SourceKind
from nest.outlook.store_after import rest_name
from nest.packing.assemble import letters
from nest.units import area_m2, to_units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import RowKey
    from nest.domain.plan import Cut
    from nest.domain.room import Room


class Unjoinable(Exception):
    """A joined sheet would have more parts than the room parts a sheet into."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """The sheets of one plan of several, in order; ``name`` is the one its rests went into the store under."""

    name: str
    sheets: tuple[PlannedSheet, ...]


def joined(stages: Sequence[Stage], room: Room) -> tuple[PlannedSheet, ...]:
    """Return the sheets of all plans as sheets of one, with ids and copy numbers of their own.

    Raises
    ------
    Unjoinable
        If a sheet would be parted into more than ``raw_parts_max`` parts.
    """
    roots: list[PlannedSheet] = []
    home: dict[str, tuple[int, Rect]] = {}
    for stage in stages:
        for sheet in stage.sheets:
            source = sheet.source
            at, frame = home.pop(source.ref, (-1, None)) if source.kind is SourceKind.OFFCUT else (-1, None)
            if frame is None:
                at, frame = len(roots), Rect(x=0.0, y=0.0, w=sheet.across_mm, h=sheet.around_mm)
                roots.append(sheet)
            else:
                roots[at] = _inside(roots[at], sheet, frame, f"{stage.name} {sheet.id}")
            own = f"{stage.name} {sheet.id}"
            home |= {rest_name(own, rest.id): (at, _moved(rest.rect, frame)) for rest in sheet.rests if rest.kept}
    if any(len(sheet.plates) + len(sheet.rests) > room.costs.raw_parts_max for sheet in roots):
        raise Unjoinable
    ordered = sorted(roots, key=lambda sheet: (sheet.material, sheet.source.kind.value, sheet.source.ref))
    digits = max(2, len(str(len(ordered))))
    copies: Counter[RowKey] = Counter()
    return tuple(_named(sheet, f"S{n:0{digits}d}", room, copies) for n, sheet in enumerate(ordered, 1))


def _moved(rect: Rect, frame: Rect) -> Rect:
    return replace(rect, x=rect.x + frame.x, y=rect.y + frame.y)


def _inside(parent: PlannedSheet, child: PlannedSheet, frame: Rect, name: str) -> PlannedSheet:
    """Return a sheet with an offcut of it parted as planned later."""
    plates = tuple(_plate_moved(plate, frame, name) for plate in child.plates)
    rests = tuple(replace(rest, rect=_moved(rest.rect, frame)) for rest in child.rests)
    cuts = tuple(_cut_moved(cut, frame, name) for cut in child.cuts)
    others = tuple(rest for rest in parent.rests if rest.rect != frame)
    return replace(parent, plates=(*parent.plates, *plates), rests=(*others, *rests), cuts=(*parent.cuts, *cuts))


def _plate_moved(plate: PlannedPlate, frame: Rect, name: str) -> PlannedPlate:
    pieces = tuple(
        replace(piece, rect=_moved(piece.rect, frame), image=_moved(piece.image, frame)) for piece in plate.pieces
    )
    free = tuple(_moved(rect, frame) for rect in plate.free)
    return replace(plate, id=f"{name} {plate.id}", rect=_moved(plate.rect, frame), pieces=pieces, free=free)


def _cut_moved(cut: Cut, frame: Rect, name: str) -> Cut:
    plate = None if cut.plate is None else f"{name} {cut.plate}"
    return replace(
        cut, plate=plate, x1=cut.x1 + frame.x, x2=cut.x2 + frame.x, y1=cut.y1 + frame.y, y2=cut.y2 + frame.y
    )


def _named(sheet: PlannedSheet, name: str, room: Room, copies: Counter[RowKey]) -> PlannedSheet:
    """Return a sheet with its ids, copies counted on, cuts numbered raw ones first, and its best rests kept."""
    plates = sorted(sheet.plates, key=lambda plate: (plate.rect.y, plate.rect.x))
    ids = {plate.id: f"{name}-{letters(n)}" for n, plate in enumerate(plates)}
    cuts = sorted(sheet.cuts, key=lambda cut: cut.stage is not CutStage.RAW)
    return replace(
        sheet,
        id=name,
        plates=tuple(_counted(replace(plate, id=ids[plate.id]), copies) for plate in plates),
        rests=_kept(sheet, name, room),
        cuts=tuple(
            replace(cut, order=n, plate=None if cut.plate is None else ids[cut.plate]) for n, cut in enumerate(cuts, 1)
        ),
    )


def _counted(plate: PlannedPlate, copies: Counter[RowKey]) -> PlannedPlate:
    pieces = []
    for piece in plate.pieces:
        copies[piece.row] += 1
        pieces.append(replace(piece, copy=copies[piece.row]))
    return replace(plate, pieces=tuple(pieces))


def _kept(sheet: PlannedSheet, name: str, room: Room) -> tuple[Rest, ...]:
    """Return a sheet's rests with the credits of its own rate, those worth most kept."""
    share = 1.0 if sheet.source.kind is SourceKind.OFFCUT else room.costs.offcut_value
    rate = share * sheet.cost / area_m2(to_units(sheet.across_mm), to_units(sheet.around_mm))
    rests = sorted(sheet.rests, key=lambda rest: (rest.rect.y, rest.rect.x))
    worth = [rest_credit(room.costs, rate, rest.rect.w, rest.rect.h) if rest.kept else 0.0 for rest in rests]
    able = [n for n, rest in enumerate(rests) if rest.kept and (worth[n] > 0 or room.costs.offcut_value == 0)]
    best = set(sorted(able, key=lambda n: (-worth[n], n))[: room.costs.offcuts_per_sheet])
    return tuple(
        replace(rest, id=f"{name}-R{n + 1}", kept=n in best, credit=worth[n] if n in best else 0.0)
        for n, rest in enumerate(rests)
    )
