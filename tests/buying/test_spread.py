"""Normal, Poisson and empirical demand against known values and a general inventory library."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest

from nest.buying.spread import Empirical, Normal, Poisson, normal_over

Z_TABLE = {0.90: 1.2816, 0.95: 1.6449, 0.975: 1.9600, 0.98: 2.0537, 0.99: 2.3263, 0.995: 2.5758, 0.999: 3.0902}
"""Standard normal quantiles, as every statistical table has them (to 4 decimals)."""


@pytest.mark.parametrize(("level", "z"), Z_TABLE.items())
def test_normal_quantiles_are_those_of_the_table(level: float, z: float) -> None:
    assert Normal(mean=0.0, sd=1.0).quantile(level) == pytest.approx(z, abs=5e-5)


def test_normal_loss_agrees_with_the_library_stockpyl() -> None:
    from stockpyl.loss_functions import normal_loss

    for stock in (80.0, 120.0, 135.0, 170.0):
        assert Normal(mean=120.0, sd=10.0).short(stock) == pytest.approx(normal_loss(stock, 120, 10)[0], abs=1e-9)


def test_poisson_loss_agrees_with_the_library_stockpyl() -> None:
    from stockpyl.loss_functions import poisson_loss

    for stock in (0, 3, 8, 13, 25):
        assert Poisson(mean=8.0).short(stock) == pytest.approx(poisson_loss(stock, 8)[0], abs=1e-9)


def test_poisson_loss_between_whole_numbers_lies_on_the_line() -> None:
    demand = Poisson(mean=3.0)
    assert demand.short(2.25) == pytest.approx(0.75 * demand.short(2) + 0.25 * demand.short(3))
    assert demand.short(-2) == 5.0


def test_poisson_of_large_mean_nears_the_normal() -> None:
    demand = Poisson(mean=900.0)
    assert demand.quantile(0.95) == pytest.approx(900 + 1.6449 * 30, abs=1.5)
    assert Poisson(mean=0.0).quantile(0.95) == 0.0
    assert Poisson(mean=0.0).risk(0.0) == 0.0


def test_empirical_demand_counts_paths() -> None:
    demand = Empirical(np.array([0, 2, 2, 5, 11]))
    assert demand.mean == 4.0
    assert demand.whole
    assert demand.quantile(0.8) == 5.0
    assert demand.risk(5) == pytest.approx(0.2)
    assert demand.short(2) == pytest.approx((3 + 9) / 5)


def test_empirical_demand_of_many_normal_draws_is_near_the_normal() -> None:
    drawn = np.random.default_rng(4).normal(120, 10, 40_000)
    # standard error of a quantile: sqrt(p (1 - p) / n) / density
    error = math.sqrt(0.9 * 0.1 / len(drawn)) / NormalDist(120, 10).pdf(132.8155)
    assert Empirical(drawn).quantile(0.9) == pytest.approx(132.8155, abs=4 * error)
    assert not Empirical(drawn).whole


def test_demand_without_spread_is_certain() -> None:
    assert normal_over(4.0, 0.0, 3.0).quantile(0.99) == 12.0
    assert normal_over(4.0, 0.0, 3.0).short(10.0) == 2.0
    assert normal_over(4.0, 0.0, 3.0).risk(11.0) == 1.0


def test_no_path_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one path"):
        Empirical(np.array([], dtype=np.int64))
