"""From revised materials to a plan's sheets: what stayed keeps its ids and copy numbers, what is new gets the next."""

from __future__ import annotations

import re
from collections import defaultdict
from typing import TYPE_CHECKING

from nest.packing.assemble import Draft, order_key
from nest.packing.refit import NEW
from nest.packing.resume import again

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room
    from nest.packing.problem import BinLayout
    from nest.packing.resume import Slot, Stayed
    from nest.revise.material import Settled

LEAST_DIGITS = 2


def sheet_number(name: str) -> int:
    """Return the number in a sheet's id, 0 where it has none."""
    found = re.fullmatch(r"S(\d+)", name)
    return int(found[1]) if found else 0


def numbered(settled: Settled, copies: Mapping[RowKey, int]) -> dict[Slot, int]:
    """Return the copy number of every placed item of a material.

    A copy that stands keeps its number, as does one that had a place before, as long as its row still has that number;
    the others get the lowest that are free, in the order of the sheets.
    """
    members = settled.ground.work.material.members
    numbers: dict[Slot, int] = {}
    taken: dict[RowKey, set[int]] = defaultdict(set)
    placed = [slot for layout in settled.layouts for slot in slots_of(layout)]
    there = set(placed)
    for before in (*settled.ground.standing, *settled.ground.stayed):
        for piece, slot in before.slots.items():
            if slot in there and piece.copy <= copies[piece.row] and piece.copy not in taken[piece.row]:
                numbers[slot] = piece.copy
                taken[piece.row].add(piece.copy)
    for u, i in placed:
        if (u, i) not in numbers:
            key = members[u][i].row.key
            numbers[u, i] = next(n for n in range(1, copies[key] + 1) if n not in taken[key])
            taken[key].add(numbers[u, i])
    return numbers


def slots_of(layout: BinLayout) -> list[Slot]:
    """Return what a filled bin holds, plate by plate from bottom left to top right."""
    plates = sorted(layout.plates, key=lambda p: (p.y, p.x))
    return [(p.unit, p.item) for plate in plates for p in sorted(plate.placed, key=lambda p: (p.y, p.x))]


def revised_sheets(
    room: Room, materials: Sequence[Settled], rows: Iterable[Row], order: Sequence[str], last: int
) -> tuple[tuple[PlannedSheet, ...], int]:
    """Return all sheets of a revised plan and the last sheet number given.

    Parameters
    ----------
    order : sequence of str
        Ids of the earlier plan's sheets: those that are still there keep their order, new ones come after them.
    last : int
        The last sheet number ever given in this plan; new sheets go on from it.
    """
    copies = {row.key: row.copies for row in rows}
    found: dict[str, PlannedSheet] = {}
    fresh: list[tuple[Draft, dict[Slot, int]]] = []
    for settled in materials:
        material, numbers = settled.ground.work.material, numbered(settled, copies)
        found |= {s.sheet.id: s.sheet for s in settled.ground.standing}
        for bin_ in settled.placing.bins:
            if bin_.name == NEW:
                fresh.append((Draft(material=material, layout=bin_.layout), numbers))
                continue
            before: Stayed = settled.ground.stayed[bin_.name]
            found[before.sheet.id] = again(room, material, bin_.layout, before.sheet.id, before, numbers)
    last = max([last, *(sheet_number(name) for name in order)])
    digits = max([LEAST_DIGITS, *(len(name) - 1 for name in order if sheet_number(name))])
    sheets = [found[name] for name in order if name in found]
    for draft, numbers in sorted(fresh, key=lambda f: order_key(f[0])):
        last += 1
        sheets.append(again(room, draft.material, draft.layout, f"S{last:0{digits}d}", None, numbers))
    return tuple(sheets), last
