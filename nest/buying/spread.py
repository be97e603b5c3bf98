"""How demand over a stretch of time spreads: normal, Poisson, or as simulated paths have it.

The policies (`nest.buying.policy`) ask a spread three things only: which stock suffices with a given probability, how
likely a stock does not suffice, and how many sheets are short of it on average.

References
----------
Snyder, L. V. and Shen, Z.-J. M. (2019), Fundamentals of Supply Chain Theory, 2nd ed., Wiley: normal and Poisson loss
functions (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

    Values = NDArray[Any]
    """Numbers of sheets: whole ones for simulated weeks, others for demand as handbooks have it."""


class Spread(Protocol):
    """Demand over a stretch of time, as a policy sees it."""

    @property
    def mean(self) -> float:
        """Expected demand."""

    @property
    def sd(self) -> float:
        """Standard deviation."""

    @property
    def whole(self) -> bool:
        """Whether demand comes in whole sheets only."""

    def quantile(self, level: float) -> float:
        """Return the least stock that suffices with at least this probability, 0 < level < 1."""

    def risk(self, stock: float) -> float:
        """Return the probability that demand is above a stock."""

    def short(self, stock: float) -> float:
        """Return the expected demand beyond a stock (the loss function)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Normal:
    """Normal demand, as handbooks have it.

    Examples
    --------
    >>> demand = Normal(mean=120.0, sd=10.0)
    >>> round(demand.quantile(0.9), 4), round(demand.risk(120.0), 4), round(demand.short(120.0), 4)
    (132.8155, 0.5, 3.9894)
    """

    mean: float
    sd: float
    whole: bool = False

    def quantile(self, level: float) -> float:
        """Return mean + z(level) × sd."""
        return self.mean if self.sd == 0 else NormalDist(self.mean, self.sd).inv_cdf(level)

    def risk(self, stock: float) -> float:
        """Return 1 - F(stock)."""
        if self.sd == 0:
            return float(self.mean > stock)
        # erfc keeps its digits in the far tail, where 1 - F has none
        return 0.5 * math.erfc((stock - self.mean) / (self.sd * math.sqrt(2)))

    def short(self, stock: float) -> float:
        """Return sd × (phi(z) - z × (1 - Phi(z)))."""
        if self.sd == 0:
            return max(0.0, self.mean - stock)
        z = (stock - self.mean) / self.sd
        return self.sd * (NormalDist().pdf(z) - z * self.risk(stock))


@dataclass(frozen=True, slots=True, kw_only=True)
class Poisson:
    """Poisson demand: small counts that come one by one.

    Examples
    --------
    >>> Poisson(mean=8.0).quantile(0.95), round(Poisson(mean=8.0).short(0.0), 9)
    (13.0, 8.0)
    """

    mean: float
    whole: bool = True

    @property
    def sd(self) -> float:
        """Square root of the mean."""
        return math.sqrt(self.mean)

    def _below(self, stock: float) -> tuple[float, float]:
        """Return the probability of at most ``stock`` and of exactly its whole part, summed from the smallest."""
        last = math.floor(stock)
        if last < 0:
            return 0.0, 0.0
        if self.mean == 0:
            return 1.0, float(last == 0)
        chances = [math.exp(n * math.log(self.mean) - self.mean - math.lgamma(n + 1)) for n in range(last + 1)]
        return min(1.0, math.fsum(chances)), chances[-1]

    def quantile(self, level: float) -> float:
        """Return the least whole number with F at or above the level."""
        total, n = 0.0, -1
        while total < level and n < self.mean + 40 * (1 + self.sd):
            n += 1
            total = self._below(n)[0]
        return float(n)

    def risk(self, stock: float) -> float:
        """Return 1 - F(stock)."""
        return 1.0 - self._below(stock)[0]

    def short(self, stock: float) -> float:
        """Return the sum of what is beyond the stock; for whole n it is (mean - n) × (1 - F(n)) + mean × f(n)."""
        if stock < 0:
            return self.mean - stock
        below = math.floor(stock)
        upto, at = self._below(below)
        # between whole numbers the loss falls by the risk, which stays the same there
        return (self.mean - below) * (1 - upto) + self.mean * at - (stock - below) * (1 - upto)


@dataclass(frozen=True, slots=True, eq=False)
class Empirical:
    """Demand as simulated: each value is as likely as any other.

    Parameters
    ----------
    values : array (paths,)
        Demand over the stretch, one value for each path.

    Raises
    ------
    ValueError
        If there is none.

    Examples
    --------
    >>> demand = Empirical(np.array([3, 9, 4, 4]))
    >>> demand.mean, demand.quantile(0.75), demand.quantile(0.76), demand.risk(4), demand.short(4)
    (5.0, 4.0, 9.0, 0.25, 1.25)
    """

    values: Values

    def __post_init__(self) -> None:
        """See that there is at least one path."""
        if self.values.size == 0:
            raise ValueError("demand needs at least one path")

    @property
    def mean(self) -> float:
        """Mean over the paths."""
        return float(self.values.mean())

    @property
    def sd(self) -> float:
        """Standard deviation over the paths."""
        return float(self.values.std())

    @property
    def whole(self) -> bool:
        """Whether the paths hold whole numbers."""
        return bool(np.issubdtype(self.values.dtype, np.integer))

    def quantile(self, level: float) -> float:
        """Return the least value that at least this share of the paths does not exceed."""
        return float(np.quantile(self.values, level, method="inverted_cdf"))

    def risk(self, stock: float) -> float:
        """Return the share of paths above a stock."""
        return float(np.mean(self.values > stock))

    def short(self, stock: float) -> float:
        """Return the mean over the paths of what is beyond a stock."""
        return float(np.maximum(self.values - stock, 0).mean())


def normal_over(mean: float, sd: float, time: float, time_sd: float = 0.0) -> Normal:
    """Return normal demand over a stretch of time, from that per unit of time, independent from one to the next.

    sd over the stretch = sqrt(time × sd² + mean² × time_sd²), where the stretch itself spreads by ``time_sd`` (Snyder
    and Shen 2019; from memory).

    Examples
    --------
    >>> round(normal_over(50.0, 5.0, 6.0, 2.0).sd, 6)
    100.747208
    """
    return Normal(mean=mean * time, sd=math.sqrt(time * sd * sd + mean * mean * time_sd * time_sd))
