from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.errors import StockError
from nest.store import actions
from nest.store.history import history_of
from nest.store.ledger import Ledger
from nest.store.release import release
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, delivery, stocked

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    """Booking 1 first stock, 2 another lot, 3 and 4 a release, 5 an offcut of it used, 6 a place, 7 scrap."""
    with Ledger(stocked(tmp_path)) as opened:
        actions.receive(opened, delivery(material="QF284", lot="C2"), DAY)
        sheets = [sheet_release(1, "L-0001", rests=1), sheet_release(2, "L-0002", rests=1)]
        release(opened, note_on(opened.stock(), sheets, name="3fa9c1d2"), sheets, DAY)
        used = [sheet_release(7, "F-0002", rests=1)]
        release(opened, note_on(opened.stock(), used, name="77777777", text="2"), used, DAY)
        actions.place(opened, "F-0004", "R2", DAY)
        actions.scrap(opened, "L-0002", 1, "", DAY)
        yield opened


@pytest.mark.parametrize(
    ("ref", "bookings"),
    [
        ("F-0004", [1, 3, 5, 6]), ("F-0002", [1, 3, 5]), ("F-0003", [2, 4]), ("L-0002", [2, 4, 7]), ("C2", [2, 4, 7]),
        ("3fa9c1d2:S01", [3]), ("77777777:S07", [5]), ("77777777:S07-R1", [5]), (None, [1, 2, 3, 4, 5, 6, 7]),
    ],
)  # fmt: skip
def test_history_tells_where_a_thing_comes_from_and_went(ref: str | None, bookings: list[int], ledger: Ledger) -> None:
    assert [one.id for one in history_of(ledger, ref).bookings] == bookings


def test_an_unknown_name_is_refused(ledger: Ledger) -> None:
    for ref in ("F-0099", "3fa9c1d2:S09", "S01"):
        with pytest.raises(StockError, match="has this name"):
            history_of(ledger, ref)
