"""A local cluster of worker processes, one of which is killed while it works."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest

from nest.buying import crew
from nest.buying.crew import Crew
from nest.buying.past import Wishes
from nest.buying.paths import simulate
from nest.errors import ClusterError
from tests.buying.weeks import small

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from nest.buying.demand import Demand

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
PATHS = 24
SECONDS = 60.0


@contextmanager
def cluster(folder: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """Run a scheduler and two worker processes without a nursemaid: one that is killed stays dead."""
    file = folder / "scheduler.json"
    log = (folder / "cluster.log").open("wb")
    command = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--scheduler-file", str(file), "--host",
               "127.0.0.1", "--port", "0", "--no-dashboard"]  # fmt: skip
    scheduler = subprocess.Popen(command, stdout=log, stderr=log)
    command = [sys.executable, "-m", "distributed.cli.dask_worker", "--scheduler-file", str(file), "--nthreads", "1",
               "--no-nanny", "--no-dashboard", "--local-directory", str(folder)]  # fmt: skip
    workers = [subprocess.Popen(command, stdout=log, stderr=log) for _ in range(2)]
    try:
        with distributed.Client(scheduler_file=str(file), timeout=SECONDS) as client:
            client.wait_for_workers(2, timeout=SECONDS)
            yield client.scheduler.address, workers
    finally:
        for process in (*workers, scheduler):
            process.kill()
            process.wait()
        log.close()


def same(one: Demand, other: Demand) -> bool:
    return all(
        (getattr(one, name) == getattr(other, name)).all()
        for name in ("sheets", "cost", "drawn_m2", "kept_m2", "pieces_m2")
    )


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_a_worker_killed_in_mid_run_takes_nothing_with_it(tmp_path: Path) -> None:
    history, room = small()
    wishes = Wishes(weeks=4, paths=PATHS, seed=5, checks=2)
    alone = simulate(history, room, wishes, Crew(cores=1))
    killed: list[str] = []
    with cluster(tmp_path) as (address, workers):

        def told(done: int, count: int) -> None:
            if done >= PATHS // 4 and not killed:
                os.kill(workers[0].pid, signal.SIGKILL)
                workers[0].wait()
                killed.append(f"killed worker process {workers[0].pid} after {done} of {count} paths")

        begun = time.perf_counter()
        shared = simulate(history, room, wishes, Crew(cluster=address, told=told))
        seconds = time.perf_counter() - begun
        alive = [process.poll() is None for process in workers]
    print(f"cluster of 2 worker processes: {killed[0]}; {shared.paths} of {shared.wanted_paths} paths done in "
          f"{seconds:.1f} s by who was left; identical to one process: {same(alone, shared)}")  # fmt: skip
    assert alive == [False, True]
    assert shared.paths == PATHS
    assert same(alone, shared)


def test_an_address_where_nothing_answers_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "CONNECT_SECONDS", 1)
    history, room = small()
    with pytest.raises(ClusterError, match="no cluster answers there"):
        simulate(history, room, Wishes(paths=1, checks=0), Crew(cluster="tcp://127.0.0.1:9"))
