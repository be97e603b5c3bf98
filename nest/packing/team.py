"""Calls made at once on a few threads, with results in the order of the calls whatever ends first.

The compiled loops and the linear solver let go of the interpreter while they work, so threads share the processor
well and share frozen layouts without copying them.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Self, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

T = TypeVar("T")


def cores_here() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Team:
    """Makes calls on up to ``cores`` threads; on one core one after the other."""

    def __init__(self, cores: int) -> None:
        self.cores = max(1, cores)
        self._pool = ThreadPoolExecutor(self.cores) if self.cores > 1 else None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)

    def at_once(self, count: int) -> int:
        """Return how many of so many calls run at the same time."""
        return min(self.cores, count)

    def each(self, calls: Sequence[Callable[[], T]]) -> list[T]:
        """Make the calls and return their results in order; what a call raises is raised here."""
        if self._pool is None or len(calls) < 2:
            return [call() for call in calls]
        futures = [self._pool.submit(call) for call in calls]
        return [future.result() for future in futures]
