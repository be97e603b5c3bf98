"""What a revision starts from: the earlier plan, its inputs, and what earlier revisions of it have noted."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.errors import Fault, InputError
from nest.output.inputs_file import NAME as INPUTS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlacedPiece, Plan
    from nest.output.inputs_file import Inputs

CopyKey = tuple["RowKey", int]
"""One copy of a row."""


class Origin(StrEnum):
    """Why a row of the plan is no row of the jobs file."""

    VERSION = "version"
    REMAKE = "remake"


class Nothing(StrEnum):
    """Why a piece on a standing sheet is made for nothing."""

    CANCELLED = "cancelled"
    CHANGED = "changed"
    SURPLUS = "too many"
    DAMAGED = "damaged"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRow:
    """A row that a revision made: a new version of a row whose old pieces stand, or pieces made again."""

    key: RowKey
    of: RowKey
    origin: Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """A piece on a standing sheet that serves nothing."""

    key: RowKey
    copy: int
    sheet: str
    why: Nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """What revisions hand on: sheets released, rows of their own, pieces that serve nothing, the last sheet number.

    ``plan`` is a name for the first plan of them all, told from every other; revisions keep it.
    """

    plan: str = ""
    released: frozenset[str] = frozenset()
    own_rows: tuple[OwnRow, ...] = ()
    spent: tuple[Spent, ...] = ()
    last_sheet: int = 0

    @property
    def damaged(self) -> frozenset[CopyKey]:
        """Copies that have been made again."""
        return frozenset((one.key, one.copy) for one in self.spent if one.why is Nothing.DAMAGED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """An earlier plan with its inputs and history, and the sheets of it that stand: released or pinned.

    ``rows`` are its rows by key; ``located`` is where the copies of each lie: copy number and sheet, in order.
    """

    plan: Plan
    inputs: Inputs
    history: History
    released: frozenset[str]
    pinned: frozenset[str]
    rows: Mapping[RowKey, Row]
    located: Mapping[RowKey, tuple[tuple[int, str], ...]]

    @property
    def standing(self) -> frozenset[str]:
        """Ids of the sheets that stay as they are."""
        return self.released | self.pinned

    def to_make(self, key: RowKey) -> int:
        """Return how many copies of a row the plan has to make."""
        return self.rows[key].copies - self.inputs.standing.withdrawn.get(key, 0)

    def standing_copies(self, key: RowKey) -> tuple[tuple[int, str], ...]:
        """Return the copies of a row that lie on sheets that stand, with their sheet."""
        return tuple(one for one in self.located.get(key, ()) if one[1] in self.standing)


def earlier_of(
    plan: Plan, inputs: Inputs, history: History, released: Iterable[str] = (), pinned: Iterable[str] = ()
) -> Earlier:
    """Return an earlier plan ready to be revised.

    Sheets released in an earlier revision stay released. A sheet that is both pinned and released is released.

    Raises
    ------
    InputError
        If an id names no sheet of the plan, or the plan has pieces of a row that its inputs do not have.
    """
    out = frozenset(released) | history.released
    known = {sheet.id for sheet in plan.sheets}
    rows = {row.key: row for row in inputs.rows}
    places = located(plan)
    faults = [_unknown(name, "--released", known) for name in sorted(set(released) - known)]
    faults += [_unknown(name, "--pin", known) for name in sorted(set(pinned) - known)]
    faults += [
        Fault(
            file=INPUTS, rule="must hold every row of the plan beside it", got=f"no row {piece_name(key)}",
            remedy="put back the inputs the plan was made from, or plan again with nest plan",
        )
        for key in sorted(set(places) - set(rows))
    ]  # fmt: skip
    if faults:
        raise InputError(tuple(faults))
    return Earlier(
        plan=plan, inputs=inputs, history=history, released=out & known, pinned=frozenset(pinned) - out,
        rows=rows, located=places,
    )  # fmt: skip


def _unknown(name: str, option: str, known: set[str]) -> Fault:
    return Fault(
        file=option, rule="must name sheets of the plan", got=name or "an empty name",
        remedy=f"the plan has {', '.join(sorted(known)) or 'no sheets'}",
    )  # fmt: skip


def located(plan: Plan) -> dict[RowKey, tuple[tuple[int, str], ...]]:
    """Return where the copies of each row lie: copy number and sheet, in order of copies."""
    found: dict[RowKey, list[tuple[int, str]]] = defaultdict(list)
    for sheet in plan.sheets:
        for plate in sheet.plates:
            for piece in plate.pieces:
                found[piece.row].append((piece.copy, sheet.id))
    return {key: tuple(sorted(copies)) for key, copies in found.items()}


def piece_name(key: RowKey, copy: int | None = None) -> str:
    """Return a piece as it is typed: JOB/SEPARATION[/PART][#COPY].

    Examples
    --------
    >>> piece_name(("2417", "Cyan", "left"), 2)
    '2417/Cyan/left#2'
    """
    return "/".join(word for word in key if word) + ("" if copy is None else f"#{copy}")


def pieces_of(plan: Plan) -> dict[CopyKey, tuple[str, PlacedPiece]]:
    """Return every piece of a plan with its sheet's id, by row and copy."""
    return {
        (piece.row, piece.copy): (sheet.id, piece)
        for sheet in plan.sheets
        for plate in sheet.plates
        for piece in plate.pieces
    }
