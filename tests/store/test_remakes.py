from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.stock import Remake, RemakeReason
from nest.errors import StockError
from nest.output.remake_text import remakes_text
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.release import release
from nest.store.remakes import book_remake, remake_weeks
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, stocked

if TYPE_CHECKING:
    from pathlib import Path


def remake(**more: Any) -> Remake:
    usual: dict[str, Any] = {"job": "2401", "separation": "Cyan", "part": "", "reason": RemakeReason.SCRATCH,
                             "pieces": 1, "cents": 1420}  # fmt: skip
    return Remake(**{**usual, **more})


def test_rate_and_money_are_told_by_week_and_reason(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        sheets = [sheet_release(n, "L-0001") for n in range(1, 5)]
        release(ledger, note_on(ledger.stock(), sheets), sheets, DAY)
        book_remake(ledger, remake(), date(2027, 3, 5))
        book_remake(ledger, remake(reason=RemakeReason.WASH, pieces=2, cents=3000), date(2027, 3, 7))
        book_remake(ledger, remake(), date(2027, 3, 8))
        actions.undo(ledger, book_remake(ledger, remake(separation="Black"), DAY).booking, DAY)
        weeks = remake_weeks(ledger)
    # 2027-03-01 is the Monday of ISO week 9; four sheets of three pieces each were released
    assert [one.week for one in weeks] == [(2027, 9), (2027, 10)]
    assert (weeks[0].released, weeks[0].rate) == (12, 3 / 12)
    assert weeks[0].remade == {RemakeReason.SCRATCH: 1, RemakeReason.WASH: 2}
    assert weeks[0].cents == {RemakeReason.SCRATCH: 1420, RemakeReason.WASH: 3000}
    assert (weeks[1].released, weeks[1].rate) == (0, None)
    text = remakes_text(weeks, "EUR").splitlines()
    assert text[1].split() == [
        "2027-W09",
        "12",
        "3",
        "25.0",
        "%",
        "44.20",
        "-",
        "2",
        "/",
        "30.00",
        "1",
        "/",
        "14.20",
        "-",
        "-",
    ]


def test_the_same_remake_is_booked_once_where_its_key_says_so(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        book_remake(ledger, remake(), DAY, key="plan:S01:2401")
        with pytest.raises(StockError, match="booked already"):
            book_remake(ledger, remake(), DAY, key="plan:S01:2401")
        for wrong in (remake(pieces=0), remake(cents=-1), remake(job="")):
            with pytest.raises(StockError):
                book_remake(ledger, wrong, DAY)
        assert ledger.revision() == 2
