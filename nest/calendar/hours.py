"""Operators' hours on the clock of a batch: when nobody is there, and whether a work ever finds its hands."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from nest.calendar.loads import TICKS_PER_MINUTE
from nest.errors import Fault, InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.calendar.shop import Shop, Span
    from nest.calendar.works import Stay
    from nest.domain.line import Hours

DAY = 24 * 60 * TICKS_PER_MINUTE


def away_spans(hours: Sequence[Hours], start: datetime, days: int) -> tuple[Span, ...]:
    """Return the spans, in ticks from a start on, of so many days in which no operator is there.

    Examples
    --------
    >>> from datetime import time
    >>> from nest.domain.line import Hours
    >>> day = Hours(start=time(6), end=time(14))
    >>> [(a // 600, b // 600) for a, b in away_spans([day], datetime(2027, 3, 1, 6), 2)]
    [(480, 1440), (1920, 2880)]
    """
    if not hours:
        return ()
    midnight = datetime.combine(start.date(), datetime.min.time())
    there: list[Span] = []
    for day in range(-1, days + 1):
        for span in hours:
            first = datetime.combine(midnight.date(), span.start) + timedelta(days=day)
            last = datetime.combine(midnight.date(), span.end) + timedelta(days=day + (span.end <= span.start))
            there.append((_ticks(first - start), _ticks(last - start)))
    away: list[Span] = []
    reached = 0
    for begin, end in sorted(there):
        if begin > reached:
            away.append((reached, min(begin, days * DAY)))
        reached = max(reached, end)
        if reached >= days * DAY:
            break
    return tuple(span for span in away if span[0] < span[1])


def _ticks(span: timedelta) -> int:
    return round(span.total_seconds() / 60 * TICKS_PER_MINUTE)


def check_hours(shop: Shop, stays: Sequence[Stay], hours: Sequence[Hours], start: datetime, file: str) -> None:
    """Check that every work finds its hands on some day.

    Raises
    ------
    InputError
        With one fault for each step that never does.
    """
    away = away_spans(hours, start, 20)
    if not away:
        return
    faults: dict[str, Fault] = {}
    for work, stay in zip(shop.works, stays, strict=True):
        moments = [0, *(end - first for _, end in away[: len(away) // 2] for first, _ in work.hands)]
        if not any(_finds(work.hands, moment, away) for moment in moments if moment >= 0):
            faults.setdefault(stay.step, Fault(
                file=file, where="line.operator_hours", rule=f"step {stay.step} of plate {stay.plates[0]} takes "
                f"{work.ticks / TICKS_PER_MINUTE:g} min and finds no operator on any day when it needs one",
                remedy="lengthen the hours, or change when the step needs an operator",
            ))  # fmt: skip
    if faults:
        raise InputError(tuple(faults.values()))


def _finds(hands: Sequence[Span], start: int, away: Sequence[Span]) -> bool:
    return not any(
        first < start + end and last > start + begin for begin, end in hands for first, last in away
    )
