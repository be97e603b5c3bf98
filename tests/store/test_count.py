from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.domain.stock import Counted, MoveKind
from nest.errors import StockError
from nest.store import actions
from nest.store.count import book_count, compare
from nest.store.ledger import Ledger
from tests.store.shop import DAY, balances, delivery, found, stocked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with Ledger(stocked(tmp_path)) as opened:
        actions.receive(opened, delivery(lot="A6-119", sheets=4, price_cents=9000), DAY)
        yield opened


def test_the_report_says_what_differs_and_what_it_is_worth(ledger: Ledger) -> None:
    report = compare(ledger.stock(), [Counted(ref="L-0001", count=8), Counted(ref="F-0001", count=1)], whole=False)
    assert [(d.ref, d.book, d.counted, d.cents) for d in report.lines] == [("L-0001", 10, 8, -2 * 8640)]
    assert report.agree == 1
    report = compare(ledger.stock(), [Counted(ref="L-0001", count=10)], whole=True)
    assert [(d.ref, d.book, d.counted, d.cents) for d in report.lines] == [
        ("L-0002", 4, 0, -36_000), ("F-0001", 1, 0, -1200)]  # fmt: skip


def test_booking_makes_the_balance_what_was_counted(ledger: Ledger) -> None:
    counts = [
        Counted(ref="L-0001", count=12, place="B7"), Counted(ref="F-0001", count=0),
        Counted(ref=None, count=3, fresh=delivery(lot="found", sheets=3)),
        Counted(ref=None, count=1, fresh=found(lot=None, expiry=None)),
    ]  # fmt: skip
    done = book_count(ledger, compare(ledger.stock(), counts, whole=False), "spring", DAY)
    assert done is not None
    assert {m.kind for m in done.moves} == {MoveKind.COUNT}
    assert balances(ledger.stock()) == {"L-0001": 12, "L-0002": 4, "L-0003": 3, "F-0001": 0, "F-0002": 1}
    assert ledger.stock().lots[0].place == "B7"
    # an offcut that turns up again
    book_count(ledger, compare(ledger.stock(), [Counted(ref="F-0001", count=1)], whole=False), "", DAY)
    assert balances(ledger.stock())["F-0001"] == 1


def test_a_report_that_is_no_longer_true_is_not_booked(ledger: Ledger) -> None:
    report = compare(ledger.stock(), [Counted(ref="L-0001", count=8)], whole=False)
    actions.scrap(ledger, "L-0002", 1, "", DAY)
    before = balances(ledger.stock())
    with pytest.raises(StockError, match="1 bookings were made since the report"):
        book_count(ledger, report, "", DAY)
    assert balances(ledger.stock()) == before


def test_where_all_agrees_nothing_is_booked(ledger: Ledger) -> None:
    report = compare(ledger.stock(), [Counted(ref="L-0001", count=10)], whole=False)
    assert (report.lines, report.agree) == ((), 1)
    assert book_count(ledger, report, "", DAY) is None
    assert ledger.revision() == 2


def test_ids_that_are_not_in_the_ledger_and_two_of_one_offcut_are_refused(ledger: Ledger) -> None:
    with pytest.raises(StockError, match="L-0099: no lot or offcut"):
        compare(ledger.stock(), [Counted(ref="L-0099", count=8)], whole=False)
    with pytest.raises(StockError, match="once or not at all"):
        compare(ledger.stock(), [Counted(ref="F-0001", count=2)], whole=False)
