"""Compare the rows of a plan with those of a new jobs file: what is added, changed, cancelled, and what stands of it.

A row and the rows that revisions made for it (new versions, pieces made again) are one family. Of the copies a jobs
file wants, those that stand on released or pinned sheets, are undamaged and look as the row does now count as made;
the others are still to be made. Pieces that stand and serve nothing stay in the plan's rows, so that the plan covers
what is on its sheets.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.domain.job import Need, Together
from nest.domain.standing import Standing
from nest.plates.pieces import piece_of
from nest.revise.earlier import Nothing, Origin, OwnRow, Spent

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.room import Room
    from nest.revise.earlier import Earlier

MADE_OF = ("relief", "resolution", "surface")
"""Columns that a made piece cannot change, beside its size and material."""
WORDS = {
    "image_across_mm": "size", "image_around_mm": "size", "repeat_mm": "repeat", "teeth": "repeat",
    "at_plate_size": "size", "border_mm": "border", "border_lead_mm": "border", "border_tail_mm": "border",
    "border_left_mm": "border", "border_right_mm": "border",
}  # fmt: skip
"""How changed columns are told, where not by their name."""


class Kind(StrEnum):
    """What became of a row."""

    ADDED = "added"
    CHANGED = "changed"
    CANCELLED = "cancelled"
    SAME = "same"


@dataclass(frozen=True, slots=True, kw_only=True)
class RowChange:
    """What became of one row of the jobs: which columns changed, copies to be had before and now."""

    key: RowKey
    kind: Kind
    columns: tuple[str, ...] = ()
    before: int = 0
    now: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the revised plan has to cover.

    ``rows`` have the copies that number their pieces; ``to_make`` is how many of them are placed or unplaced, the rest
    is in ``standing``. ``suspects`` are rows whose rules changed while the piece did not.
    """

    rows: tuple[Row, ...]
    standing: Standing
    own_rows: tuple[OwnRow, ...]
    spent: tuple[Spent, ...]
    changes: tuple[RowChange, ...]
    suspects: frozenset[RowKey]

    def to_make(self, row: Row) -> int:
        """Return how many copies of a row are placed or unplaced."""
        return row.copies - self.standing.withdrawn.get(row.key, 0)


def look(row: Row, room: Room) -> tuple[object, ...] | None:
    """Return all that makes two pieces the same thing once made; None where the room cannot make the row."""
    if row.material not in room.materials:
        return None
    try:
        p = piece_of(row, room)
    except ValueError:
        return None
    size = (p.w, p.h, p.image_x, p.image_y, p.image_w, p.image_h, p.least_border)
    return (row.material, *size, *(getattr(row, name) for name in MADE_OF))


def changed_columns(old: Row, new: Row) -> tuple[str, ...]:
    """Return which columns differ, in words, copies aside."""
    names = [f.name for f in fields(old) if f.name not in ("copies", "line", "part")]
    found = [WORDS.get(name, name) for name in names if getattr(old, name) != getattr(new, name)]
    return tuple(dict.fromkeys(found))


RULES = ("turn", "together", "apart", "alone", "need", "due")
"""Columns that say where a piece may lie, not what it is."""


def own_row(row: Row, part: str, copies: int) -> Row:
    """Return a row of our own for copies of a row: it asks for no plate that is made already."""
    together = None if row.together in (Together.PLATE, Together.COPIES) else row.together
    return replace(row, part=part, copies=copies, together=together, need=Need.MUST, line=0)


def fresh_part(part: str, word: str, taken: Iterable[str]) -> str:
    """Return the next part name not taken: ``remake 1``, ``left remake 2``, ``v2``."""
    taken = set(taken)
    n = 2 if word == "v" else 1
    while True:
        name = f"{word}{n}" if word == "v" else f"{word} {n}"
        full = f"{part} {name}".strip()
        if full not in taken:
            return full
        n += 1


