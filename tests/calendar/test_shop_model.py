"""The shop model against published optima and against exact rules; and that no schedule it returns breaks a limit."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.calendar.shop import Found, Place, Shop, Work, makespan_of, total_of
from nest.calendar.shop_bounds import makespan_bound
from nest.calendar.shop_model import _Model, best_schedule
from nest.calendar.shop_start import first_schedule
from nest.calendar.solver import cp_sat
from tests.calendar.classic_shops import FT06, FT06_OPTIMUM, FT10, FT10_OPTIMUM, job_shop, jobs_of


def faults(shop: Shop, found: Found) -> list[str]:
    """Return what a schedule breaks, told tick by tick where something begins."""
    told, plan = [], found.schedule
    spans = [(start, start + work.ticks) for start, work in zip(plan.starts, shop.works, strict=True)]
    for at, work in enumerate(shop.works):
        told += [f"{at} before {one}" for one in work.after if spans[at][0] < spans[one][1]]
        told += [f"{at} at {spans[at][0]}"] * (spans[at][0] < 0)
    for number, place in enumerate(shop.places):
        here = [at for at, work in enumerate(shop.works) if work.place == number]
        told += [f"{at} in machine {plan.machines[at]}" for at in here if not 0 <= plan.machines[at] < place.count]
        for moment in {spans[at][0] for at in here}:
            for machine in range(place.count):
                now = [at for at in here if plan.machines[at] == machine and spans[at][0] <= moment < spans[at][1]]
                told += [f"{len(now)} at {place.name}"] * (len(now) > place.slots)
                if place.area is not None and place.slots > 1:
                    told += [f"area at {place.name}"] * (sum(shop.works[at].area for at in now) > place.area)
                kinds = {(plan.goes[at], spans[at], shop.works[at].kind) for at in now}
                told += [f"mixed goes at {place.name}"] * (place.joint and len(kinds) > 1)
    hands = [(spans[at][0] + a, spans[at][0] + b) for at, work in enumerate(shop.works) if plan.goes[at] == at
             for a, b in work.hands]  # fmt: skip
    if shop.operators is not None:
        for moment, _ in hands:
            busy = sum(a <= moment < b for a, b in hands)
            told += [f"{busy} hands at {moment}"] * (busy > shop.operators)
        told += [f"hands at {a}" for a, b in hands if any(first < b and a < end for first, end in shop.away)]
    if found.makespan != makespan_of(shop, plan.starts) or found.bound > found.makespan:
        told.append("figures")
    return told


def test_fisher_and_thompsons_six_jobs_end_after_55() -> None:
    shop = job_shop(jobs_of(FT06))
    found = best_schedule(shop)
    assert (found.makespan, found.bound) == (FT06_OPTIMUM, FT06_OPTIMUM)
    assert found.optimal
    assert faults(shop, found) == []


@pytest.mark.slow  # half a minute and more: the proof
def test_fisher_and_thompsons_ten_jobs_end_after_930() -> None:
    shop = job_shop(jobs_of(FT10))
    found = best_schedule(shop, effort=50.0)
    assert (found.makespan, found.bound) == (FT10_OPTIMUM, FT10_OPTIMUM)
    assert faults(shop, found) == []


def test_ten_jobs_are_within_their_published_optimum_and_bound_in_little_time() -> None:
    found = best_schedule(job_shop(jobs_of(FT10)), effort=0.05)
    assert found.bound <= FT10_OPTIMUM <= found.makespan <= 1.12 * FT10_OPTIMUM


def johnson(jobs: list[tuple[int, int]]) -> int:
    """Return the least makespan of two machines in a row.

    Johnson, Optimal two- and three-stage production schedules with setup times included, Naval Research Logistics
    Quarterly 1, 1954, doi 10.1002/nav.3800010110: those shorter on the first machine first, by its ticks; then the
    others by falling ticks on the second.
    """
    first = sorted(job for job in jobs if job[0] <= job[1])
    last = sorted((job for job in jobs if job[0] > job[1]), key=lambda job: -job[1])
    one = two = 0
    for a, b in [*first, *last]:
        one += a
        two = max(one, two) + b
    return two


@pytest.mark.parametrize("seed", range(10))
def test_two_machines_in_a_row_end_as_johnsons_rule_says(seed: int) -> None:
    chance = random.Random(seed)
    jobs = [(chance.randint(1, 20), chance.randint(1, 20)) for _ in range(chance.randint(3, 9))]
    shop = job_shop([[(0, a), (1, b)] for a, b in jobs])
    found = best_schedule(shop, effort=0.2)
    assert (found.makespan, found.bound) == (johnson(jobs), johnson(jobs))
    assert faults(shop, found) == []


@st.composite
def shops(draw: st.DrawFn) -> Shop:
    """Small shops with every kind of place."""
    places = (
        Place(name="one"),
        Place(name="several", count=draw(st.integers(1, 2)), slots=2, area=draw(st.sampled_from([None, 10]))),
        Place(name="joint", count=draw(st.integers(1, 2)), slots=3, area=draw(st.sampled_from([None, 10])), joint=True),
        Place(name="many", count=3),
    )
    works: list[Work] = []
    for _ in range(draw(st.integers(1, 5))):
        before: tuple[int, ...] = ()
        steps = draw(st.lists(st.integers(0, 3), min_size=1, max_size=5))
        for n, place in enumerate(steps):
            ticks = draw(st.integers(1, 6))
            hands = draw(st.sampled_from(["none", "start", "end", "all"]))
            span = {"none": (), "start": ((0, 1),), "end": ((ticks - 1, ticks),), "all": ((0, ticks),)}[hands]
            works.append(Work(place=place, ticks=ticks, after=before, area=draw(st.integers(1, 10)),
                              kind="ab"[ticks % 2] + hands, hands=span, last=n == len(steps) - 1))  # fmt: skip
            before = (len(works) - 1,)
    away = draw(st.sampled_from([(), ((5, 9),), ((7, 30),)]))
    return Shop(works=tuple(works), places=places, operators=draw(st.sampled_from([None, 1, 2])), away=away)


@settings(max_examples=60, deadline=None)
@given(shops())
def test_no_schedule_breaks_a_limit_and_no_bound_is_above_one(shop: Shop) -> None:
    found = best_schedule(shop, effort=0.05)
    assert faults(shop, found) == []
    first = first_schedule(shop)
    assert makespan_bound(shop) <= found.bound <= found.makespan <= makespan_of(shop, first.starts)
    assert found.total == total_of(shop, found.schedule.starts)


@settings(max_examples=60, deadline=None)
@given(shops())
def test_bounds_without_search_are_not_above_the_optimum(shop: Shop) -> None:
    # the program alone, without the bound that is tested
    start = first_schedule(shop)
    model = _Model(cp_sat(), shop, makespan_of(shop, start.starts))
    model.program.minimize(model.makespan)
    found, proven = model.solved(start, 2.0)
    assert found is not None
    assert makespan_bound(shop) <= makespan_of(shop, found.starts)
    assert proven == makespan_of(shop, found.starts)


def test_the_same_shop_gives_the_same_schedule() -> None:
    shop = job_shop(jobs_of(FT10))
    assert best_schedule(shop, effort=0.05) == best_schedule(shop, effort=0.05)


def test_a_go_takes_as_many_as_its_bed_has_area_for() -> None:
    # two of 5 share a bed of 10; the third waits: 4 + 4
    works = tuple(Work(place=0, ticks=4, area=5, kind="back", last=True) for _ in range(3))
    found = best_schedule(Shop(works=works, places=(Place(name="drawer", slots=9, area=10, joint=True),)))
    assert (found.makespan, found.bound) == (8, 8)
    assert sorted(found.schedule.starts) == [0, 0, 4]


def test_an_absence_moves_what_needs_hands() -> None:
    works = (Work(place=0, ticks=4, hands=((0, 4),)), Work(place=0, ticks=4, after=(0,), hands=((0, 1),), last=True))
    shop = Shop(works=works, places=(Place(name="bench"),), operators=1, away=((3, 10),))
    found = best_schedule(shop)
    assert found.schedule.starts == (10, 14)
    assert found.bound == 18
