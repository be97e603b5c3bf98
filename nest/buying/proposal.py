"""What to buy today: each size's order by the room's policy on simulated demand, its risk, and when the next falls due.

Each size on its own: what is short of one size could be cut from another, which is not counted on. Demand over review
and delivery time is summed path by path, so that weeks that go together stay together; where the delivery time spreads,
each path draws its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.policy import Terms, best_lot, capped, order_level, raised, rounded_up, rule_of
from nest.buying.rolling import Supply, first_position, roll
from nest.buying.windows import Windows, delivery_times, from_day
from nest.domain.proposal import Cover, Outlook, Proposal, Proposals, Stand
from nest.domain.room import OrderPolicy, Service
from nest.domain.workdays import PER_YEAR, calendar_to_workdays, workday_after
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from nest.buying.demand import Demand, SizeKey
    from nest.buying.holding import Holding
    from nest.buying.policy import Rule
    from nest.buying.rolling import Course, Decide, Opening
    from nest.buying.spread import Values
    from nest.domain.room import Buying, Room, Sheet

BAND = (0.025, 0.975)
"""95 futures of 100 lie between."""
DUE_BAND = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One size with all that a proposal needs.

    Times are working days; ``windows`` begin on the day of the proposal. ``chance`` seeds the delivery times.
    """

    key: SizeKey
    windows: Windows
    terms: Terms
    supply: Supply
    buying: Buying
    chance: tuple[int, ...]

    @property
    def cover_days(self) -> int:
        """Days from a review until what is ordered at the next one has come, with the mean delivery time."""
        return self.supply.review + round(self.supply.delivery)

    def draws(self) -> np.random.Generator:
        """Return the same random numbers each time."""
        return np.random.default_rng(self.chance)


def terms_of(sheet: Sheet, buying: Buying) -> Terms:
    """Return the terms of a size; holding is by working day."""
    return Terms(
        price=sheet.price, box=sheet.per_box or 1, least=sheet.min_order,
        breaks=tuple((one.sheets, one.price) for one in sheet.price_breaks), order_cost=buying.order_cost,
        holding=buying.holding_per_year / PER_YEAR,
    )  # fmt: skip


def supply_of(sheet: Sheet, buying: Buying) -> Supply:
    """Return how a size comes in."""
    life = sheet.shelf_life_days or buying.shelf_life_days
    return Supply(
        delivery=sheet.delivery_days or 0, delivery_sd=sheet.delivery_spread_days, review=buying.review_days,
        life=None if life is None else calendar_to_workdays(life),
    )  # fmt: skip


def size_of(demand: Demand, at: int, sheet: Sheet, buying: Buying, day: date, *, planned: bool = False) -> Size:
    """Return a size as it stands in simulated demand, by its terms in the room file.

    ``planned`` is set where plans say what is drawn this week, in place of the simulation.
    """
    days = from_day(demand.sheets[:, :, at], demand.first_week, day, skip_this_week=planned)
    return Size(
        key=demand.sizes[at], windows=Windows(days=days), terms=terms_of(sheet, buying),
        supply=supply_of(sheet, buying), buying=buying, chance=(demand.seed, at),
    )  # fmt: skip


def rule_at(size: Size, day: int) -> Rule:
    """Return the rule by which a size is ordered on a day."""
    paths, supply, buying = size.windows.paths, size.supply, size.buying
    delivery = delivery_times(supply.delivery, supply.delivery_sd, paths, size.draws())
    cover = size.windows.over(day, supply.review + delivery)
    cycle, before = size.windows.rate * supply.review, None
    if buying.service is Service.FILL_RATE:
        if buying.policy is OrderPolicy.ORDER_POINT:
            cycle = max(cycle, rounded_up(best_lot(size.windows.rate, size.terms), size.terms.box))
        before = size.windows.over(day, delivery)
    level = order_level(cover, service=buying.service, level=buying.level, cycle=cycle, before=before)
    return rule_of(buying.policy, level, size.windows.rate, size.terms)


def order_at(size: Size, rule: Rule, day: int, position: float) -> float:
    """Return the order at a position: by the rule, raised to a price break where that pays, cut to what is used up."""
    terms = size.terms
    sheets = rule.order(position, terms.least)
    if size.buying.policy is OrderPolicy.FILL_UP:
        sheets = raised(sheets, size.windows.rate, terms)
    kept = capped(sheets, position, usable(size, day), terms.box)
    return kept if kept >= terms.least else 0.0


def usable(size: Size, day: int) -> float:
    """Return the demand expected before sheets ordered on a day would expire."""
    if size.supply.life is None:
        return float("inf")
    return size.windows.expected(day, round(size.supply.delivery) + size.supply.life)


def by_policy(size: Size) -> Decide:
    """Return the policy as a function of day and positions."""

    def decide(day: int, position: Values) -> Values:
        rule = rule_at(size, day)
        at, which = np.unique(position, return_inverse=True)
        orders = np.array([order_at(size, rule, day, float(one)) for one in at])
        return np.asarray(orders[which])

    return decide


def only_today(sheets: float) -> Decide:
    """Return the decision to order today and never again."""
    return lambda day, position: np.full(len(position), sheets if day == 0 else 0)


