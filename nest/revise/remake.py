"""Make damaged pieces again: a row of its own for each, in free areas, offcuts, sheets, and last the reserve.

The damaged pieces' sheets have been made, so they count as released. Nothing else moves. The new pieces keep what
their row asks for: the set's sheet axis, one lot where the row is kept to one; ``together`` on a plate or by copies is
let go, since that plate is made.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.domain.job import Need
from nest.domain.standing import Standing
from nest.domain.totals import m2, sheet_cost
from nest.errors import Fault, InputError
from nest.revise.earlier import Nothing, Origin, OwnRow, Spent, piece_name, pieces_of
from nest.revise.revision import revised
from nest.revise.rows import Wanted, fresh_part, own_row
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.room import Room
    from nest.revise.earlier import CopyKey, Earlier
    from nest.revise.revision import Options, Revision


class Reason(StrEnum):
    """Where a piece was damaged."""

    IMAGING = "imaging"
    WASH = "wash"
    SCRATCH = "scratch"
    MOUNTING = "mounting"
    CUSTOMER = "customer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remade:
    """One damaged piece and the piece made in its place.

    ``cost`` is by how much the plan became dearer for it, ``lost`` the damaged piece's share of its sheet's cost by
    area. ``placed_on`` is a plate, empty where the piece could not be placed.
    """

    key: RowKey
    copy: int
    sheet: str
    as_key: RowKey
    placed_on: str
    piece_m2: float
    cost: float
    lost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Remake:
    """A plan revised for damaged pieces."""

    revision: Revision
    pieces: tuple[Remade, ...]


def named_pieces(earlier: Earlier, names: Sequence[str]) -> tuple[CopyKey, ...]:
    """Return the pieces that were named as JOB/SEPARATION[/PART][#COPY].

    Raises
    ------
    InputError
        With every name that is no piece of the plan, or more than one, or a piece that serves nothing already.
    """
    found: list[CopyKey] = []
    faults: list[Fault] = []
    known: dict[str, list[RowKey]] = defaultdict(list)
    for key in earlier.rows:
        known[piece_name(key)].append(key)
    for name in names:
        one = _named(earlier, known, name)
        if isinstance(one, Fault):
            faults.append(one)
        elif one in found:
            faults.append(_fault(name, "must be named once", "name each damaged piece once"))
        else:
            found.append(one)
    if faults:
        raise InputError(tuple(faults))
    return tuple(found)


def _named(earlier: Earlier, known: dict[str, list[RowKey]], name: str) -> CopyKey | Fault:
    whole = re.fullmatch(r"(.*?)#(\d{1,6})", name)
    word, copy = (name, None) if name in known or whole is None else (whole[1], int(whole[2]))
    keys = known.get(word, [])
    if len(keys) != 1:
        near = ", ".join(sorted(known)[:8]) + (" and more" if len(known) > 8 else "")
        return _fault(name, "must name a piece of the plan as JOB/SEPARATION[/PART][#COPY]", f"rows are {near}")
    key = keys[0]
    copies = [number for number, _ in earlier.located.get(key, ())]
    told = ", ".join(f"#{number}" for number in copies)
    if not copies:
        return _fault(name, "must be placed in the plan", "a piece that was never made cannot be made again")
    if copy is None and len(copies) > 1:
        return _fault(name, "must say which copy", f"add one of {told}")
    copy = copies[0] if copy is None else copy
    if copy not in copies:
        return _fault(name, "must be a copy that is placed", f"the plan has {told}")
    for one in earlier.history.spent:
        if (one.key, one.copy) == (key, copy):
            return _fault(name, f"must still serve: it was made for nothing ({one.why.value})", "leave it out")
    return key, copy


def _fault(name: str, rule: str, remedy: str) -> Fault:
    return Fault(file="--piece", rule=rule, got=name, remedy=remedy)


def remade_rows(earlier: Earlier, pieces: Sequence[CopyKey]) -> tuple[list[Row], list[OwnRow]]:
    """Return a row of our own for each row with damaged pieces, with as many copies as are damaged."""
    own = {one.key: one for one in earlier.history.own_rows}
    count: dict[RowKey, int] = defaultdict(int)
    for key, _ in pieces:
        count[key] += 1
    taken: dict[tuple[str, str], set[str]] = defaultdict(set)
    for key in earlier.rows:
        taken[key[:2]].add(key[2])
    rows, owners = [], []
    for key in sorted(count):
        of = own[key].of if key in own else key
        part = fresh_part(of[2], "remake", taken[key[:2]])
        taken[key[:2]].add(part)
        rows.append(own_row(earlier.rows[key], part, count[key]))
        owners.append(OwnRow(key=rows[-1].key, of=of, origin=Origin.REMAKE))
    return rows, owners


def sheet_of(earlier: Earlier) -> dict[CopyKey, str]:
    """Return the sheet of every placed piece."""
    return {(key, copy): sheet for key in earlier.located for copy, sheet in earlier.located[key]}


def with_made(earlier: Earlier, pieces: Sequence[CopyKey]) -> Earlier:
    """Return an earlier plan in which the sheets of damaged pieces are released: they have been made."""
    where = sheet_of(earlier)
    sheets = {where[piece] for piece in pieces}
    return replace(earlier, released=earlier.released | sheets, pinned=earlier.pinned - sheets)


def made_again(earlier: Earlier, pieces: Sequence[CopyKey], room: Room, options: Options) -> Remake:
    """Return the plan with damaged pieces made again; the reserve is drawn only where nothing else serves.

    Raises
    ------
    InputError
        If a sheet that stands breaks a rule by the room as it is now.
    CheckFailed
        If the plan breaks a rule: our own fault.
    """
    where = sheet_of(earlier)
    earlier = with_made(earlier, pieces)
    rows, owners = remade_rows(earlier, pieces)
    standing = earlier.inputs.standing
    wanted = Wanted(
        rows=tuple(sorted([*earlier.inputs.rows, *rows], key=lambda row: row.key)),
        standing=Standing(sheets=earlier.standing, withdrawn=standing.withdrawn),
        own_rows=(*earlier.history.own_rows, *owners),
        spent=tuple(sorted(
            [*earlier.history.spent,
             *(Spent(key=key, copy=copy, sheet=where[key, copy], why=Nothing.DAMAGED) for key, copy in pieces)],
            key=lambda one: (one.key, one.copy),
        )),
        changes=(),
        suspects=frozenset(),
    )  # fmt: skip
    keys = frozenset(row.key for row in rows)
    options = replace(options, opens=False)
    revision = revised(earlier, wanted, room, options)
    if any((u.job, u.separation, u.part) in keys and u.need is Need.MUST for u in revision.plan.unplaced):
        with_reserve = revised(earlier, wanted, room, replace(options, reserve_for=keys))
        revision = with_reserve if _left(with_reserve, keys) < _left(revision, keys) else revision
    return Remake(revision=revision, pieces=tuple(_remade(earlier, revision, pieces, owners)))


def _left(revision: Revision, keys: frozenset[RowKey]) -> int:
    return sum(u.copies for u in revision.plan.unplaced if (u.job, u.separation, u.part) in keys)


def _remade(
    earlier: Earlier, revision: Revision, pieces: Sequence[CopyKey], owners: Sequence[OwnRow]
) -> list[Remade]:
    """Return each damaged piece with what took its place; the plan's growth is shared by area."""
    before = pieces_of(earlier.plan)
    plates = {
        (piece.row, piece.copy): plate.id
        for sheet in revision.plan.sheets for plate in sheet.plates for piece in plate.pieces
    }  # fmt: skip
    shares = {sheet.id: _share_per_m2(earlier, sheet.id) for sheet in earlier.plan.sheets}
    as_of = dict(zip(sorted({key for key, _ in pieces}), owners, strict=True))
    areas = [m2(before[piece][1].rect) for piece in pieces]
    more = revision.plan.totals.cost - earlier.plan.totals.cost
    out, given, done = [], 0.0, 0.0
    count: dict[RowKey, int] = defaultdict(int)
    for piece, area in zip(pieces, areas, strict=True):
        sheet, _ = before[piece]
        key = as_of[piece[0]].key
        count[key] += 1
        done += area
        upto = money(more * done / sum(areas))
        out.append(Remade(
            key=piece[0], copy=piece[1], sheet=sheet, as_key=key, placed_on=plates.get((key, count[key]), ""),
            piece_m2=area, cost=money(upto - given), lost=money(shares[sheet] * area),
        ))  # fmt: skip
        given = upto
    return out


def _share_per_m2(earlier: Earlier, sheet_id: str) -> float:
    """Return what a sheet cost per m2 of its pieces."""
    sheet = next(s for s in earlier.plan.sheets if s.id == sheet_id)
    area = sum(m2(piece.rect) for plate in sheet.plates for piece in plate.pieces)
    return sheet_cost(sheet, earlier.inputs.room) / area
