"""The rolled store against a plain loop over lots, and its service against the closed form for normal demand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from nest.buying.policy import order_level
from nest.buying.rolling import Opening, Supply, roll
from nest.buying.spread import normal_over
from nest.buying.windows import by_workday
from nest.domain.room import Service

NEVER = 10**9


def by_hand(demand: list[int], opening: Opening, supply: Supply, level: int, rate: float) -> dict[str, list[int]]:
    """Roll one path forward with lists of lots, reading nothing of the code under test."""
    lots = [[sheets, NEVER if expires is None else expires] for sheets, expires in opening.lots]
    coming = [[comes, sheets] for sheets, comes in sorted(opening.due, key=lambda one: one[1])]
    waits = opening.committed
    told: dict[str, list[int]] = {name: [] for name in ("ordered", "backlog", "on_hand", "expired")}
    for day, asked in enumerate(demand):
        told["expired"].append(int(sum(sheets for sheets, expires in lots if expires <= day)))
        lots = [lot for lot in lots if lot[1] > day]
        order = 0
        if day % supply.review == 0:
            life = NEVER if supply.life is None else supply.life
            both = sorted([*lots, *([sheets, comes + life] for comes, sheets in coming)], key=lambda lot: lot[1])
            usable = 0.0
            for sheets, expires in both:
                if expires - day < supply.review + supply.delivery:
                    usable = min(usable + sheets, max(usable, rate * (expires - day)))
                else:
                    usable += sheets
            order = max(0, math.floor(level - (usable - waits)))
            comes = max([day + round(supply.delivery), *(one[0] for one in coming)])
            coming.append([comes, order])
        told["ordered"].append(order)
        for comes, sheets in [one for one in coming if one[0] <= day]:
            lots.append([sheets, NEVER if supply.life is None else comes + supply.life])
        coming = [one for one in coming if one[0] > day]
        waits += asked
        for lot in sorted(lots, key=lambda lot: lot[1]):
            taken = min(lot[0], waits)
            lot[0] -= taken
            waits -= taken
        told["backlog"].append(int(waits))
        told["on_hand"].append(int(sum(sheets for sheets, _ in lots)))
    return told


@pytest.mark.parametrize("seed", range(25))
def test_every_path_is_as_worked_out_by_hand(seed: int) -> None:
    chance = np.random.default_rng(seed)
    supply = Supply(delivery=int(chance.integers(0, 12)), review=int(chance.integers(1, 7)),
                    life=int(chance.integers(8, 40)) if chance.random() < 0.7 else None)  # fmt: skip
    opening = Opening(
        lots=tuple((int(n), int(chance.integers(1, 30)) if chance.random() < 0.7 else None)
                   for n in chance.integers(0, 9, 3)),
        due=tuple((int(n), int(chance.integers(0, 9))) for n in chance.integers(1, 9, 2)),
        committed=int(chance.integers(0, 5)),
    )  # fmt: skip
    days = chance.integers(0, 4, (6, 40))
    level = int(chance.integers(0, 30))

    def decide(_day: int, position: np.ndarray) -> np.ndarray:
        out: np.ndarray = np.maximum(0, np.floor(level - position))
        return out

    course = roll(days, opening, supply, decide, chance)
    for path in range(len(days)):
        for name, told in by_hand(days[path].tolist(), opening, supply, level, float(days.mean())).items():
            assert getattr(course, name)[path].tolist() == told, name


def test_nothing_is_lost_or_made() -> None:
    chance = np.random.default_rng(3)
    days = chance.poisson(1.3, (200, 65))
    opening = Opening(lots=((9, 12), (4, None)), due=((10, 3),), committed=2)
    supply = Supply(delivery=0, review=5, life=30)
    course = roll(days, opening, supply, lambda _day, position: np.maximum(0, 15 - position), chance)
    # deliveries come at once: nothing is on the way, so the balance closes exactly
    drawn = 2 + days.sum(axis=1) - course.backlog[:, -1]
    left = 23 + course.ordered.sum(axis=1) - course.expired.sum(axis=1) - drawn
    assert (left == course.on_hand[:, -1]).all()
    assert course.expired.sum() > 0


@pytest.mark.parametrize(("review", "delivery"), [(1, 2), (2, 1), (1, 0)])
@pytest.mark.parametrize("level", [0.80, 0.95])
def test_simulated_cycle_service_meets_the_closed_form_for_normal_demand(
    review: int, delivery: int, level: float
) -> None:
    """S = mean (R + L) + z sd sqrt(R + L): the share of cycles without a shortage is the level itself.

    One cycle of each path is looked at, so paths are independent trials and the Monte-Carlo standard error of the share
    is sqrt(p (1 - p) / n); four of them are allowed.
    """
    paths, weeks = 20_000, 3 * (review + delivery) + 1
    chance = np.random.default_rng(17)
    days = by_workday(chance.normal(40.0, 8.0, (paths, weeks)))
    top = order_level(normal_over(40.0, 8.0, review + delivery), service=Service.CYCLE, level=level)
    supply = Supply(delivery=5 * delivery, review=5 * review)
    course = roll(days, Opening(lots=((top, None),)), supply, lambda _day, position: top - position, chance)
    # the last day before the delivery of a later review comes in; all orders fill up, so the position was S before it
    last = 5 * review * (1 + -(-delivery // review)) + 5 * (review + delivery) - 1
    last -= (last + 1 - 5 * (review + delivery)) % (5 * review)
    served = float((course.backlog[:, last] <= 1e-9).mean())
    error = math.sqrt(level * (1 - level) / paths)
    assert served == pytest.approx(level, abs=4 * error)


def test_a_level_for_the_review_time_alone_misses_the_service_in_the_simulation() -> None:
    chance = np.random.default_rng(18)
    days = by_workday(chance.normal(40.0, 8.0, (5_000, 12)))
    trap = 40.0 * 3 + 1.6449 * 8.0 * math.sqrt(1)
    course = roll(days, Opening(lots=((trap, None),)), Supply(delivery=10), lambda _d, at: trap - at, chance)
    assert float((course.backlog[:, 29] <= 0).mean()) < 0.90


def test_whole_cycles_with_spread_delivery_times_are_near_the_closed_form() -> None:
    """Delivery 10 ± 2 days, demand 8 a day: sd over review and delivery is sqrt(T sd² + d² sdL²), d 8, sdL 2.

    The demand is nearly certain (sd 1 a week), so it is the delivery that spreads: its rounding to whole days adds 1/12
    to its variance, which the closed form is given too.
    """
    paths = 20_000
    chance = np.random.default_rng(19)
    days = by_workday(chance.normal(40.0, 1.0, (paths, 9)))
    cover = normal_over(8.0, 1.0 / math.sqrt(5), 15, math.sqrt(4 + 1 / 12))
    top = cover.quantile(0.90)
    supply = Supply(delivery=10, delivery_sd=2, review=5)
    course = roll(days, Opening(lots=((top, None),)), supply, lambda _day, position: top - position, chance)
    # the order of day 5 is due on day 15, give or take: in how many paths was something short before it came?
    short = (course.backlog[:, 10:20] > 1e-9).any(axis=1).mean()
    # demand is taken by whole days, so a shortage shows up to a day late: the share lies between the two
    late, early = cover.risk(top + 8.0), cover.risk(top - 8.0)
    assert late < float(short) < early


def test_committed_sheets_are_drawn_first_and_are_no_late_demand() -> None:
    days = np.array([[0, 0, 1, 0, 0]])
    course = roll(days, Opening(lots=((2, None),), committed=3), Supply(delivery=2),
                  lambda _day, position: np.maximum(0, 4 - position), np.random.default_rng(0))  # fmt: skip
    assert course.ordered.tolist() == [[5, 0, 0, 0, 0]]
    assert course.backlog.tolist() == [[1, 1, 0, 0, 0]]
    assert course.late.tolist() == [[0, 0, 0, 0, 0]]
    assert course.served == 1.0
    assert course.stock_out().tolist() == [True]
    assert course.on_hand.tolist() == [[0, 0, 3, 3, 3]]
