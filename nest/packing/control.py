"""When the search stops: a limit on work, a limit on time, an interrupt; and who listens to its progress.

Work is counted, never guessed: one unit is a thousand attempts of the compiled loops to place an item. Counting work
instead of seconds makes a plan repeatable whatever the machine's load. This is the only module that reads a clock.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field
from typing import Protocol

from nest.domain.plan import StoppedBy

ATTEMPTS_PER_UNIT = 1000


class Listener(Protocol):
    """Hears of progress; the default does nothing."""

    def report(self, phase: str, cost: float, bound: float) -> None:
        """Take the phase in words, the best cost so far and the proven bound."""


class Silent:
    """A listener that does nothing."""

    def report(self, phase: str, cost: float, bound: float) -> None:
        """Ignore the report."""


@dataclass(slots=True)
class Stop:
    """Limits of one search. ``interrupt`` is set from outside; ``deadline`` is on the monotonic clock."""

    work_limit: int
    deadline: float | None = None
    interrupt: threading.Event = field(default_factory=threading.Event)
    reason: StoppedBy = StoppedBy.WORK_LIMIT

    @classmethod
    def after(cls, work_limit: int, seconds: float | None, interrupt: threading.Event | None = None) -> Stop:
        """Return limits that count seconds from now."""
        deadline = None if seconds is None else time.monotonic() + seconds
        return cls(work_limit=work_limit, deadline=deadline, interrupt=interrupt or threading.Event())

    def reached(self, work: int) -> bool:
        """Return whether to stop after so much work.

        An interrupt or the clock is remembered as the reason: such a plan may differ from run to run.
        """
        if self.interrupt.is_set():
            self.reason = StoppedBy.INTERRUPT
            return True
        if self.deadline is not None and time.monotonic() >= self.deadline:
            self.reason = StoppedBy.TIME_LIMIT
            return True
        return work >= self.work_limit

    def part(self, work_share: float, until: float) -> Stop:
        """Return limits for a part of the search: a share of the work, and of the time left."""
        deadline = None
        if self.deadline is not None:
            now = time.monotonic()
            deadline = now + max(0.0, self.deadline - now) * until
        return Stop(work_limit=int(self.work_limit * work_share), deadline=deadline, interrupt=self.interrupt)
