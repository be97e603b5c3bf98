"""Which sheets of two plans answer each other, and which pieces lie on other sheets, are new or are gone.

Sheet ids are given out anew with each plan, so sheets are paired by what lies on them: pairs are taken by the area of
the rows they share, the most first. Copies of a row are alike, so they are counted, not told apart.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.totals import m2

if TYPE_CHECKING:
    from nest.domain.job import RowKey
    from nest.domain.plan import Plan, PlannedSheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """Copies of one row that lie elsewhere: how many, the sheets they left (first plan) and where they are (second)."""

    row: RowKey
    count: int
    left: tuple[str, ...]
    now: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """Pieces by what became of them from the first plan to the second, in order of row.

    ``pairs`` are the sheets that answer each other, by id, in the first plan's order.
    """

    stayed: int
    moved: tuple[Moved, ...]
    new: tuple[tuple[RowKey, int], ...]
    gone: tuple[tuple[RowKey, int], ...]
    pairs: dict[str, str]

    @property
    def moved_count(self) -> int:
        """Pieces on other sheets."""
        return sum(one.count for one in self.moved)


def moves(first: Plan, second: Plan) -> Moves:
    """Return what became of the pieces of the first plan in the second."""
    pairs = sheet_pairs(first, second)
    before, after = _by_row(first, None), _by_row(second, {there: here for here, there in pairs.items()})
    moved, new, gone, stayed = [], [], [], 0
    for row in sorted({*before, *after}):
        was, now = before[row], after[row]
        same = sum((was & now).values())
        stayed += same
        count = min(was.total(), now.total()) - same
        if count:
            left = tuple(sheet for _, sheet in sorted(was - now))
            there = tuple(pairs.get(sheet, sheet) if own else sheet for own, sheet in sorted(now - was))
            moved.append(Moved(row=row, count=count, left=left, now=there))
        if now.total() > was.total():
            new.append((row, now.total() - was.total()))
        elif now.total() < was.total():
            gone.append((row, was.total() - now.total()))
    return Moves(stayed=stayed, moved=tuple(moved), new=tuple(new), gone=tuple(gone), pairs=pairs)


def _by_row(plan: Plan, renamed: dict[str, str] | None) -> dict[RowKey, Counter[tuple[bool, str]]]:
    """Return copies of each row by sheet: (True, id in the first plan), or (False, id) for a sheet with no pair."""
    out: dict[RowKey, Counter[tuple[bool, str]]] = defaultdict(Counter)
    for sheet in plan.sheets:
        key = (True, sheet.id) if renamed is None else (sheet.id in renamed, renamed.get(sheet.id, sheet.id))
        for plate in sheet.plates:
            for piece in plate.pieces:
                out[piece.row][key] += 1
    return out


def sheet_pairs(first: Plan, second: Plan) -> dict[str, str]:
    """Return which sheet of the second plan answers which of the first, by id in the first plan's order.

    Those of one material with the most piece area in common; then those drawn from the same stock line.
    """
    one_rows, other_rows = ([_rows(sheet) for sheet in plan.sheets] for plan in (first, second))
    found = [
        (-shared, one.id, other.id)
        for one, mine in zip(first.sheets, one_rows, strict=True)
        for other, theirs in zip(second.sheets, other_rows, strict=True)
        if one.material == other.material and ((shared := _shared(mine, theirs)) > 0 or one.source == other.source)
    ]
    pairs: dict[str, str] = {}
    taken: set[str] = set()
    for _, here, there in sorted(found):
        if here not in pairs and there not in taken:
            pairs[here] = there
            taken.add(there)
    return {sheet.id: pairs[sheet.id] for sheet in first.sheets if sheet.id in pairs}


def _rows(sheet: PlannedSheet) -> dict[RowKey, tuple[int, float]]:
    """Return how many copies of each row a sheet holds, and the area of one in m2."""
    out: dict[RowKey, tuple[int, float]] = {}
    for plate in sheet.plates:
        for piece in plate.pieces:
            count, area = out.get(piece.row, (0, m2(piece.rect)))
            out[piece.row] = (count + 1, area)
    return out


def _shared(one: dict[RowKey, tuple[int, float]], other: dict[RowKey, tuple[int, float]]) -> float:
    return round(sum(min(count, other[row][0]) * area for row, (count, area) in one.items() if row in other), 6)
