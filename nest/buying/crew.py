"""Who does the work: this process, a pool of processes on this machine, or a cluster; the results are the same.

Every task carries all it needs, packed, so that a worker that dies takes nothing with it: on a cluster its tasks go to
another one, in a pool those without a result are handed to a new pool.
"""

from __future__ import annotations

import signal
import threading
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, Executor, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing import get_context
from typing import TYPE_CHECKING, TypeVar

from nest.errors import ClusterError, MissingExtra

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from concurrent.futures import Future

Result = TypeVar("Result")
HEARD_EVERY = 0.2
"""Seconds between looks at the interrupt."""
MOST_POOLS = 3
AHEAD = 4
"""Tasks handed out for each worker before it asks; few, so that an interrupt has little to wait for."""
CONNECT_SECONDS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """How to work: cores of this machine, or the address of a cluster's scheduler; who may interrupt and who listens.

    ``told`` hears how many tasks are done, of how many.
    """

    cores: int = 1
    cluster: str | None = None
    interrupt: threading.Event = field(default_factory=threading.Event)
    told: Callable[[int, int], None] = lambda _done, _count: None


def work_through(task: Callable[[bytes, int], Result], load: bytes, count: int, crew: Crew) -> dict[int, Result]:
    """Return the result of each task by its number; fewer than ``count`` after an interrupt.

    Parameters
    ----------
    task
        A function of a module, called with ``load`` and a number from 0 to ``count`` - 1.
    load
        What all tasks share.
    count
        How many tasks.
    crew
        Who works.

    Raises
    ------
    MissingExtra
        If a cluster is asked for and its library is not installed.
    ClusterError
        If the cluster cannot be reached or loses its workers again and again.
    """
    done: dict[int, Result] = {}
    if crew.cluster is not None:
        with cluster(crew.cluster) as (executor, workers):
            _hand_out(executor, workers, task, load, range(count), crew, done)
        return done
    if crew.cores <= 1 or count <= 1:
        for number in range(count):
            if crew.interrupt.is_set():
                break
            done[number] = task(load, number)
            crew.told(len(done), count)
        return done
    for _ in range(MOST_POOLS):
        missing = [number for number in range(count) if number not in done]
        if not missing or crew.interrupt.is_set():
            break
        try:
            with pool(min(crew.cores, len(missing))) as executor:
                _hand_out(executor, crew.cores, task, load, missing, crew, done)
        except BrokenExecutor as error:
            broken = error
            continue
        break
    else:
        raise ClusterError(f"worker processes ended again and again ({broken}); try fewer with --cores") from broken
    return done


def _hand_out(
    executor: Executor, workers: int, task: Callable[[bytes, int], Result], load: bytes,
    numbers: range | list[int], crew: Crew, done: dict[int, Result],
) -> None:  # fmt: skip
    """Give tasks to workers until all are done or an interrupt comes; results go into ``done`` as they come."""
    count = len(numbers) + len(done)
    waiting = list(reversed(numbers))
    running: dict[Future[Result], int] = {}
    try:
        while (waiting or running) and not crew.interrupt.is_set():
            while waiting and len(running) < AHEAD * workers:
                number = waiting.pop()
                running[executor.submit(task, load, number)] = number
            ready, _ = wait(running, timeout=HEARD_EVERY, return_when=FIRST_COMPLETED)
            for future in ready:
                done[running.pop(future)] = future.result()
                crew.told(len(done), count)
    finally:
        for future in running:
            future.cancel()


@contextmanager
def pool(workers: int) -> Iterator[Executor]:
    """Yield a pool of processes of this machine, started afresh: threads and forks do not mix."""
    executor = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=deaf)
    try:
        yield executor
    finally:
        executor.shutdown(wait=True, cancel_futures=True)


def deaf() -> None:
    """Let Ctrl-C of the terminal reach the first process alone, which then ends its workers."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def cluster(address: str) -> Iterator[tuple[Executor, int]]:
    """Yield the workers of a dask scheduler as an executor, and how many threads they have together.

    Raises
    ------
    MissingExtra
        If the library is not installed.
    ClusterError
        If nothing answers at the address, or there are no workers.
    """
    try:
        from distributed import Client
        from distributed.scheduler import KilledWorker
    except ImportError as error:
        raise MissingExtra("a cluster", "distributed", "cluster") from error
    try:
        client = Client(address, timeout=CONNECT_SECONDS)
    except (OSError, ValueError) as error:
        raise ClusterError(f"{address}: no cluster answers there ({error}); give its scheduler's address, such as "
                           "tcp://host:8786") from error  # fmt: skip
    try:
        workers = sum(client.nthreads().values())
        if not workers:
            raise ClusterError(f"{address}: the cluster has no workers; start some with: dask worker {address}")
        yield client.get_executor(pure=False), workers
    except (KilledWorker, CancelledError) as error:
        raise ClusterError(f"{address}: the cluster, or its workers again and again, went away ({error})") from error
    finally:
        client.close()
