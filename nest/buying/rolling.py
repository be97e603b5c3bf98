"""A store rolled forward over simulated demand: lots used first expired first out, orders, deliveries, shortages.

Each working day: what has expired is taken out, the store is reviewed and an order placed where one is due, deliveries
come in, sheets are drawn. What is short waits for the next delivery. Deliveries of one size do not overtake
each other. All paths at once, one array operation a step.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.windows import delivery_times

if TYPE_CHECKING:
    from collections.abc import Callable

    from nest.buying.spread import Values

    Decide = Callable[[int, "Values"], "Values"]
    """What to order on a review day at each path's position."""

NEVER = np.iinfo(np.int64).max // 4
"""A day after all others: what does not expire, expires then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A store as it is on day 0.

    Parameters
    ----------
    lots : tuple of (sheets, day)
        What is on hand; unusable from that working day on, None for never.
    due : tuple of (sheets, day)
        What is on order and the working day it comes.
    committed
        Sheets that are drawn on day 0 whatever the demand.
    """

    lots: tuple[tuple[float, int | None], ...] = ()
    due: tuple[tuple[float, int], ...] = ()
    committed: float = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """How sheets come in: delivery time and its standard deviation, days between reviews, days of use from delivery."""

    delivery: float
    delivery_sd: float = 0.0
    review: int = 5
    life: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """What happened; arrays are (paths, days).

    ``late`` is demand that could not be served on its day, ``backlog`` what still waits at the end of a day,
    ``on_hand`` what lies there then.
    """

    demand: Values
    ordered: Values
    late: Values
    backlog: Values
    on_hand: Values
    expired: Values

    def stock_out(self, days: int | None = None) -> np.ndarray:
        """Return for each path whether anything was short on one of the first days."""
        return np.asarray((self.backlog[:, :days] > 0).any(axis=1))

    @property
    def served(self) -> float:
        """Share of the demand that was served on its day."""
        asked = float(self.demand.sum())
        return 1.0 - float(self.late.sum()) / asked if asked else 1.0


class _Lots:
    """Sheets by lot (paths, lots): on hand, on the way, the day each comes and expires."""

    def __init__(self, opening: Opening, supply: Supply, paths: int, orders: int, dtype: np.dtype) -> None:
        lots = len(opening.lots) + len(opening.due) + orders
        self.here = np.zeros((paths, lots), dtype)
        self.coming = np.zeros((paths, lots), dtype)
        self.comes = np.full((paths, lots), NEVER)
        self.expires = np.full((paths, lots), NEVER)
        self.supply, self.used = supply, 0
        self.last = np.zeros(paths, dtype=np.int64)
        for sheets, expires in opening.lots:
            self.here[:, self.used] = sheets
            self.expires[:, self.used] = NEVER if expires is None else expires
            self.used += 1
        for sheets, comes in sorted(opening.due, key=lambda due: due[1]):
            self.order(np.full(paths, sheets, dtype), np.full(paths, comes, dtype=np.int64))
        self.rank = np.argsort(self.expires, axis=1, kind="stable")

    def order(self, sheets: Values, comes: np.ndarray) -> None:
        """Add an order of each path; one that would come before an earlier one comes with it."""
        self.last = np.maximum(self.last, comes)
        self.coming[:, self.used] = sheets
        self.comes[:, self.used] = self.last
        if self.supply.life is not None:
            self.expires[:, self.used] = self.last + self.supply.life
        self.used += 1
        self.rank = np.argsort(self.expires, axis=1, kind="stable")

    def expire(self, day: int) -> Values:
        """Take out what has expired and return how much of each path."""
        gone = np.where(self.expires <= day, self.here, 0)
        self.here -= gone
        out: Values = gone.sum(axis=1)
        return out

    def come_in(self, day: int) -> None:
        """Put what comes by a day on the shelf."""
        here = np.where(self.comes <= day, self.coming, 0)
        self.here += here
        self.coming -= here

    def draw(self, sheets: Values) -> Values:
        """Take sheets, first expired first, and return what is short."""
        there = np.take_along_axis(self.here, self.rank, axis=1)
        before = np.cumsum(there, axis=1) - there
        taken = np.clip(sheets[:, None] - before, 0, there)
        np.put_along_axis(self.here, self.rank, there - taken, axis=1)
        short: Values = sheets - taken.sum(axis=1)
        return short

    def position(self, day: int, rate: float, cover: float) -> Values:
        """Return what is on hand and on the way, without what expires unused before the order after next comes.

        Of lots that expire within the cover no more counts than the mean demand uses up to then.
        """
        usable = np.zeros(len(self.here))
        for at in range(self.used):
            lot = self.rank[:, at : at + 1]
            sheets = np.take_along_axis(self.here + self.coming, lot, axis=1)[:, 0]
            left = np.take_along_axis(self.expires, lot, axis=1)[:, 0] - day
            use = np.maximum(usable, rate * np.maximum(left, 0))
            usable = np.where(left < cover, np.minimum(usable + sheets, use), usable + sheets)
        return usable


def first_position(opening: Opening, supply: Supply, rate: float) -> float:
    """Return the position of a store on day 0, as `roll` tells it to ``decide``, with ``rate`` the demand of a day."""
    lots = _Lots(opening, supply, 1, 0, np.dtype(float))
    return float(lots.position(0, rate, supply.review + supply.delivery)[0]) - opening.committed


def roll(days: Values, opening: Opening, supply: Supply, decide: Decide, chance: np.random.Generator, *,
         rate: float | None = None) -> Course:  # fmt: skip
    """Roll a store of one size forward.

    Parameters
    ----------
    days : array (paths, days)
        Demand of each working day.
    opening
        The store on day 0.
    supply
        How sheets come in.
    decide
        Called every ``supply.review`` days from day 0 on with the day and each path's position (paths,): on hand and on
        order, less what waits and what is committed, without what expires unused. Returns the orders (paths,).
    chance
        Draws the delivery times.
    rate
        Mean demand of a day, by which expiring lots are judged; None for that of ``days``.
    """
    paths, length = days.shape
    lots = _Lots(opening, supply, paths, -(-length // supply.review), days.dtype)
    waits = np.full(paths, opening.committed, days.dtype)
    if rate is None:
        rate = float(days.mean()) if days.size else 0.0
    cover = supply.review + supply.delivery
    out = {name: np.zeros_like(days) for name in ("ordered", "late", "backlog", "on_hand", "expired")}
    for day in range(length):
        out["expired"][:, day] = lots.expire(day)
        if day % supply.review == 0:
            orders = decide(day, lots.position(day, rate, cover) - waits)
            out["ordered"][:, day] = orders
            lots.order(orders, day + delivery_times(supply.delivery, supply.delivery_sd, paths, chance))
        lots.come_in(day)
        waits = lots.draw(waits + days[:, day])
        # who waits longest is served first, so what still waits in the evening came last
        out["late"][:, day] = np.minimum(waits, days[:, day])
        out["backlog"][:, day] = waits
        out["on_hand"][:, day] = lots.here.sum(axis=1)
    return Course(demand=days, **out)
