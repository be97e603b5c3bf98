"""In words: what history a simulation stands on, what was found in it and what was assumed."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from nest.buying.past import WEEK
from nest.buying.resample import NEAR
from nest.buying.trend import LEAST_SEASON_WEEKS, LEAST_TREND_WEEKS, LEVEL
from nest.output.words import counted

if TYPE_CHECKING:
    from nest.buying.past import History, Wishes
    from nest.buying.resample import Resampler
    from nest.buying.trend import Pace

FEW_WEEKS = 8


def basis_of(history: History, wishes: Wishes, resampler: Resampler, rate: float, left: int) -> tuple[str, ...]:
    """Return the sentences, the most important first; ``left`` pieces found no sheet that takes them."""
    weeks = history.weeks
    worked = sum(bool(week.rows) for week in weeks)
    said = [
        f"{counted(len(weeks), 'past week')} from {weeks[0].monday} to {weeks[-1].monday + WEEK - timedelta(days=1)}, "
        f"{worked} with work: {counted(sum(week.jobs for week in weeks), 'job')}, "
        f"{counted(sum(week.pieces for week in weeks), 'piece')}",
        *history.notes,
    ]
    if len(weeks) < FEW_WEEKS:
        said.append(
            f"fewer than {FEW_WEEKS} past weeks: how weeks differ is hardly known, so the spread may be far too small"
        )
    said.append(
        f"weeks are drawn in blocks of {resampler.block} (circular block bootstrap), their jobs one by one from the "
        f"weeks up to {NEAR} before and after"
    )
    said += _pace_words(resampler.pace)
    source = "as set" if wishes.remake_rate is not None else "as in the history"
    if wishes.remake_rate is None and history.remake_rate is None:
        source = "assumed, since nothing tells"
    said.append(f"{rate:.1%} of the pieces are made again ({source})".replace("%", " %"))
    age = "never scrapped" if wishes.offcut_weeks is None else f"scrapped after {counted(wishes.offcut_weeks, 'week')}"
    limit = "" if wishes.rack_limit is None else f", at most {wishes.rack_limit} on the rack"
    said.append(f"rests are kept by the room's rules and drawn again in later weeks, {age}{limit}")
    if left:
        said.append(f"{counted(left, 'piece')} of all simulated ones fit no sheet of the room and are left out")
    return tuple(said)


def _pace_words(pace: Pace) -> list[str]:
    if pace.trend_p is None:
        trend = f"no trend is looked for with fewer than {LEAST_TREND_WEEKS} weeks of work"
    elif pace.trend_p >= LEVEL:
        trend = f"no trend in the number of jobs (Mann-Kendall test, p = {pace.trend_p:.2f})"
    else:
        trend = (
            f"the number of jobs changes by {pace.growth - 1.0:+.1%} a week (Mann-Kendall test, p = "
            f"{pace.trend_p:.3f}), which is carried on"
        ).replace("%", " %")
    if pace.season_p is None:
        season = f"no season is looked for with fewer than {LEAST_SEASON_WEEKS} weeks"
    elif pace.season_p >= LEVEL:
        season = f"no season (Kruskal-Wallis test on four-week parts of the year, p = {pace.season_p:.2f})"
    else:
        season = (
            f"a season by four-week parts of the year, from {min(pace.season):.2f} to {max(pace.season):.2f} of the "
            f"mean (Kruskal-Wallis test, p = {pace.season_p:.3f})"
        )
    return [trend, season]
