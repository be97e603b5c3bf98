"""Orders in the ledger: noted, come in, cancelled, taken back; and a ledger of the first schema brought up to date."""

from __future__ import annotations

import sqlite3
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.room import Unit
from nest.domain.stock import Purchase
from nest.errors import StockError
from nest.store import actions, opening, orders
from nest.store.ledger import Ledger
from nest.store.schema import MIGRATIONS
from tests.store.shop import DAY, balances_of, delivery, fresh, stocked

if TYPE_CHECKING:
    from pathlib import Path

DUE = date(2027, 3, 8)


def bought(**more: Any) -> Purchase:
    usual: dict[str, Any] = {"material": "QF170", "across_mm": 900.0, "around_mm": 1200.0, "sheets": 20, "due": DUE}
    return Purchase(**{**usual, **more})


def still_open(ledger: Ledger) -> dict[str, int]:
    return {one.id: one.open for one in ledger.stock().orders}


def test_an_order_is_open_until_its_sheets_come_in(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        done = orders.order(ledger, [bought(price_cents=8400), bought(across_mm=1067.0, sheets=8)], DAY)
        assert done.fresh == ("P-0001", "P-0002")
        assert done.moves == ()
        (first, second) = ledger.stock().orders
        assert (first.sheets, first.open, first.price_cents, first.ordered, first.due) == (20, 20, 8400, DAY, DUE)
        assert second.price_cents is None
        got = actions.receive(ledger, delivery(sheets=12, received=DUE, delivery="D-1"), DUE)
        assert got.told == ("P-0001: 12 came in as L-0002, 8 still to come",)
        assert still_open(ledger) == {"P-0001": 8, "P-0002": 8}
        actions.receive(ledger, delivery(sheets=8, received=DUE, delivery="D-2"), DUE)
        assert still_open(ledger) == {"P-0002": 8}
        assert ledger.integrity() == []


def test_a_delivery_fills_the_orders_due_first_and_may_hold_more(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        orders.order(ledger, [bought(sheets=5, due=date(2027, 3, 12))], DAY)
        orders.order(ledger, [bought(sheets=10)], DAY)
        got = actions.receive(ledger, delivery(sheets=12, received=DUE), DUE)
        assert got.told == ("P-0002: 10 came in as L-0002", "P-0001: 2 came in as L-0002, 3 still to come")
        actions.receive(ledger, delivery(sheets=9, received=DUE, delivery="D-3"), DUE)
        assert still_open(ledger) == {}


def test_a_delivery_may_name_its_order_or_none(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        orders.order(ledger, [bought(sheets=10), bought(sheets=10), bought(across_mm=800.0)], DAY)
        actions.receive(ledger, delivery(sheets=10, received=DUE, delivery="D-1"), DUE, order="P-0002")
        actions.receive(ledger, delivery(sheets=10, received=DUE, delivery="D-2"), DUE, order="")
        assert still_open(ledger) == {"P-0001": 10, "P-0003": 20}
        before = balances_of(ledger.path)
        for ident, words in (("P-0002", "nothing of it is open"), ("P-9", "no such order"), ("P-0003", "another size")):
            with pytest.raises(StockError, match=words):
                actions.receive(ledger, delivery(sheets=10, received=DUE, delivery="D-4"), DUE, order=ident)
        assert balances_of(ledger.path) == before


def test_a_receipt_taken_back_is_on_order_again(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        orders.order(ledger, [bought()], DAY)
        got = actions.receive(ledger, delivery(sheets=20, received=DUE), DUE)
        assert still_open(ledger) == {}
        undone = actions.undo(ledger, got.booking, DUE)
        assert f"arrivals of booking {got.booking} no longer hold" in undone.told
        assert still_open(ledger) == {"P-0001": 20}
        actions.undo(ledger, 2, DUE)
        assert still_open(ledger) == {}
        # an id is never given twice
        assert orders.order(ledger, [bought()], DAY).fresh == ("P-0002",)


def test_what_will_not_come_is_cancelled(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        orders.order(ledger, [bought()], DAY)
        orders.cancel(ledger, "P-0001", DUE, keep=False)
        assert still_open(ledger) == {"P-0001": 20}
        assert orders.cancel(ledger, "P-0001", DUE, reason="sold out").told == ("P-0001: 20 will not come",)
        assert still_open(ledger) == {}
        with pytest.raises(StockError, match="nothing of it is open"):
            orders.cancel(ledger, "P-0001", DUE)
        said = [words for booked in ledger.bookings() for _, words in booked.said]
        assert said == ["P-0001: 20 × QF170 900x1200 ordered, due 2027-03-08", "P-0001: 20 will not come"]


def test_orders_that_make_no_sense_are_refused(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        for wrong, words in (
            (bought(sheets=0), "at least 1 sheet"),
            (bought(due=date(2027, 2, 27)), "cannot be due on 2027-02-27"),
            (bought(material=" "), "must be named"),
        ):
            with pytest.raises(StockError, match=words):
                orders.order(ledger, [bought(), wrong], DAY)
        assert still_open(ledger) == {}
        orders.order(ledger, [bought()], DAY, key="proposal 1")
        with pytest.raises(StockError, match="booked already"):
            orders.order(ledger, [bought()], DAY, key="proposal 1")


def test_sizes_in_inches_are_named_in_inches(tmp_path: Path) -> None:
    with Ledger(fresh(tmp_path, unit=Unit.INCH)) as ledger:
        done = orders.order(ledger, [bought(across_mm=1066.8, around_mm=1524.0)], DAY)
        assert done.told == ("P-0001: 20 × QF170 42x60 ordered, due 2027-03-08",)


def test_a_ledger_of_the_first_schema_takes_orders_after_opening(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(opening, "MIGRATIONS", MIGRATIONS[:1])
        path = tmp_path / "old.db"
        opening.create(path, Unit.MM, "EUR")
        raw = sqlite3.connect(path)
        with pytest.raises(sqlite3.IntegrityError, match="CHECK"):
            raw.execute("INSERT INTO booking (act, day) VALUES ('order', '2027-03-01')")
        raw.execute("INSERT INTO booking (act, day) VALUES ('set', '2027-02-01')")
        raw.commit()
        raw.close()
    with Ledger(path) as ledger:
        assert ledger.integrity() == []
        orders.order(ledger, [bought()], DAY)
        assert still_open(ledger) == {"P-0001": 20}
        assert [booked.act.value for booked in ledger.bookings()] == ["set", "order"]
    assert (tmp_path / "old.db.before-orders.bak").exists()
    raw = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="CHECK"):
        raw.execute("INSERT INTO booking (act, day) VALUES ('steal', '2027-03-01')")
    fresh_sql = sqlite3.connect(fresh(tmp_path, "new.db")).execute("SELECT sql FROM sqlite_schema ORDER BY name")
    assert raw.execute("SELECT sql FROM sqlite_schema ORDER BY name").fetchall() == fresh_sql.fetchall()
