"""What the room file says of buying: the table ``[buying]``, and the terms of each sheet size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.room import Buying, OrderPolicy, PriceBreak, Service
from nest.intake.faults import quoted
from nest.intake.keys import MOST_MONEY

if TYPE_CHECKING:
    from nest.intake.keys import Keys

MOST_DAYS = 10_000
LEVELS = (0.5, 0.9999)
"""Below the first a shortage would be the rule; above the second no simulation can tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTerms:
    """The keys of a sheet that only the buyer needs."""

    delivery_spread_days: float = 0.0
    min_order: int = 0
    shelf_life_days: int | None = None
    price_breaks: tuple[PriceBreak, ...] = ()


def read_buying(keys: Keys) -> Buying:
    """Return how sheets are bought."""
    usual = Buying()
    level = keys.number("level", least=LEVELS[0], most=LEVELS[1])
    buying = Buying(
        policy=keys.choice("policy", OrderPolicy, usual.policy),
        service=keys.choice("service", Service, usual.service),
        level=usual.level if level is None else level,
        review_days=keys.count("review_days", least=1, most=MOST_DAYS) or usual.review_days,
        order_cost=keys.number_or("order_cost", usual.order_cost),
        holding_per_year=keys.number_or("holding_per_year", usual.holding_per_year, most=10.0),
        shelf_life_days=keys.count("shelf_life_days", least=1, most=MOST_DAYS),
    )
    if buying.policy is OrderPolicy.ORDER_POINT:
        for name in ("order_cost", "holding_per_year"):
            if getattr(buying, name) == 0:
                keys.note(name if name in keys else None, rule=f"order-point needs {name} above 0: it sets the lot",
                          got=quoted(keys.table[name]) if name in keys else None,
                          remedy=f'give {name}, or set policy to "{OrderPolicy.FILL_UP}"')  # fmt: skip
    keys.finish()
    return buying


def read_terms(keys: Keys) -> SheetTerms:
    """Return the buyer's keys of one sheet."""
    spread = keys.number("delivery_spread_days", most=MOST_DAYS)
    if spread and "delivery_days" not in keys:
        keys.note("delivery_spread_days", rule="delivery_days is missing beside it", got=quoted(spread),
                  remedy="add delivery_days: the spread is its standard deviation")
    return SheetTerms(
        delivery_spread_days=spread or 0.0,
        min_order=keys.count_or("min_order", 0),
        shelf_life_days=keys.count("shelf_life_days", least=1, most=MOST_DAYS),
        price_breaks=_breaks(keys),
    )


def _breaks(keys: Keys) -> tuple[PriceBreak, ...]:
    """Return the price breaks, which rise in sheets and fall in price."""
    found: list[PriceBreak] = []
    price = keys.table.get("price")
    last = float(price) if isinstance(price, int | float) and not isinstance(price, bool) else None
    for own in keys.tables("price_breaks"):
        sheets = own.count("sheets", least=1)
        cost = own.number("price", most=MOST_MONEY)
        for name in ("sheets", "price"):
            if name not in own:
                own.note(None, rule=f"the required key '{name}' is missing", remedy="write it like { sheets = 20, "
                         "price = 81.50 }")  # fmt: skip
        own.finish()
        if sheets is None or cost is None:
            continue
        if found and sheets <= found[-1].sheets:
            own.note("sheets", rule="must rise from break to break", got=quoted(sheets), remedy="put them in order")
        elif last is not None and cost >= last:
            own.note("price", rule=f"must be below {last:g}, the price of fewer sheets", got=quoted(cost),
                     remedy="correct the price or take the break out")
        found.append(PriceBreak(sheets=sheets, price=cost))
        last = cost
    return tuple(found)
