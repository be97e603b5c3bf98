"""The store's CSV files in: a list of stock, a stock-take, what was cut otherwise; every fault of a file at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from nest.domain.stock import AsCut, Counted, CutState, Delivery, Found
from nest.intake import stock_values as values
from nest.intake.faults import FaultList, offer, quoted
from nest.intake.fields import FieldFault, parse_choice
from nest.intake.open_table import read_table

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from nest.domain.room import Unit
    from nest.intake.table import Line, Table
    from nest.intake.typed_numbers import Reading

Value = TypeVar("Value")
KINDS = ("sheet", "offcut")
STOCK_COLUMNS = (
    "kind", "id", "material", "across", "around", "on_hand", "counted", "price", "lot", "expiry", "received", "per_box",
    "place", "delivery", "relief", "exposed", "parent", "sheet",
)  # fmt: skip
"""Columns of a list of stock; price is an offcut's book value when new, received the day it was made."""
CUT_COLUMNS = ("sheet", "rest", "state", "across", "around", "source", "place", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class StockList:
    """What a list of stock holds."""

    deliveries: tuple[Delivery, ...]
    offcuts: tuple[Found, ...]


class Cells:
    """One record's cells by column; what is wrong with one is noted and reads as None."""

    def __init__(self, table: Table, line: Line, places: dict[str, int], faults: FaultList, reading: Reading) -> None:
        self.table, self.line, self.places, self.faults, self.reading = table, line, places, faults, reading

    def raw(self, column: str) -> str:
        """Return a cell's text, empty where the file does not have the column."""
        at = self.places.get(column)
        return "" if at is None else self.line.cells[at]

    def note(self, column: str, rule: str, remedy: str, *, got: str | None = None) -> None:
        """Note a fault of a cell."""
        self.table.note(self.faults, self.line.number, self.places.get(column), rule=rule, remedy=remedy, name=column,
                        got=got)  # fmt: skip

    def take(self, column: str, parse: Callable[[str], Value], *, required: bool = False) -> Value | None:
        """Return a cell's value; None where it is empty or at fault."""
        text = self.raw(column)
        if not text:
            if required:
                self.note(column, "must not be empty", "fill the cell in")
            return None
        try:
            return parse(text)
        except FieldFault as fault:
            self.note(column, fault.rule, fault.remedy, got=quoted(text))
            return None

    def text(self, column: str, *, required: bool = False) -> str:
        """Return a cell's text on one line."""
        return self.take(column, values.words, required=required) or ""

    def length(self, column: str, *, required: bool = False) -> float | None:
        """Return a length in mm."""
        return self.take(column, lambda text: values.length(text, self.reading), required=required)

    def cents(self, column: str, *, required: bool = False) -> int | None:
        """Return an amount in cents."""
        return self.take(column, lambda text: values.cents(text, self.reading), required=required)

    def count(self, column: str, *, least: int = 0, required: bool = False) -> int | None:
        """Return a whole number."""
        return self.take(column, lambda text: values.count(text, self.reading, least=least), required=required)

    def day(self, column: str) -> date | None:
        """Return a date."""
        return self.take(column, values.day)

    def relief(self, column: str) -> float | None:
        """Return a relief in the ledger's unit."""
        return self.take(column, lambda text: values.relief(text, self.reading))


def records(
    path: Path, columns: tuple[str, ...], required: tuple[str, ...], unit: Unit, faults: FaultList
) -> list[Cells]:
    """Return the records of a CSV or XLSX file; unknown, double and missing columns are noted."""
    table = read_table(path, frozenset(columns), faults)
    if table is None:
        return []
    places: dict[str, int] = {}
    for at, header in enumerate(table.header):
        if header in places:
            table.note(
                faults,
                table.header_line,
                at,
                rule="two columns of one name",
                got=quoted(header),
                remedy="keep one of them",
            )
        elif header in columns:
            places[header] = at
        elif header:
            table.note(
                faults, table.header_line, at, rule="unknown column", got=quoted(header), remedy=offer(header, columns)
            )
    for name in required:
        if name not in places:
            table.note(
                faults, table.header_line, None, rule=f"the required column '{name}' is missing", remedy="add it"
            )
    reading = values.reading_of(unit, decimal_comma=table.decimal_comma)
    return [Cells(table, line, places, faults, reading) for line in table.lines]


def read_stock_list(path: Path, unit: Unit, today: date) -> StockList:
    """Return a list of stock to be taken in; what came in on no stated day counts from ``today``.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    faults = FaultList(str(path))
    deliveries: list[Delivery] = []
    offcuts: list[Found] = []
    seen: dict[str, int] = {}
    for cells in records(
        path, STOCK_COLUMNS, ("kind", "material", "across", "around", "on_hand", "price"), unit, faults
    ):
        one = _entry(cells, today, cells.count("on_hand", required=True))
        if one is None:
            continue
        if one.id is not None and one.id in seen:
            cells.note(
                "id",
                f"the id must be unique, line {seen[one.id]} has it too",
                "correct one of them",
                got=quoted(one.id),
            )
        if one.id is not None:
            seen[one.id] = cells.line.number
        if isinstance(one, Delivery):
            deliveries.append(one)
        else:
            offcuts.append(one)
    faults.stop_if_any()
    return StockList(deliveries=tuple(deliveries), offcuts=_parents_first(offcuts))


def _parents_first(offcuts: list[Found]) -> tuple[Found, ...]:
    """Return the offcuts with each one's parent before it."""
    by_id = {found.id: found for found in offcuts if found.id}
    out: dict[int, Found] = {}

    def put(found: Found, depth: int) -> None:
        parent = by_id.get(found.parent or "")
        if parent is not None and parent is not found and depth:
            put(parent, depth - 1)
        out.setdefault(id(found), found)

    for found in offcuts:
        put(found, len(offcuts))
    return tuple(out.values())


def _entry(cells: Cells, today: date, count: int | None) -> Delivery | Found | None:
    """Return one line of stock, None where it is at fault."""
    kind = cells.raw("kind").casefold()
    if kind not in KINDS:
        cells.note("kind", "must be sheet or offcut", "write sheet or offcut", got=quoted(cells.raw("kind")))
        return None
    material = cells.text("material", required=True)
    across, around = cells.length("across", required=True), cells.length("around", required=True)
    price = cells.cents("price", required=True)
    ident, lot, expiry, where = (
        cells.text("id") or None,
        cells.text("lot") or None,
        cells.day("expiry"),
        cells.text("place"),
    )
    made = cells.day("received") or today
    per_box, relief = cells.count("per_box", least=1), cells.relief("relief")
    exposed, parent, sheet = cells.day("exposed"), cells.text("parent") or None, cells.text("sheet") or None
    delivery = cells.text("delivery")
    if across is None or around is None or price is None or not material or count is None:
        return None
    if kind == "sheet":
        return Delivery(
            id=ident, material=material, across_mm=across, around_mm=around, sheets=count, price_cents=price,
            received=made, lot=lot, expiry=expiry, per_box=per_box, place=where, delivery=delivery,
        )  # fmt: skip
    if count != 1:
        cells.note(
            "on_hand" if "on_hand" in cells.places else "counted",
            "an offcut is there once",
            "write 1",
            got=quoted(str(count)),
        )
    return Found(
        id=ident, material=material, across_mm=across, around_mm=around, value_cents=price, made=made, lot=lot,
        expiry=expiry, relief=relief, exposed=exposed, place=where, parent=parent, sheet=sheet,
    )  # fmt: skip


def read_counts(path: Path, unit: Unit, today: date) -> tuple[Counted, ...]:
    """Return the lines of a stock-take; those whose ``counted`` is empty were not counted and are passed over.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    faults = FaultList(str(path))
    out: list[Counted] = []
    seen: dict[str, int] = {}
    for cells in records(path, STOCK_COLUMNS, ("id", "counted"), unit, faults):
        count = cells.count("counted")
        if count is None:
            continue
        ref = cells.text("id")
        if not ref:
            fresh = _entry(cells, today, count) if count else None
            if fresh is not None:
                fresh = replace(fresh, sheets=count) if isinstance(fresh, Delivery) else fresh
                out.append(Counted(ref=None, count=count, place=fresh.place, fresh=fresh))
            continue
        if ref in seen:
            cells.note("id", f"line {seen[ref]} counts it too", "add the two counts up on one line", got=quoted(ref))
        seen[ref] = cells.line.number
        out.append(Counted(ref=ref, count=count, place=cells.text("place")))
    faults.stop_if_any()
    return tuple(out)


def read_cuts(path: Path, unit: Unit) -> tuple[AsCut, ...]:
    """Return the lines of an as-cut file.

    Raises
    ------
    InputError
        With every fault of the file.
    """
    faults = FaultList(str(path))
    out = []
    for cells in records(path, CUT_COLUMNS, ("sheet", "state"), unit, faults):
        state = cells.take("state", lambda text: parse_choice(text, CutState), required=True)
        sheet = cells.text("sheet", required=True)
        sized = state is CutState.KEPT
        across, around = cells.length("across", required=sized), cells.length("around", required=sized)
        source = cells.text("source", required=state is CutState.DRAWN)
        if state is CutState.SCRAP:
            cells.text("rest", required=True)
        if state is None or not sheet:
            continue
        out.append(
            AsCut(sheet=sheet, state=state, rest=cells.text("rest"), across_mm=across, around_mm=around, source=source,
                  place=cells.text("place"), note=cells.text("note"), line=cells.line.number)
        )  # fmt: skip
    faults.stop_if_any()
    return tuple(out)
