"""The one owner of a ledger's connection: reading in one snapshot, writing in one transaction, rows to records."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Any

from nest.domain.room import Unit
from nest.domain.stock import Act, Booked, Curve, Lot, Move, MoveKind, OpenOrder, RackOffcut, Stock
from nest.errors import StockError
from nest.store.opening import BUSY_MS, backup, connect
from nest.store.trouble import told
from nest.units import MM_PER_INCH, UNITS_PER_MM, plain, to_mm

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator
    from pathlib import Path

    Row = tuple[Any, ...]

LOTS = (
    "SELECT id, material, across, around, price, received, lot, expiry, per_box, place, delivery, on_hand "
    "FROM lot_now ORDER BY material, across, around, expiry IS NULL, expiry, received, id"
)
OFFCUTS = ("SELECT id, material, across, around, value, made, lot, expiry, relief, exposed, place, "
           "coalesce(parent_lot, parent_offcut), sheet, on_rack FROM offcut_now ORDER BY material, id")  # fmt: skip
ORDERS = (
    "SELECT id, material, across, around, sheets, open, price, ordered, due FROM purchase_now WHERE open > 0 "
    "ORDER BY due, id"
)


class Ledger:
    """A ledger that is open. Close it, or use it in a ``with`` block.

    Raises
    ------
    StockError
        When it cannot be opened; see `nest.store.opening.connect`.
    """

    def __init__(self, path: Path, *, busy_ms: int = BUSY_MS) -> None:
        self.path = path
        self._connection: sqlite3.Connection = connect(path, busy_ms=busy_ms)
        self.id, unit, self.currency = self.rows("SELECT id, unit, currency FROM ledger")[0]
        self.unit = Unit(unit)

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what is not committed is gone."""
        self._connection.close()

    def rows(self, query: str, values: tuple[Any, ...] | dict[str, Any] = ()) -> list[Row]:
        """Return what a query finds.

        Raises
        ------
        StockError
            If the ledger cannot be read.
        """
        with told(self.path):
            return self._connection.execute(query, values).fetchall()

    def insert(self, table: str, **values: Any) -> int:
        """Add a row and return its number; inside `atomic` only.

        Raises
        ------
        StockError
            If a rule of the ledger forbids it.
        """
        if not self._connection.in_transaction:
            raise StockError("our own fault: the ledger is written inside a transaction only")
        names = ", ".join(values)
        marks = ", ".join(f":{name}" for name in values)
        with told(self.path):
            return int(
                self._connection.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", values).lastrowid or 0
            )

    @contextmanager
    def atomic(self, *, keep: bool = True) -> Iterator[None]:
        """Run a block of reading, checking and writing as one: all of it is booked or none.

        The write lock is taken at the start, so that nothing changes between a check and what it was for. With
        ``keep`` False everything is taken back at the end: what a dry run shows is what would be booked.

        Raises
        ------
        StockError
            If the lock cannot be had or the ledger cannot be written; nothing has been changed.
        """
        with told(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            with told(self.path):
                self._connection.execute("COMMIT" if keep else "ROLLBACK")
        finally:
            if self._connection.in_transaction:
                with told(self.path):
                    self._connection.execute("ROLLBACK")

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """Run a block of reading at one revision."""
        if self._connection.in_transaction:
            yield
            return
        with told(self.path):
            self._connection.execute("BEGIN")
        try:
            yield
        finally:
            with told(self.path):
                self._connection.execute("ROLLBACK")

    def revision(self) -> int:
        """Return the number of the last booking; it grows with every change."""
        return int(self.rows("SELECT coalesce(max(id), 0) FROM booking")[0][0])

    def stock(self) -> Stock:
        """Return what the ledger holds, at one revision."""
        with self.snapshot():
            settings: dict[str, int] = dict(
                self.rows("SELECT name, value FROM setting WHERE booking IN (SELECT id FROM standing) ORDER BY id")
            )
            curve = {name: value for name, value in settings.items() if name != "rack_limit"}
            return Stock(
                ledger=self.id,
                revision=self.revision(),
                unit=self.unit,
                currency=self.currency,
                lots=tuple(_lot(row) for row in self.rows(LOTS)),
                offcuts=tuple(_offcut(row) for row in self.rows(OFFCUTS)),
                curve=Curve(**curve),
                rack_limit=settings.get("rack_limit"),
                orders=tuple(_order(row) for row in self.rows(ORDERS)),
            )

    def bookings(self, first: int = 1) -> tuple[Booked, ...]:
        """Return every booking from a number on, in order, with its movements."""
        with self.snapshot():
            moves: dict[int, list[Move]] = {}
            for booking, kind, ref, change, sheet in self.rows(
                "SELECT booking, kind, coalesce(lot, offcut), change, sheet FROM movement WHERE booking >= ? "
                "ORDER BY id",
                (first,),
            ):
                moves.setdefault(booking, []).append(Move(kind=MoveKind(kind), ref=ref, change=change, sheet=sheet))
            said = self._said()
            return tuple(
                Booked(
                    id=number, act=Act(act), day=date.fromisoformat(day), at=at, reason=reason, undoes=undoes,
                    undone_by=undone, moves=tuple(moves.get(number, ())), said=tuple(said.get(number, ())),
                )
                for number, act, day, at, reason, undoes, undone in self.rows(
                    "SELECT b.id, b.act, b.day, b.at, b.reason, b.undoes, u.id FROM booking b "
                    "LEFT JOIN booking u ON u.undoes = b.id WHERE b.id >= ? ORDER BY b.id", (first,),
                )
            )  # fmt: skip

    def _said(self) -> dict[int, list[tuple[str, str]]]:
        """Return the facts that bookings state, by booking: places and back-exposures."""
        said: dict[int, list[tuple[str, str]]] = {}
        for booking, ref, place in self.rows("SELECT booking, coalesce(lot, offcut), place FROM placing ORDER BY id"):
            said.setdefault(booking, []).append((ref, f"{ref} lies at {place}"))
        for booking, ref, relief in self.rows("SELECT booking, offcut, relief FROM exposure ORDER BY id"):
            words = f"{ref} is back-exposed to relief {plain(relief / UNITS_PER_MM)}"
            said.setdefault(booking, []).append((ref, words))
        for booking, ref, material, across, around, sheets, due in self.rows(
            "SELECT booking, id, material, across, around, sheets, due FROM purchase ORDER BY id"
        ):
            words = order_words(ref, material, to_mm(across), to_mm(around), sheets, due, self.unit)
            said.setdefault(booking, []).append((ref, words))
        for booking, ref, lot, sheets in self.rows("SELECT booking, purchase, lot, sheets FROM arrival ORDER BY id"):
            said.setdefault(booking, []).append((lot or ref, arrival_words(ref, sheets, lot)))
        return said

    def integrity(self) -> list[str]:
        """Return everything that is wrong with the file or its references; empty where it is whole."""
        found = [str(row[0]) for row in self.rows("PRAGMA integrity_check")]
        broken = self.rows("PRAGMA foreign_key_check")
        return [text for text in found if text != "ok"] + [
            f"{table} row {row} refers to nothing" for table, row, *_ in broken
        ]

    def backup(self, target: Path) -> None:
        """Copy the ledger to a new file, while others may use it.

        Raises
        ------
        StockError
            If the target exists or cannot be written.
        """
        backup(self._connection, target)


def order_words(ref: str, material: str, across_mm: float, around_mm: float, sheets: int, due: str,
                unit: Unit) -> str:  # fmt: skip
    """Return what was ordered, lengths in the ledger's unit."""
    per = MM_PER_INCH if unit is Unit.INCH else 1.0
    size = f"{plain(across_mm / per)}x{plain(around_mm / per)}"
    return f"{ref}: {sheets} × {material} {size} ordered, due {due}"


def arrival_words(ref: str, sheets: int, lot: str | None) -> str:
    """Return what came in of an order, or was cancelled where there is no lot."""
    return f"{ref}: {sheets} came in as {lot}" if lot else f"{ref}: {sheets} will not come"


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _lot(row: Row) -> Lot:
    ident, material, across, around, price, received, lot, expiry, per_box, place, delivery, on_hand = row
    return Lot(
        id=ident, material=material, across_mm=to_mm(across), around_mm=to_mm(around), price_cents=price,
        received=date.fromisoformat(received), lot=lot, expiry=_day(expiry), per_box=per_box, place=place,
        delivery=delivery, on_hand=on_hand,
    )  # fmt: skip


def _order(row: Row) -> OpenOrder:
    ident, material, across, around, sheets, left, price, ordered, due = row
    return OpenOrder(
        id=ident, material=material, across_mm=to_mm(across), around_mm=to_mm(around), sheets=sheets, open=left,
        price_cents=price, ordered=date.fromisoformat(ordered), due=date.fromisoformat(due),
    )  # fmt: skip


def _offcut(row: Row) -> RackOffcut:
    ident, material, across, around, value, made, lot, expiry, relief, exposed, place, parent, sheet, on_rack = row
    return RackOffcut(
        id=ident, material=material, across_mm=to_mm(across), around_mm=to_mm(around), value_cents=value,
        made=date.fromisoformat(made), lot=lot, expiry=_day(expiry),
        relief=None if relief is None else round(relief / UNITS_PER_MM, 4), exposed=_day(exposed), place=place,
        parent=parent, sheet=sheet, on_rack=bool(on_rack),
    )  # fmt: skip
