"""Order policies: how far to fill up, when, and how many sheets that makes in boxes, price breaks and shelf life.

One rule covers them all: where the position (on hand + on order - committed) is below the order point, order as many
batches as bring it to the level at least.

| policy | order point | level | batch |
|---|---|---|---|
| fill up at every review, (R, S) | S | S | box |
| order point, up to a level, (s, S) | s | S | box |
| order point, fixed lots, (s, nQ) | s | s | Q |

The order point or level is set by the demand until what is ordered at the *next* chance has come in: review time plus
delivery time; delivery time alone only where the stock is watched without a break (review 0). Safety for one of the two
alone is the usual mistake.

Times are in any one unit, the same in all figures. Money is per sheet and per order.

References
----------
Snyder, L. V. and Shen, Z.-J. M. (2019), Fundamentals of Supply Chain Theory, 2nd ed., Wiley. Hadley, G. and Whitin,
T. M. (1963), Analysis of Inventory Systems, Prentice-Hall: price breaks on all units (both from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.room import OrderPolicy, Service

if TYPE_CHECKING:
    from collections.abc import Callable

    from nest.buying.spread import Spread

TIGHT = 1e-9
"""Quantities this near are equal."""
HALVINGS = 200
"""Steps of a bisection: enough for any float."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """On which terms a size is bought and kept.

    ``box`` is 0 where any amount can be ordered. ``breaks`` are quantities of one order from which all its sheets cost
    another price. ``holding`` is the cost of keeping for one unit of time what costs 1.
    """

    price: float
    box: int = 1
    least: float = 0
    breaks: tuple[tuple[float, float], ...] = ()
    order_cost: float = 0.0
    holding: float = 0.0

    def price_of(self, sheets: float) -> float:
        """Return the price of one sheet in an order of so many."""
        return min((price for most, price in self.breaks if sheets >= most), default=self.price)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """When to order and up to where; ``batch`` 0 is any amount."""

    point: float
    level: float
    batch: int = 1

    def order(self, position: float, least: float = 0) -> float:
        """Return what to order at a position: batches up to the level, at least ``least``.

        Examples
        --------
        >>> Rule(point=19.122425, level=19.122425, batch=8).order(9)
        16.0
        >>> Rule(point=19, level=19).order(19)
        0.0
        """
        if position >= self.point - TIGHT:
            return 0.0
        return rounded_up(max(self.level - position, least), self.batch)


def rounded_up(sheets: float, batch: int) -> float:
    """Return an amount in whole batches, at least as much; any amount where the batch is 0."""
    return float(sheets) if batch == 0 else float(math.ceil(sheets / batch - TIGHT) * batch)


def order_level(
    cover: Spread,
    *,
    service: Service,
    level: float,
    cycle: float = 0.0,
    before: Spread | None = None,
) -> float:
    """Return the least position after ordering that gives a service.

    Parameters
    ----------
    cover
        Demand over review plus delivery time.
    service
        Cycle service: no shortage before the next order has come in, with probability ``level``. Fill rate: at least
        the share ``level`` of the demand is served from stock, so the expected shortage of a cycle is at most
        (1 - level) × ``cycle``.
    level
        Between 0 and 1.
    cycle
        Mean demand between two orders; for the fill rate only.
    before
        Demand over the delivery time alone: what is short of it was short in the cycle before and is not counted twice.
        None where that is to be neglected.

    Raises
    ------
    ValueError
        If the level is not between 0 and 1.
    """
    if not 0 < level < 1:
        raise ValueError(f"a service level lies between 0 and 1, got {level}")
    if service is Service.CYCLE:
        return cover.quantile(level)
    allowed = (1 - level) * cycle

    def short(stock: float) -> float:
        return cover.short(stock) - (before.short(stock) if before is not None else 0.0)

    return _least(lambda stock: short(stock) <= allowed + TIGHT * cycle, cover)


def _least(enough: Callable[[float], bool], cover: Spread) -> float:
    """Return the least stock from 0 that is enough, whole where the demand is."""
    low, high = -1.0, max(1.0, math.ceil(cover.mean + cover.sd))
    while not enough(high):
        low, high = high, 2 * high
    for _ in range(HALVINGS):
        gap = high - low
        if gap <= (1 if cover.whole else TIGHT * high):
            break
        middle = math.floor((low + high) / 2) if cover.whole else (low + high) / 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return max(0.0, high)


def economic_lot(rate: float, order_cost: float, unit_holding: float) -> float:
    """Return the lot of least cost sqrt(2 × order cost × rate / holding), holding per sheet and unit of time.

    Raises
    ------
    ValueError
        If holding costs nothing: there is no such lot.
    """
    if unit_holding <= 0:
        raise ValueError("an economic lot needs a holding cost above 0")
    return math.sqrt(2 * order_cost * rate / unit_holding)


def cost_rate(lot: float, rate: float, terms: Terms) -> float:
    """Return the cost per unit of time of buying in lots: sheets, orders, and holding half a lot on average."""
    price = terms.price_of(lot)
    return price * rate + terms.order_cost * rate / lot + terms.holding * price * lot / 2


def best_lot(rate: float, terms: Terms, *, at_least: float = 0.0) -> float:
    """Return the lot of least cost, of price breaks too, not below ``at_least`` nor the least order (before boxes).

    Where holding costs nothing, the economic lot is no candidate: there is none.
    """
    floor = max(at_least, terms.least, TIGHT)
    candidates = {floor, *(most for most, _ in terms.breaks if most > floor)}
    prices = {terms.price, *(price for _, price in terms.breaks)}
    if terms.holding > 0 and rate > 0:
        lots = (economic_lot(rate, terms.order_cost, terms.holding * price) for price in prices if price > 0)
        candidates |= {lot for lot in lots if lot > floor}
    return min(sorted(candidates), key=lambda lot: cost_rate(lot, rate, terms))


def rule_of(policy: OrderPolicy, level: float, rate: float, terms: Terms) -> Rule:
    """Return the rule of a policy from the level that gives the service.

    The order point policy has lots of least cost: (s, nQ).
    """
    if policy is OrderPolicy.FILL_UP:
        return Rule(point=level, level=level, batch=terms.box)
    lot = rounded_up(best_lot(rate, terms), terms.box)
    return Rule(point=level, level=level, batch=math.ceil(lot)) if terms.box else Rule(point=level, level=level + lot,
                                                                                      batch=0)  # fmt: skip


def raised(sheets: float, rate: float, terms: Terms) -> float:
    """Return an order raised to a price break where that is cheaper in the long run; 0 stays 0."""
    if sheets <= 0 or not terms.breaks or rate <= 0:
        return sheets
    options = [sheets, *(rounded_up(most, terms.box) for most, _ in terms.breaks if most > sheets)]
    return min(options, key=lambda lot: cost_rate(lot, rate, terms))


def capped(sheets: float, position: float, usable: float, box: int) -> float:
    """Return an order cut down so that position and order are at most what can be used before it expires.

    Parameters
    ----------
    sheets
        The order.
    position
        On hand and on order, less what is committed.
    usable
        Demand expected before the order would expire.
    box
        0 for any amount.
    """
    most = max(0.0, usable - position)
    if sheets <= most + TIGHT:
        return sheets
    return most if box == 0 else float(math.floor(most / box + TIGHT) * box)


def expected_cost(demand: Spread, stock: float, *, over: float, under: float) -> float:
    """Return the expected cost of a stock for one period: ``over`` for each sheet left, ``under`` for each one short.

    Least at the stock that suffices with probability under / (under + over): the newsvendor.
    """
    short = demand.short(stock)
    return over * (stock - demand.mean + short) + under * short
