"""Ctrl-C and SIGTERM while a plan is made: the first asks for the best plan so far, the second stops at once."""

from __future__ import annotations

import signal
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from nest.cli.streams import tell_from_signal

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

STOPPING = "stopping: the best plan so far is being checked and written; once more stops at once and writes nothing"


@contextmanager
def interruptible(*, quiet: bool, words: str = STOPPING) -> Iterator[threading.Event]:
    """Yield an event that the first signal sets; the second raises KeyboardInterrupt. ``words`` tell of the first.

    Outside the main thread no signal arrives and the event stays unset.
    """
    event = threading.Event()

    def handle(_number: int, _frame: FrameType | None) -> None:
        if event.is_set():
            raise KeyboardInterrupt
        event.set()
        if not quiet:
            tell_from_signal(words)

    if threading.current_thread() is not threading.main_thread():
        yield event
        return
    before = {number: signal.signal(number, handle) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield event
    finally:
        for number, old in before.items():
            signal.signal(number, old)