class Comparison:
    """Works out family by family what is wanted."""

    def __init__(self, earlier: Earlier, rows: Sequence[Row], room: Room) -> None:
        """Compare an earlier plan's rows with new ones, in a room."""
        self.earlier, self.room = earlier, room
        self.new = {row.key: row for row in rows}
        self.own = {own.key: own for own in earlier.history.own_rows if own.key in earlier.rows}
        self.rows: list[Row] = []
        self.withdrawn: dict[RowKey, int] = {}
        self.own_rows: list[OwnRow] = []
        self.spent: list[Spent] = []
        self.changes: list[RowChange] = []
        self.suspects: set[RowKey] = set()
        self.damaged = earlier.history.damaged
        self.served_nothing = {(one.key, one.copy) for one in earlier.history.spent}

    def result(self) -> Wanted:
        """Return what is wanted."""
        bases = {self.own[key].of if key in self.own else key for key in self.earlier.rows}
        for base in sorted(bases | set(self.new)):
            self.family(base)
        return Wanted(
            rows=tuple(sorted(self.rows, key=lambda row: row.key)),
            standing=Standing(sheets=self.earlier.standing, withdrawn=self.withdrawn),
            own_rows=tuple(self.own_rows),
            spent=tuple(sorted(self.spent, key=lambda s: (s.key, s.copy))),
            changes=tuple(self.changes),
            suspects=frozenset(self.suspects),
        )

    def members(self, base: RowKey) -> list[RowKey]:
        """Return the earlier rows of a family, the row of the jobs first."""
        own = [key for key, row in self.own.items() if row.of == base]
        first = [base] if base in self.earlier.rows and base not in self.own else []
        return [*first, *sorted(own)]

    def good(self, key: RowKey) -> list[int]:
        """Return the copies of a row that stand and are not damaged."""
        return [copy for copy, _ in self.earlier.standing_copies(key) if (key, copy) not in self.damaged]

    def family(self, base: RowKey) -> None:
        """Work out one family."""
        members, row = self.members(base), self.new.get(base)
        stand = {key: self.earlier.standing_copies(key) for key in members}
        open_now = {key: self.earlier.to_make(key) - len(stand[key]) for key in members}
        had = sum(open_now.values())
        had += sum((key, copy) not in self.served_nothing for key in members for copy in self.good(key))
        if row is None:
            for key in members:
                self.keep(key, self.earlier.rows[key], len(stand[key]))
                self.spend(key, Nothing.CANCELLED, self.good(key))
            if had:
                self.changes.append(RowChange(key=base, kind=Kind.CANCELLED, before=had))
            return
        now = look(row, self.room)
        alike = [key for key in members if look(self.earlier.rows[key], self.room) == now]
        for key in members:
            if key not in alike:
                self.spend(key, Nothing.CHANGED, self.good(key))
        made = [(key, copy) for key in alike for copy in self.good(key)]
        for key, copy in made[row.copies :]:
            self.spend(key, Nothing.SURPLUS, [copy])
        due = max(0, row.copies - len(made))
        given: dict[RowKey, int] = {}
        for key in alike:
            given[key] = min(due, open_now[key])
            due -= given[key]
        self.spread(row, members, alike, given, due)
        self.note(row, members, had)

    def spread(
        self, row: Row, members: list[RowKey], alike: list[RowKey], given: dict[RowKey, int], due: int
    ) -> None:
        """Write the rows of a family: earlier ones with what stands and is given to them, the rest of the copies."""
        base = row.key
        stand = {key: len(self.earlier.standing_copies(key)) for key in members}
        if due:
            versions = [key for key in alike if key in self.own and self.own[key].origin is Origin.VERSION]
            if base in alike or not stand.get(base):
                target = base
            elif versions:
                target = versions[-1]
            else:
                target = self.new_own(row, "v", Origin.VERSION)
            given[target] = given.get(target, 0) + due
        for key in dict.fromkeys([*members, *given]):
            count = stand.get(key, 0) + given.get(key, 0)
            own = self.earlier.rows.get(key)
            if own is None or key in alike or not stand.get(key):
                now = row if key == base else own_row(row, key[2], count)
                if own is not None and any(getattr(own, name) != getattr(now, name) for name in RULES):
                    self.suspects.add(key)
            else:
                now = own
            self.keep(key, now, count)

    def new_own(self, row: Row, word: str, origin: Origin) -> RowKey:
        """Return the key of a new row of our own for a row of the jobs."""
        taken = {key[2] for key in [*self.earlier.rows, *self.new, *self.own] if key[:2] == row.key[:2]}
        key = (row.job, row.separation, fresh_part(row.part, word, taken))
        self.own[key] = OwnRow(key=key, of=row.key, origin=origin)
        return key

    def keep(self, key: RowKey, row: Row, count: int) -> None:
        """Write a row of which so many copies are placed or unplaced; copies that stand keep their numbers."""
        if count == 0:
            return
        stand = self.earlier.standing_copies(key)
        copies = max([count, *(copy for copy, _ in stand)])
        self.rows.append(replace(row, copies=copies))
        if copies > count:
            self.withdrawn[key] = copies - count
        if key in self.own:
            self.own_rows.append(self.own[key])
        for copy, sheet in stand:
            if (key, copy) in self.damaged:
                self.spent.append(Spent(key=key, copy=copy, sheet=sheet, why=Nothing.DAMAGED))

    def spend(self, key: RowKey, why: Nothing, copies: Iterable[int]) -> None:
        """Note that copies that stand serve nothing."""
        sheets = dict(self.earlier.standing_copies(key))
        self.spent += [Spent(key=key, copy=copy, sheet=sheets[copy], why=why) for copy in copies]

    def note(self, row: Row, members: list[RowKey], had: int) -> None:
        """Note what became of a row of the jobs."""
        if not members:
            self.changes.append(RowChange(key=row.key, kind=Kind.ADDED, now=row.copies))
            return
        latest = next((k for k in reversed(members) if k in self.own and self.own[k].origin is Origin.VERSION), None)
        old = self.earlier.rows[latest or members[0]]
        ignored = {"together", "need"} if old.key in self.own else set()
        columns = tuple(name for name in changed_columns(old, row) if name not in ignored)
        same = not columns and had == row.copies
        kind = Kind.SAME if same else Kind.CHANGED
        self.changes.append(RowChange(key=row.key, kind=kind, columns=columns, before=had, now=row.copies))


def compared(earlier: Earlier, rows: Sequence[Row], room: Room) -> Wanted:
    """Return what a revised plan has to cover for the rows of a new jobs file."""
    return Comparison(earlier, rows, room).result()
