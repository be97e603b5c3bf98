"""A release that is killed at any moment is booked whole or not at all."""

from __future__ import annotations

import os
import random
import signal
import time
from contextlib import suppress
from typing import TYPE_CHECKING

import pytest

from nest.store.ledger import Ledger
from nest.store.release import release, undo_release
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, balances, fresh
from tests.store.shop import delivery as delivery_of

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.stock import StockNote
    from nest.store.release import SheetRelease

SHEETS = 12


def big_store(folder: Path) -> tuple[Path, StockNote, list[SheetRelease]]:
    from nest.store import actions

    path = fresh(folder)
    with Ledger(path) as ledger:
        for n in range(3):
            actions.receive(ledger, delivery_of(lot=f"A6-{n}", sheets=SHEETS), DAY)
        sheets = [sheet_release(n, f"L-{n % 3 + 1:04d}", rests=2) for n in range(1, SHEETS + 1)]
        return path, note_on(ledger.stock(), sheets), sheets


def child(path: Path, note: StockNote, sheets: list[SheetRelease]) -> int:
    """Start a process that releases; return its id."""
    pid = os.fork()
    if pid == 0:
        with suppress(BaseException), Ledger(path) as ledger:
            release(ledger, note, sheets, DAY)
        os._exit(0)
    return pid


def killed(folder: Path, times: int, seed: int) -> tuple[int, int, int]:
    """Kill releases at random moments; return how often nothing was booked, all was, and a journal was left."""
    path, note, sheets = big_store(folder)
    with Ledger(path) as ledger:
        before = balances(ledger.stock())
        release(ledger, note, sheets, DAY, keep=False)
    started = time.perf_counter()
    os.waitpid(child(path, note, sheets), 0)
    whole = time.perf_counter() - started
    with Ledger(path) as ledger:
        after = balances(ledger.stock())
        undo_release(ledger, note.plan, None, DAY)
    assert after != before
    chance, none, done, journals = random.Random(seed), 0, 0, 0
    for _ in range(times):
        pid = child(path, note, sheets)
        time.sleep(chance.uniform(0.0, 1.15 * whole))
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        journals += path.with_name("store.db-journal").exists()
        with Ledger(path) as ledger:
            assert ledger.integrity() == []
            now = {ref: count for ref, count in balances(ledger.stock()).items() if count}
            booked = len(ledger.rows("SELECT 1 FROM released WHERE booking IN (SELECT id FROM standing)"))
            lots = {ref: count for ref, count in now.items() if ref.startswith("L")}
            offcuts = len(now) - len(lots)
            if booked == 0:
                assert (lots, offcuts) == (before, 0)
                none += 1
            else:
                assert booked == SHEETS
                assert lots == {ref: count for ref, count in after.items() if ref.startswith("L")}
                assert offcuts == 2 * SHEETS
                done += 1
                undo_release(ledger, note.plan, None, DAY)
    return none, done, journals


def test_a_killed_release_is_booked_whole_or_not_at_all(tmp_path: Path) -> None:
    none, done, _ = killed(tmp_path, 12, seed=1)
    assert none + done == 12
    assert none > 0


@pytest.mark.slow
def test_200_killed_releases_are_each_booked_whole_or_not_at_all(tmp_path: Path) -> None:
    none, done, journals = killed(tmp_path, 200, seed=2)
    print(
        f"\n200 kills: {none} left nothing booked, {done} all of it; {journals} times a journal was left to roll back"
    )
    assert none + done == 200
    assert min(none, done) > 0
