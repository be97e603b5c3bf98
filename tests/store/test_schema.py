from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

import pytest

from nest.store.schema import KEPT, KEPT_ORDERS
from tests.store.shop import stocked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def raw(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """A bare connection, as any other program would have it: foreign keys are off, no check of ours is run."""
    connection = sqlite3.connect(stocked(tmp_path), isolation_level=None)
    yield connection
    connection.close()


def test_no_row_of_any_table_can_be_changed_removed_or_replaced(raw: sqlite3.Connection) -> None:
    day = "VALUES (1, 'scrap', '2027-03-01')"
    fills = {
        "released": "INSERT INTO released VALUES (1, 'p', 't', 'S01', 1, 5, 7)",
        "placing": "INSERT INTO placing VALUES (1, 1, 'L-0001', NULL, 'B2')",
        "exposure": "INSERT INTO exposure VALUES (1, 1, 'F-0001', 6000, NULL)",
        "setting": "INSERT INTO setting VALUES (1, 1, 'rack_limit', 3)",
        "remake": "INSERT INTO remake VALUES (1, '1', 'Cyan', '', 'wash', 1, 5, NULL)",
        "purchase": "INSERT INTO purchase VALUES ('P-0001', 1, 'QF170', 9000000, 12000000, 20, NULL, '2027-03-08')",
        "arrival": "INSERT INTO arrival VALUES (1, 1, 'P-0001', 'L-0001', 10)",
    }
    for statement in fills.values():
        raw.execute(statement)
    tables = {row[0] for row in raw.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    assert tables == {*KEPT, *KEPT_ORDERS}
    for table in tables:
        assert raw.execute(f"SELECT count(*) FROM {table}").fetchone()[0] >= 1, table
        column = raw.execute(f"SELECT name FROM pragma_table_info('{table}')").fetchone()[0]
        for statement in (f"UPDATE {table} SET {column} = {column}", f"DELETE FROM {table}"):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                raw.execute(statement)
    for statement in (*fills.values(), f"INSERT INTO booking (id, act, day) {day}"):
        with pytest.raises(sqlite3.IntegrityError, match=r"append-only|numbered in order"):
            raw.execute(statement.replace("INSERT", "INSERT OR REPLACE"))


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'scrap', 'L-0001', -11)", "less than no sheet"),
        ("INSERT INTO arrival (booking, purchase, sheets) VALUES (1, 'P-0009', 1)", "than is on order"),
        ("INSERT INTO purchase VALUES ('P-1', 1, 'QF170', 1, 1, 0, NULL, '2027-03-08')", "CHECK"),
        ("INSERT INTO purchase VALUES ('P-1', 1, 'QF170', 1, 1, 5, NULL, 'soon')", "CHECK"),
        ("INSERT INTO movement (booking, kind, offcut, change) VALUES (1, 'offcut', 'F-0001', 1)", "once or not"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'scrap', 'L-0001', 1)", "CHECK"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'draw', 'L-0001', 1)", "CHECK"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'receipt', 'L-0001', -1)", "CHECK"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'gone', 'L-0001', -1)", "CHECK"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'scrap', 'L-0001', 0)", "CHECK"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'scrap', 'L-0001', 'one')", "cannot store TEXT"),
        ("INSERT INTO movement (booking, kind, change) VALUES (1, 'scrap', -1)", "CHECK"),
        ("INSERT INTO movement (booking, kind, lot, offcut, change) "
         "VALUES (1, 'scrap', 'L-0001', 'F-0001', -1)", "CHECK"),
        ("INSERT INTO movement (booking, kind, offcut, change) VALUES (1, 'count', 'F-0001', -2)", "once or not|CHECK"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (9, 'scrap', 'L-0001', -1)", "FOREIGN KEY"),
        ("INSERT INTO movement (booking, kind, lot, change) VALUES (1, 'count', 'L-0009', 1)", "FOREIGN KEY"),
        ("INSERT INTO booking (act, day) VALUES ('scrap', '2027-02-30')", "CHECK"),
        ("INSERT INTO booking (act, day) VALUES ('scrap', 'today')", "CHECK"),
        ("INSERT INTO booking (act, day) VALUES ('steal', '2027-03-01')", "CHECK"),
        ("INSERT INTO booking (act, day) VALUES ('undo', '2027-03-01')", "CHECK"),
        ("INSERT INTO booking (id, act, day) VALUES (0, 'scrap', '2027-03-01')", "CHECK"),
        ("INSERT INTO lot (id, booking, material, across, around, price, received) "
         "VALUES ('L-7', 1, 'QF170', 8.5, 1, 1, '2027-01-01')", "cannot store REAL"),
        ("INSERT INTO lot (id, booking, material, across, around, price, received) "
         "VALUES ('L-7', 1, 'QF170', 1, 1, -1, '2027-01-01')", "CHECK"),
        ("INSERT INTO offcut (id, booking, material, across, around, value, made, parent_lot) "
         "VALUES ('F-7', 1, 'QF170', 1, 1, 1, '2027-01-01', 'L-99')", "FOREIGN KEY"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_the_file_itself(raw: sqlite3.Connection, statement: str, why: str) -> None:
    raw.execute("PRAGMA foreign_keys = ON")
    with pytest.raises(sqlite3.IntegrityError, match=why):
        raw.execute(statement)


def test_a_key_is_booked_once_until_it_is_taken_back(raw: sqlite3.Connection) -> None:
    book = "INSERT INTO booking (act, day, key) VALUES ('receive', '2027-03-01', 'same')"
    raw.execute(book)
    with pytest.raises(sqlite3.IntegrityError, match="booked already"):
        raw.execute(book)
    raw.execute("INSERT INTO booking (act, day, undoes) VALUES ('undo', '2027-03-01', 2)")
    raw.execute(book)
    assert raw.execute("SELECT id FROM standing WHERE key = 'same'").fetchall() == [(4,)]


def test_a_booking_is_taken_back_once(raw: sqlite3.Connection) -> None:
    raw.execute("INSERT INTO booking (act, day, undoes) VALUES ('undo', '2027-03-01', 1)")
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        raw.execute("INSERT INTO booking (act, day, undoes) VALUES ('undo', '2027-03-01', 1)")
