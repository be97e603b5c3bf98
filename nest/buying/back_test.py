"""How forecasts made in the past would have done: each from the weeks before it alone, held against what came then.

Forecasts follow one another without overlap (a rolling origin), so that no week is judged twice. What came is the past
weeks as they were, nested in the same way; sheets that were drawn otherwise by hand do not count. Each forecast begins
with the rack as the room file has it now, as that of then is not known.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.checks import NONE
from nest.buying.forecast import HALF, NINE_TENTHS
from nest.buying.paths import simulate
from nest.domain.forecast import BackTest, SizeTest

if TYPE_CHECKING:
    from nest.buying.crew import Crew
    from nest.buying.demand import Demand
    from nest.buying.past import History, Wishes
    from nest.domain.room import Room

HORIZON = 4
"""Weeks that each forecast looks ahead."""
LEAST_PAST = 8
"""Past weeks that a forecast of a back-test has at least."""
PLAIN_WEEKS = 8
"""Weeks whose mean is the plain forecast that ours is held against."""
MOST_ORIGINS = 13
MOST_PATHS = 50


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """One forecast: futures (paths, weeks, sizes), what came (weeks, sizes), mean of the last weeks (sizes)."""

    futures: np.ndarray
    came: np.ndarray
    plain: np.ndarray


def origins_of(weeks: int) -> list[int]:
    """Return after how many past weeks forecasts are made, the earliest first; none where the history is too short.

    Examples
    --------
    >>> origins_of(26), origins_of(11)
    ([10, 14, 18, 22], [])
    """
    found = range(weeks - HORIZON, LEAST_PAST - 1, -HORIZON)
    return sorted(found)[-MOST_ORIGINS:]


def paths_needed(weeks: int, paths: int) -> int:
    """Return how many paths a back-test simulates in all, for progress."""
    return len(origins_of(weeks)) * min(paths, MOST_PATHS)


def back_test(history: History, past: Demand, room: Room, wishes: Wishes, means: Crew) -> BackTest | None:
    """Return how forecasts of the past did; None where the history is too short or nothing was finished in time.

    Parameters
    ----------
    history
        All past weeks.
    past
        The same weeks nested, uncorrected: one path, as `nest.buying.paths.past_demand` returns it.
    room, wishes
        As for the forecast itself; fewer paths where it has more than `MOST_PATHS`.
    means
        Who does the work; after an interrupt the forecasts that are whole count.
    """
    paths, origins = min(wishes.paths, MOST_PATHS), []
    trials: list[Trial] = []
    for at in origins_of(len(history.weeks)):
        known = replace(history, weeks=history.weeks[:at])
        told = _told_on(means, len(trials) * paths)
        futures = simulate(known, room, replace(wishes, weeks=HORIZON, paths=paths, first_week=None), told, NONE)
        if futures.paths < paths:
            break
        came = past.sheets[0, at : at + HORIZON]
        plain = past.sheets[0, max(0, at - PLAIN_WEEKS) : at].mean(axis=0)
        trials.append(Trial(futures=futures.sheets, came=came, plain=plain))
        origins.append(history.weeks[at].monday)
    if not trials:
        return None
    labels = [size.label for size in past.sizes]
    return BackTest(
        origins=tuple(origins), weeks=HORIZON, paths=paths, plain_weeks=PLAIN_WEEKS,
        sizes=tuple(size_test(label, trials, at) for at, label in enumerate(labels)),
    )  # fmt: skip


def _told_on(means: Crew, before: int) -> Crew:
    """Return the crew that tells progress on from so many paths."""
    return replace(means, told=lambda done, _count: means.told(before + done, 0))


def size_test(label: str, trials: list[Trial], at: int) -> SizeTest:
    """Return how the forecasts of one size did."""
    futures = np.array([trial.futures[:, :, at] for trial in trials])
    came = np.array([trial.came[:, at] for trial in trials])
    plain = np.array([trial.plain[at] for trial in trials])
    means = futures.mean(axis=1)
    inside, due = zip(*(_inside(futures, came, band) for band in (HALF, NINE_TENTHS)), strict=True)
    return SizeTest(
        size=label,
        weekly=float(came.mean()),
        bias=float((means - came).mean()),
        off=float(np.abs(means.sum(axis=1) - came.sum(axis=1)).mean()),
        plain_bias=float((plain[:, None] - came).mean()),
        plain_off=float(np.abs(HORIZON * plain - came.sum(axis=1)).mean()),
        in50=inside[0], in90=inside[1], due50=due[0], due90=due[1],
    )  # fmt: skip


def _inside(futures: np.ndarray, came: np.ndarray, band: tuple[float, float]) -> tuple[float, float]:
    """Return the share of weeks whose truth lies in the band, and the share that the futures themselves have there."""
    low, high = (np.quantile(futures, level, axis=1, method="inverted_cdf") for level in band)
    hit = (low <= came) & (came <= high)
    own = (low[:, None] <= futures) & (futures <= high[:, None])
    return float(hit.mean()), float(own.mean())
