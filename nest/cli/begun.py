"""When the command began, so that loading the engine counts against a time limit too."""

from __future__ import annotations

from time import monotonic

_began: list[float] = []


def begin() -> None:
    """Note that the command begins now."""
    _began[:] = [monotonic()]


def time_left(limit: float | None) -> float | None:
    """Return what is left of a limit in seconds, none of it gone where no beginning was noted."""
    if limit is None or not _began:
        return limit
    return max(0.0, limit - (monotonic() - _began[0]))
