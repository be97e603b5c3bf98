"""Everything the rules look at, gathered once: the plan, the pieces wanted and the stock."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.check.money import area, typed
from nest.check.pieces import Wanted, states_relief, wanted_of
from nest.check.violation import Violation
from nest.domain.plan import SourceKind
from nest.domain.standing import NONE, Standing

if TYPE_CHECKING:
    from datetime import date
    from fractions import Fraction

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlacedPiece, Plan, PlannedPlate, PlannedSheet
    from nest.domain.room import Room

StockKey = tuple[SourceKind, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A sheet size or an offcut in the store; ``available`` is how many may be drawn, None where unlimited."""

    key: StockKey
    material: str
    across_mm: float
    around_mm: float
    price: float
    available: int | None
    value_per_m2: Fraction
    lot: str | None
    expiry: date | None
    relief: float | None

    def serves(self, row: Row) -> bool:
        """Return whether a row may be made from it: material, expiry and relief (lots are judged by job)."""
        if self.material != row.material:
            return False
        if self.expiry is not None and row.due is not None and self.expiry < row.due.date():
            return False
        return self.relief is None or states_relief(row, self.relief)


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    """A piece of the plan with the plate and sheet it is on and the piece its row wants."""

    sheet: PlannedSheet
    plate: PlannedPlate
    piece: PlacedPiece
    wanted: Wanted

    @property
    def name(self) -> str:
        """The row and copy in words."""
        return f"{row_name(self.piece.row)} copy {self.piece.copy}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is checked; ``located`` holds only pieces whose row is known, ``unknown`` the others with their plate."""

    plan: Plan
    room: Room
    use_reserve: bool
    wanted: dict[RowKey, Wanted]
    stock: dict[StockKey, Stock]
    located: tuple[Located, ...]
    unknown: tuple[tuple[str, PlacedPiece], ...]
    input_faults: tuple[Violation, ...]
    standing: Standing = NONE

    def source_of(self, sheet: PlannedSheet) -> Stock | None:
        """Return the stock a sheet was drawn from, None where the room has none of that id."""
        return self.stock.get((sheet.source.kind, sheet.source.ref))

    def by_plate(self) -> dict[str, list[Located]]:
        """Return the known pieces of every plate, by the plate's id."""
        found: dict[str, list[Located]] = {plate.id: [] for sheet in self.plan.sheets for plate in sheet.plates}
        for one in self.located:
            found[one.plate.id].append(one)
        return found

    def by_row(self) -> dict[RowKey, list[Located]]:
        """Return the pieces of every row, also of rows with none."""
        found: dict[RowKey, list[Located]] = {key: [] for key in sorted(self.wanted)}
        for one in self.located:
            found[one.piece.row].append(one)
        return found

    def due(self, key: RowKey) -> int:
        """Return how many copies of a row are to be made: those ordered but not withdrawn."""
        return self.wanted[key].row.copies - self.standing.withdrawn.get(key, 0)

    def drawn(self) -> Counter[StockKey]:
        """Return how many of each sheet and offcut the plan draws."""
        return Counter((sheet.source.kind, sheet.source.ref) for sheet in self.plan.sheets)


def row_name(key: RowKey) -> str:
    """Return a row's identity in words."""
    return "/".join(word for word in key if word)


def stock_of(room: Room, use_reserve: bool) -> dict[StockKey, Stock]:
    """Return what the room has to draw from."""
    found: dict[StockKey, Stock] = {}
    share = typed(room.costs.offcut_value)
    for sheet in room.sheets:
        key = (SourceKind.SHEET, sheet.id)
        reserve = 0 if use_reserve else sheet.keep_back
        found[key] = Stock(
            key=key, material=sheet.material, across_mm=sheet.across_mm, around_mm=sheet.around_mm, price=sheet.price,
            available=None if sheet.on_hand is None else max(0, sheet.on_hand - reserve),
            value_per_m2=share * typed(sheet.price) / area(sheet.across_mm, sheet.around_mm),
            lot=sheet.lot, expiry=sheet.expiry, relief=None,
        )
    for offcut in room.offcuts:
        key = (SourceKind.OFFCUT, offcut.id)
        found[key] = Stock(
            key=key, material=offcut.material, across_mm=offcut.across_mm, around_mm=offcut.around_mm,
            price=offcut.value, available=1,
            value_per_m2=typed(offcut.value) / area(offcut.across_mm, offcut.around_mm),
            lot=offcut.lot, expiry=offcut.expiry, relief=offcut.relief,
        )
    return found


def gather(
    plan: Plan, rows: tuple[Row, ...], room: Room, use_reserve: bool, standing: Standing = NONE
) -> Facts:
    """Return the facts of a plan; rows that cannot become pieces are noted as faults of the input."""
    wanted: dict[RowKey, Wanted] = {}
    faults: list[Violation] = []
    for row in sorted(rows, key=lambda r: r.key):
        one = wanted_of(row, room)
        if isinstance(one, str):
            faults.append(Violation(place=row_name(row.key), rule="input", text=one))
        elif row.key in wanted:
            faults.append(Violation(place=row_name(row.key), rule="input", text="the row is given twice"))
        else:
            wanted[row.key] = one
    located: list[Located] = []
    unknown: list[tuple[str, PlacedPiece]] = []
    for sheet in plan.sheets:
        for plate in sheet.plates:
            for piece in plate.pieces:
                if piece.row in wanted:
                    located.append(Located(sheet=sheet, plate=plate, piece=piece, wanted=wanted[piece.row]))
                else:
                    unknown.append((plate.id, piece))
    return Facts(
        plan=plan, room=room, use_reserve=use_reserve, wanted=wanted, stock=stock_of(room, use_reserve),
        located=tuple(located), unknown=tuple(unknown), input_faults=tuple(faults),
        standing=standing,
    )
