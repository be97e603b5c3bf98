from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from nest.buying.trend import (
    LEAST_SEASON_WEEKS,
    LEAST_TREND_WEEKS,
    LEVEL,
    MOST_GROWTH,
    Pace,
    mann_kendall,
    pace_of,
    part_of,
    sen_slope,
)

FIRST = date(2024, 1, 1)


def mondays(count: int) -> list[date]:
    return [FIRST + timedelta(weeks=n) for n in range(count)]


def test_the_trend_test_agrees_with_a_statistics_library() -> None:
    # scipy's Kendall tau (asymptotic, ties corrected) has z = S / sd, ours with continuity correction (|S| - 1) / sd
    stats = pytest.importorskip("scipy.stats")
    values = np.array([3.0, 5.0, 4.0, 6.0, 6.0, 8.0, 7.0, 9.0, 9.0, 12.0])
    n = len(values)
    s = sum(np.sign(values[j] - values[i]) for i in range(n) for j in range(i + 1, n))
    theirs = stats.kendalltau(np.arange(n), values, method="asymptotic").pvalue
    z = stats.norm.isf(theirs / 2)
    assert mann_kendall(values) == pytest.approx(2 * stats.norm.sf(z * (s - 1) / s), rel=1e-9)


def test_the_slope_is_the_median_of_all_pairs() -> None:
    # Sen (1968): slopes of (0,1), (1,2), (2,9) are 1, 4, 7: the median is 4
    assert sen_slope(np.array([0, 1, 2]), np.array([1.0, 2.0, 9.0])) == 4.0


def test_a_clear_trend_is_carried_on_and_chance_is_not() -> None:
    random = np.random.default_rng(3)
    rising = pace_of(mondays(40), [int(x) for x in random.poisson(20 * 1.02 ** np.arange(40))])
    flat = pace_of(mondays(40), [int(x) for x in random.poisson(20, 40)])
    assert rising.trend_p is not None
    assert rising.trend_p < LEVEL
    assert rising.growth == pytest.approx(1.02, abs=0.01)
    assert flat.trend_p is not None
    assert flat.trend_p >= LEVEL
    assert flat.growth == 1.0


def test_without_a_trend_one_is_seen_about_as_rarely_as_the_level_says() -> None:
    random = np.random.default_rng(1)
    seen = sum(pace_of(mondays(26), [int(x) for x in random.poisson(12, 26)]).growth != 1.0 for _ in range(400))
    # binomial: 400 × 0.05 = 20, standard deviation 4.4
    assert seen <= 20 + 3 * 4.4


def test_weeks_without_work_do_not_count_as_a_trend_and_few_weeks_are_not_asked() -> None:
    few = pace_of(mondays(LEAST_TREND_WEEKS), [*range(1, LEAST_TREND_WEEKS), 0])
    assert few.trend_p is None
    assert few.growth == 1.0


def test_a_season_is_found_in_two_years_and_not_where_there_is_none() -> None:
    random = np.random.default_rng(5)
    weeks = mondays(LEAST_SEASON_WEEKS)
    high = [30 if part_of(monday) in (10, 11) else 12 for monday in weeks]
    found = pace_of(weeks, [int(x) for x in random.poisson(high)])
    none = pace_of(weeks, [int(x) for x in random.poisson(15, len(weeks))])
    assert found.season_p is not None
    assert found.season_p < LEVEL
    assert found.season[10] > 1.5 > 1.0 > found.season[3]
    assert np.mean(found.season) == pytest.approx(1.0, abs=0.06)
    assert none.season == (1.0,) * 13
    assert pace_of(weeks[:-1], [1] * (len(weeks) - 1)).season_p is None


def test_growth_never_runs_away() -> None:
    pace = Pace(growth=1.05)
    assert pace.factor(FIRST, FIRST + timedelta(weeks=2)) == pytest.approx(1.1025)
    assert pace.factor(FIRST, FIRST + timedelta(weeks=500)) == MOST_GROWTH
    assert pace.factor(FIRST, FIRST - timedelta(weeks=500)) == 1 / MOST_GROWTH


def test_a_week_of_one_season_stands_for_a_week_of_another() -> None:
    season = tuple(2.0 if part == 12 else 0.5 if part == 0 else 1.0 for part in range(13))
    pace = Pace(season=season)
    assert pace.factor(date(2024, 1, 1), date(2024, 12, 16)) == 4.0
    assert part_of(date(2020, 12, 28)) == 12  # ISO week 53
