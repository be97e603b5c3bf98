"""When the search stops: a limit on work, a limit on time, an interrupt; and who listens to its progress.

Work is counted, never guessed: one unit is a thousand attempts of the compiled loops to place an item. Counting work
instead of seconds makes a plan repeatable whatever the machine's load. This is the only module that reads a clock.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from nest.domain.plan import StoppedBy

if TYPE_CHECKING:
    from collections.abc import Iterable

ATTEMPTS_PER_UNIT = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """Progress of one problem: what is being done, the best cost so far, the proven bound, whether units are left."""

    problem: str
    phase: str
    cost: float
    bound: float
    complete: bool


class Listener(Protocol):
    """Hears of progress; the default does nothing."""

    def report(self, news: News) -> None:
        """Take news of a problem; calls come one at a time, from any thread."""


class Silent:
    """A listener that does nothing."""

    def report(self, news: News) -> None:
        """Ignore the news."""


class Voice:
    """Tells a listener of one problem's progress: only what is better than all it told before."""

    def __init__(self, listener: Listener, problem: str, bound: float = 0.0) -> None:
        self._listener, self._problem, self.bound = listener, problem, bound
        self._best = (float("inf"), float("inf"), float("inf"))
        self._lock = threading.Lock()

    def tell(self, phase: str, rank: tuple[float, float, float]) -> None:
        """Tell of a solution of that rank (area left over, its earliness, cost)."""
        with self._lock:
            if rank >= self._best:
                return
            self._best = rank
            news = News(
                problem=self._problem, phase=phase, cost=rank[2], bound=self.bound, complete=rank[0] == 0
            )
            self._listener.report(news)


@dataclass(slots=True)
class Stop:
    """Limits of one search; ``start`` and ``deadline`` are on the monotonic clock, ``interrupt`` is set from outside.

    ``reason`` tells afterwards what was reached. A search stopped by the clock or an interrupt may differ from run to
    run, one stopped by work never does.
    """

    work_limit: int
    start: float = 0.0
    deadline: float | None = None
    interrupt: threading.Event = field(default_factory=threading.Event)
    reason: StoppedBy = StoppedBy.WORK_LIMIT

    @classmethod
    def after(cls, work_limit: int, seconds: float | None, interrupt: threading.Event | None = None) -> Stop:
        """Return limits that count seconds from now."""
        now = time.monotonic()
        deadline = None if seconds is None else now + seconds
        return cls(work_limit=work_limit, start=now, deadline=deadline, interrupt=interrupt or threading.Event())

    def hold_back(self, seconds: float) -> None:
        """Keep some of the time that is left, half of it at most, for what follows the search."""
        if self.deadline is not None:
            self.deadline -= min(seconds, max(0.0, self.deadline - time.monotonic()) / 2)

    def progress(self, work: int) -> float:
        """Return how much of the limits is used up after so much work, 0 to 1."""
        share = work / self.work_limit if self.work_limit > 0 else 1.0
        if self.deadline is not None:
            span = self.deadline - self.start
            share = max(share, (time.monotonic() - self.start) / span if span > 0 else 1.0)
        return min(1.0, share)

    def reached(self, work: int) -> bool:
        """Return whether to stop after so much work, and remember why."""
        if self.interrupt.is_set():
            self.reason = StoppedBy.INTERRUPT
            return True
        if self.deadline is not None and time.monotonic() >= self.deadline:
            self.reason = StoppedBy.TIME_LIMIT
            return True
        return work >= self.work_limit

    def seconds_left(self) -> float | None:
        """Return the seconds until the deadline, None where there is none."""
        return None if self.deadline is None else max(0.0, self.deadline - time.monotonic())

    def late(self) -> bool:
        """Return whether the deadline is over."""
        return self.seconds_left() == 0.0

    def part(self, work: float, time_left: float) -> Stop:
        """Return limits for a part of the search: so much work, and a share of the time that is left."""
        now = time.monotonic()
        deadline = None if self.deadline is None else now + max(0.0, self.deadline - now) * time_left
        return Stop(work_limit=int(work), start=now, deadline=deadline, interrupt=self.interrupt)

    def learn(self, parts: Iterable[Stop]) -> None:
        """Take over why parts of the search stopped: the clock or an interrupt counts for the whole."""
        for part in parts:
            if part.reason is not StoppedBy.WORK_LIMIT and self.reason is not StoppedBy.INTERRUPT:
                self.reason = part.reason
