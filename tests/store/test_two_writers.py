"""Two processes that write at once lose nothing and double nothing."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import pytest

from nest.store import actions
from nest.store.ledger import Ledger
from tests.store.shop import DAY, delivery, fresh

WRITER = """
import sys, time
from pathlib import Path
from nest.store import actions
from nest.store.ledger import Ledger
from tests.store.shop import DAY, delivery
path, mine, times = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
# both begin together, however long each took to load
path.with_name(f"{mine}.ready").touch()
while len(list(path.parent.glob("*.ready"))) < 2:
    time.sleep(0.005)
for n in range(times):
    with Ledger(path) as ledger:
        if n % 2:
            actions.receive(ledger, delivery(sheets=2, delivery=f"{mine}-{n}"), DAY)
        else:
            actions.scrap(ledger, "L-0001", 1, f"{mine}-{n}", DAY)
"""


def write_at_once(path: Path, times: int) -> float:
    """Let two processes write; return how long it took in seconds."""
    env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    started = time.perf_counter()
    both = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(path), mine, str(times)], env=env, stderr=subprocess.PIPE)
        for mine in ("one", "two")
    ]
    for process in both:
        _, told = process.communicate()
        assert process.returncode == 0, told.decode()
    return time.perf_counter() - started


def check_all_there(path: Path, times: int) -> None:
    with Ledger(path) as ledger:
        assert ledger.integrity() == []
        bookings = ledger.bookings()
        assert [one.id for one in bookings] == list(range(1, 2 * times + 2))
        notes = [one.reason for one in bookings[1:]]
        assert sorted(notes) == sorted(f"{mine}-{n}" for mine in ("one", "two") for n in range(times))
        stock = ledger.stock()
        # each scraps a sheet on its even turns and receives two on its odd ones
        assert sum(lot.on_hand for lot in stock.lots) == 500 - 2 * ((times + 1) // 2) + 2 * 2 * (times // 2)
        assert len(stock.lots) == 1 + 2 * (times // 2)
        # both wrote in turn, not one after the other
        turns = sum(a[:3] != b[:3] for a, b in pairwise(notes))
        assert turns >= (2 if times >= 200 else 1)


def shop(folder: Path) -> Path:
    path = fresh(folder)
    with Ledger(path) as ledger:
        actions.receive(ledger, delivery(sheets=500), DAY)
    return path


def test_two_processes_of_25_writes_lose_and_double_nothing(tmp_path: Path) -> None:
    path = shop(tmp_path)
    write_at_once(path, 25)
    check_all_there(path, 25)


@pytest.mark.slow
def test_two_processes_of_200_writes_lose_and_double_nothing(tmp_path: Path) -> None:
    path = shop(tmp_path)
    seconds = write_at_once(path, 200)
    print(f"\n2 processes x 200 writes: {seconds:.1f} s, each with its own opening")
    check_all_there(path, 200)
