from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

import pytest

from nest.domain.stock import Act
from nest.errors import StockError
from nest.store import actions
from nest.store.booking import Entry
from nest.store.ledger import Ledger
from tests.store.shop import DAY, balances, balances_of, delivery, stocked

if TYPE_CHECKING:
    from pathlib import Path


def test_whatever_ends_a_transaction_early_takes_all_of_it_back(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    before = path.read_bytes()
    with Ledger(path) as ledger:

        def broken_off(end: type[BaseException]) -> None:
            with ledger.atomic():
                Entry(ledger, Act.RECEIVE, DAY).receive(delivery())
                assert ledger.revision() == 2
                raise end

        for end in (KeyboardInterrupt, StockError, ZeroDivisionError):
            with pytest.raises(end):
                broken_off(end)
            assert ledger.revision() == 1
    assert path.read_bytes() == before


def test_nothing_is_written_outside_a_transaction(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        with pytest.raises(StockError, match="inside a transaction only"):
            ledger.insert("booking", act="scrap", day="2027-03-01")
        assert ledger.revision() == 1


def test_a_reader_that_does_not_let_go_stops_the_booking_and_nothing_is_changed(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    reader = sqlite3.connect(path, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT * FROM movement").fetchall()
    with Ledger(path, busy_ms=50) as ledger:
        with pytest.raises(StockError, match="in use by another program"):
            actions.scrap(ledger, "L-0001", 1, "", DAY)
        assert balances(ledger.stock())["L-0001"] == 10
        reader.execute("COMMIT")
        actions.scrap(ledger, "L-0001", 1, "", DAY)
    reader.close()
    assert balances_of(path)["L-0001"] == 9


def test_a_stock_is_read_at_one_revision_while_others_write(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    with Ledger(path) as one, Ledger(path, busy_ms=50) as other:
        with one.snapshot():
            first = one.stock()
            with pytest.raises(StockError, match="in use"):
                actions.scrap(other, "L-0001", 1, "", DAY)
            assert one.stock() == first
        actions.scrap(other, "L-0001", 1, "", DAY)
        assert one.stock().revision == 2


def test_integrity_tells_of_references_that_lead_nowhere(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    raw = sqlite3.connect(path)
    raw.execute("INSERT INTO placing (booking, lot, place) VALUES (99, 'L-0001', 'B1')")
    raw.commit()
    raw.close()
    with Ledger(path) as ledger:
        assert ledger.integrity() == ["placing row 1 refers to nothing"]