def proposal_of(size: Size, holding: Holding, day: date) -> Proposal:
    """Return what to buy of one size on a day."""
    opening, rule = holding.opening(day), rule_at(size, 0)
    stand = _stand(size, holding, opening, day)
    sheets = int(order_at(size, rule, 0, stand.position))
    until = size.cover_days
    soon, rate = size.windows.days[:, :until], size.windows.rate
    with_order = roll(soon, opening, size.supply, only_today(sheets), size.draws(), rate=rate)
    without = roll(soon, opening, size.supply, only_today(0), size.draws(), rate=rate)
    course = roll(size.windows.days, opening, size.supply, by_policy(size), size.draws())
    due = _next_orders(course)
    early, usual, late = (None if at is None else workday_after(day, at) for at in due)
    price = size.terms.price_of(sheets)
    return Proposal(
        size=size.key.label, material=size.key.material, across_mm=size.key.across_mm, around_mm=size.key.around_mm,
        sheets=sheets, per_box=size.terms.box, price=price, cost=money(price * sheets),
        comes=workday_after(day, round(size.supply.delivery)), cover=_cover(size, rule, day), stand=stand,
        risk_with=float(with_order.stock_out().mean()), risk_without=float(without.stock_out().mean()),
        risk_before=float(without.stock_out(round(size.supply.delivery)).mean()),
        next_order=usual, next_from=early, next_to=late, outlook=outlook_of(size, course),
        notes=_notes(size, rule, sheets, stand, holding, day),
    )  # fmt: skip


def _stand(size: Size, holding: Holding, opening: Opening, day: date) -> Stand:
    """Return the sheets that are there, as the buyer counts them."""
    there = sum(lot.sheets for lot in holding.usable(day))
    free = Stand(
        on_hand=there, kept_back=min(holding.kept_back, there), on_order=holding.on_order, committed=holding.committed
    )
    counted = first_position(opening, size.supply, size.windows.rate)
    return replace(free, expiring=max(0, math.ceil(free.position - counted - 1e-9)))


def _cover(size: Size, rule: Rule, day: date) -> Cover:
    delivery = delivery_times(size.supply.delivery, size.supply.delivery_sd, size.windows.paths, size.draws())
    spread = size.windows.over(0, size.supply.review + delivery)
    low, high = (round(spread.quantile(one)) for one in BAND)
    return Cover(
        days=size.cover_days, until=workday_after(day, size.cover_days), low=low, high=high,
        enough=math.ceil(rule.point - 1e-9),
    )  # fmt: skip


def _next_orders(course: Course) -> list[int | None]:
    """Return the day of the next order after today's in a few, half and most of the paths; None beyond the end."""
    ordered = course.ordered > 0
    ordered[:, 0] = False  # a fresh array: the course is as it was
    first = np.where(ordered.any(axis=1), ordered.argmax(axis=1), course.ordered.shape[1])
    at = [int(np.quantile(first, one, method="inverted_cdf")) for one in DUE_BAND]
    return [None if day == course.ordered.shape[1] else day for day in at]


def outlook_of(size: Size, course: Course) -> Outlook:
    """Return how the store fared, as means over the paths."""
    paths = len(course.ordered)
    counts, times = np.unique(course.ordered[course.ordered > 0], return_counts=True)
    money_of = (n * size.terms.price_of(n) * often for n, often in zip(counts.tolist(), times.tolist(), strict=True))
    orders, expired = float(times.sum()) / paths, float(course.expired.sum()) / paths
    stock = float(course.on_hand.mean()) if course.on_hand.size else 0.0
    days = course.ordered.shape[1]
    return Outlook(
        orders=orders, sheets=float(course.ordered.sum()) / paths, bought=sum(money_of) / paths,
        ordering=orders * size.terms.order_cost, stock=stock,
        holding=stock * size.terms.price * size.terms.holding * days, expired=expired,
        expired_value=expired * size.terms.price, short=float(course.stock_out().mean()), served=course.served,
    )  # fmt: skip


def _notes(size: Size, rule: Rule, sheets: int, stand: Stand, holding: Holding, day: date) -> tuple[str, ...]:
    """Return what changed the order, and what the buyer should know of the stock."""
    terms, notes = size.terms, []
    wanted = rule.order(stand.position)
    most = usable(size, 0)
    if sheets < wanted:
        notes.append(
            f"{wanted:.0f} are wanted, but only {most:.1f} are likely to be used before an order of today expires"
        )
        if sheets == 0:
            least = rounded_up(max(1, terms.least), terms.box)
            notes.append(f"the least order is {least:.0f}: buy it only if a shortage is dearer than what will expire")
    elif sheets > wanted > 0:
        rule_words = "price of larger orders" if terms.price_of(sheets) < terms.price_of(wanted) else "minimum order"
        notes.append(f"raised from {wanted:.0f} by the {rule_words}")
    past = sum(lot.sheets for lot in holding.lots if lot.expiry is not None and lot.expiry < day)
    if past:
        notes.append(f"{past} more lie there past their use-by date and do not count")
    late = sum(order.sheets for order in holding.orders if order.due < day)
    if late:
        notes.append(f"{late} on order are late: counted as coming on the next working day, so ask the supplier")
    return tuple(notes)


def propose(demand: Demand, room: Room, sheets: Mapping[SizeKey, Sheet], holdings: Mapping[SizeKey, Holding],
            day: date, *, planned: bool = False) -> Proposals:  # fmt: skip
    """Return what to buy today of every size that was simulated.

    Parameters
    ----------
    demand
        Simulated weeks; see `weeks_needed` for how many.
    room
        How its sheets are bought.
    sheets
        Terms of each size.
    holdings
        What is there of each size.
    day
        Today.
    planned
        Whether ``holdings`` has what plans draw this week, in place of the simulation of this week.
    """
    found = []
    for at, key in enumerate(demand.sizes):
        size = size_of(demand, at, sheets[key], room.buying, day, planned=planned)
        found.append(proposal_of(size, holdings[key], day))
    return Proposals(
        day=day, unit=room.unit, currency=room.currency, buying=room.buying, sizes=tuple(found), paths=demand.paths,
        weeks=demand.weeks, first_week=demand.first_week, basis=demand.basis,
    )  # fmt: skip
