"""What differs between two plans of one week: pieces that stay, move, come and go, sheets drawn more or less."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.job import RowKey
    from nest.domain.plan import PlacedPiece, Plan, PlannedSheet, Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a piece lies: sheet of which material, plate, box in mm, turn in degrees."""

    material: str
    sheet: str
    plate: str
    rect: Rect
    turn: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceChange:
    """A piece that moved, came (no ``before``) or went (no ``after``)."""

    key: RowKey
    copy: int
    before: Spot | None = None
    after: Spot | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """How many more of a sheet or offcut are drawn than before; negative where fewer are."""

    kind: str
    ref: str
    material: str
    more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """All that differs; sheets are told by their ids."""

    unchanged: int
    added: tuple[PieceChange, ...]
    moved: tuple[PieceChange, ...]
    dropped: tuple[PieceChange, ...]
    same_sheets: tuple[str, ...]
    changed_sheets: tuple[str, ...]
    new_sheets: tuple[str, ...]
    gone_sheets: tuple[str, ...]
    drawn: tuple[Drawn, ...]
    cost_before: float
    cost_after: float


def spots(plan: Plan) -> Iterator[tuple[PlacedPiece, Spot]]:
    """Yield every piece with where it lies."""
    for sheet in plan.sheets:
        for plate in sheet.plates:
            for piece in plate.pieces:
                yield piece, Spot(
                    material=sheet.material, sheet=sheet.id, plate=plate.id, rect=piece.rect, turn=piece.turn
                )  # fmt: skip


def changes(before: Plan, after: Plan) -> Changes:
    """Return what differs between an earlier plan and a later one.

    Equal pieces of one row are one and the same: a place that holds one before and after counts as unchanged. What is
    left of a row is told as moved, in order of copies, as far as it is there before and after in the same size and
    material; a piece that changed those is told as dropped and added.
    """
    old, new = _by_row(before), _by_row(after)
    added: list[PieceChange] = []
    moved: list[PieceChange] = []
    dropped: list[PieceChange] = []
    unchanged = 0
    for key in sorted({*old, *new}):
        here, there = old[key], new[key]
        places = Counter(_place(spot) for _, spot in here) & Counter(_place(spot) for _, spot in there)
        unchanged += places.total()
        was, now = _without(here, places), _without(there, places)
        for look in sorted({_look(spot) for _, spot in (*was, *now)}):
            gone, come = ([one for one in some if _look(one[1]) == look] for some in (was, now))
            both = min(len(gone), len(come))
            moved += [
                PieceChange(key=key, copy=copy, before=old, after=spot)
                for (_, old), (copy, spot) in zip(gone, come, strict=False)
            ]
            dropped += [PieceChange(key=key, copy=copy, before=spot) for copy, spot in gone[both:]]
            added += [PieceChange(key=key, copy=copy, after=spot) for copy, spot in come[both:]]
    sheets, later = ({sheet.id: sheet for sheet in plan.sheets} for plan in (before, after))
    return Changes(
        unchanged=unchanged,
        added=tuple(added),
        moved=tuple(moved),
        dropped=tuple(dropped),
        same_sheets=tuple(name for name, sheet in later.items() if sheets.get(name) == sheet),
        changed_sheets=tuple(name for name, sheet in later.items() if name in sheets and sheets[name] != sheet),
        new_sheets=tuple(name for name in later if name not in sheets),
        gone_sheets=tuple(name for name in sheets if name not in later),
        drawn=tuple(_drawn(before, after)),
        cost_before=before.totals.cost,
        cost_after=after.totals.cost,
    )


def _by_row(plan: Plan) -> dict[RowKey, list[tuple[int, Spot]]]:
    found: dict[RowKey, list[tuple[int, Spot]]] = defaultdict(list)
    for piece, spot in spots(plan):
        found[piece.row].append((piece.copy, spot))
    for copies in found.values():
        copies.sort(key=lambda one: one[0])
    return found


def _look(spot: Spot) -> tuple[str, float, float]:
    short, long = sorted((spot.rect.w, spot.rect.h))
    return (spot.material, short, long)


def _place(spot: Spot) -> tuple[object, ...]:
    return (spot.sheet, spot.rect, spot.turn)


def _without(copies: list[tuple[int, Spot]], places: Counter[tuple[object, ...]]) -> list[tuple[int, Spot]]:
    """Return the copies that are not at one of the places, each place taken as often as it counts."""
    left, out = Counter(places), []
    for copy, spot in copies:
        if left[_place(spot)] > 0:
            left[_place(spot)] -= 1
        else:
            out.append((copy, spot))
    return out


def _drawn(before: Plan, after: Plan) -> Iterator[Drawn]:
    """Yield which sheets and offcuts are drawn more or less often."""
    def count(sheets: tuple[PlannedSheet, ...]) -> Counter[tuple[str, str, str]]:
        return Counter((s.source.kind.value, s.source.ref, s.material) for s in sheets)

    old, new = count(before.sheets), count(after.sheets)
    for kind, ref, material in sorted({*old, *new}):
        more = new[kind, ref, material] - old[kind, ref, material]
        if more:
            yield Drawn(kind=kind, ref=ref, material=material, more=more)
