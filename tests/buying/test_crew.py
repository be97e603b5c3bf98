from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from nest.buying.crew import MOST_POOLS, Crew, work_through
from nest.errors import ClusterError


def square(load: bytes, number: int) -> int:
    return number * number + len(load)


def die_once(load: bytes, number: int) -> int:
    """End the whole process the first time number 3 comes up, as a machine without memory would."""
    mark = Path(load.decode())
    if number == 3 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def die_always(_load: bytes, number: int) -> int:
    if number == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def fail(_load: bytes, number: int) -> int:
    raise ZeroDivisionError(f"task {number}")


def test_results_come_by_number_whoever_works() -> None:
    alone = work_through(square, b"12", 9, Crew(cores=1))
    assert alone == {n: n * n + 2 for n in range(9)}
    told: list[tuple[int, int]] = []
    assert work_through(square, b"12", 9, Crew(cores=2, told=lambda *news: told.append(news))) == alone
    assert told == [(n, 9) for n in range(1, 10)]


def test_a_process_that_dies_takes_nothing_with_it(tmp_path: Path) -> None:
    mark = tmp_path / "died"
    found = work_through(die_once, str(mark).encode(), 12, Crew(cores=2))
    assert mark.exists()
    assert found == {n: n for n in range(12)}


def test_processes_that_die_again_and_again_are_told() -> None:
    assert MOST_POOLS == 3
    with pytest.raises(ClusterError, match="worker processes ended again and again"):
        work_through(die_always, b"", 4, Crew(cores=2))


def test_what_a_task_raises_is_raised() -> None:
    for cores in (1, 2):
        with pytest.raises(ZeroDivisionError, match=r"task [01]"):
            work_through(fail, b"", 2, Crew(cores=cores))


def test_nothing_to_do_is_done_at_once() -> None:
    assert work_through(square, b"", 0, Crew(cores=2)) == {}
