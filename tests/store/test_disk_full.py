"""A disk that is full: one clear error, nothing changed, and the ledger goes on once there is space."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from nest.domain.stock import Act
from nest.errors import StockError
from nest.store import actions
from nest.store.ledger import Ledger
from tests.store.shop import DAY, balances, balances_of, delivery, stocked

if TYPE_CHECKING:
    from pathlib import Path

LIMITED = """
import resource, sys
from pathlib import Path
from nest.errors import StockError
from nest.store import actions
from nest.store.ledger import Ledger
from tests.store.shop import DAY, delivery
path = Path(sys.argv[1])
with Ledger(path) as ledger:
    # no file of this process may grow beyond this
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), resource.RLIM_INFINITY))
    try:
        for n in range(5000):
            actions.receive(ledger, delivery(delivery=str(n), place="x" * 150), DAY)
    except StockError as fault:
        print(fault.exit_code, len(str(fault).splitlines()), fault)
"""


@pytest.mark.parametrize("room", [0, 3000, 20_000])
def test_a_file_that_cannot_grow_is_one_clear_error_and_keeps_what_was_booked(room: int, tmp_path: Path) -> None:
    path = stocked(tmp_path)
    ran = subprocess.run([sys.executable, "-c", LIMITED, str(path), str(path.stat().st_size + room)],
                         capture_output=True, text=True, check=False)  # fmt: skip
    assert ran.stdout.startswith("4 1 "), ran.stderr
    assert "free some space" in ran.stdout
    with Ledger(path) as ledger:
        assert ledger.integrity() == []
        stock = ledger.stock()
        # every booking before the full disk stands whole: a lot with its sheets and its place
        assert len(stock.lots) == ledger.revision()
        assert all(lot.on_hand == 10 and lot.place for lot in stock.lots[1:])
        actions.scrap(ledger, "L-0001", 1, "", DAY)


def test_a_full_database_is_one_clear_error_and_changes_nothing(tmp_path: Path) -> None:
    path = stocked(tmp_path)
    before = path.read_bytes()
    with Ledger(path) as ledger:
        held = balances(ledger.stock())
        ledger.rows(f"PRAGMA max_page_count = {ledger.rows('PRAGMA page_count')[0][0]}")
        with pytest.raises(StockError, match="the disk is full"):
            actions.take_in(
                ledger, [delivery(place="x" * 190) for _ in range(300)], [], DAY, act=Act.IMPORT, reason="", key=None
            )
        assert balances(ledger.stock()) == held
    assert path.read_bytes() == before
    assert balances_of(path) == held
