"""Plates to batches; small cases are compared with every assignment there is."""

from __future__ import annotations

from datetime import datetime
from itertools import product

import numpy as np
import pytest

from nest.calendar.assign import EARLIER, NOWHERE, Wish, assigned
from nest.domain.calendar import Batch
from nest.packing.problem import NEVER


def batches(*plates: int | None, minutes: float | None = None) -> list[Batch]:
    return [
        Batch(id=f"b{n}", start=datetime(2027, 3, 1 + n, 6), end=datetime(2027, 3, 1 + n, 14), plates=count,
              minutes=minutes)
        for n, count in enumerate(plates)
    ]  # fmt: skip


def wish(plate: str, *costs: float, minutes: float = 1.0, jobs: tuple[str, ...] = (), usual: int | None = None) -> Wish:
    return Wish(plate=plate, costs=costs, minutes=minutes, jobs=jobs, usual=usual)


def test_of_equal_batches_the_earliest_is_taken() -> None:
    assert assigned([wish("A", 0, 0), wish("B", 5, 0)], batches(None, None)).batch == {"A": 0, "B": 1}


def test_a_full_batch_sends_on_the_plate_that_minds_least_and_its_room_has_a_price() -> None:
    found = assigned([wish("A", 0, 30), wish("B", 0, 50), wish("C", 0, 10)], batches(2, None))
    assert found.batch == {"A": 0, "B": 0, "C": 1}
    assert found.prices[0] == pytest.approx(10, abs=20)
    assert found.prices[1] == 0


def test_minutes_limit_a_batch_like_plates_do() -> None:
    plates = [wish("A", 0, 9, minutes=6.0), wish("B", 0, 5, minutes=6.0), wish("C", 0, 1, minutes=4.0)]
    assert assigned(plates, batches(None, None, minutes=10.0)).batch == {"A": 0, "B": 1, "C": 0}


def test_a_plate_no_batch_takes_is_in_none() -> None:
    assert assigned([wish("A", NEVER, NEVER)], batches(None, None)).batch == {"A": None}
    assert assigned([wish("A", 0, 0, minutes=20.0)], batches(None, None, minutes=10.0)).batch == {"A": None}


def test_plates_of_a_job_made_in_one_batch_go_together() -> None:
    plates = [wish("A", 0, 4, jobs=("1",)), wish("B", NEVER, 0, jobs=("1",)), wish("C", 0, 0)]
    assert assigned(plates, batches(None, None)).batch == {"A": 1, "B": 1, "C": 0}


def test_batches_that_cost_something_are_joined() -> None:
    plates = [wish("A", 0, 3), wish("B", NEVER, 0)]
    assert assigned(plates, batches(None, None)).batch == {"A": 0, "B": 1}
    assert assigned(plates, batches(None, None), per_batch=10.0).batch == {"A": 1, "B": 1}


def test_a_plate_stays_in_its_batch_where_nothing_is_lost() -> None:
    assert assigned([wish("A", 0, 0, usual=1)], batches(None, None)).batch == {"A": 1}
    assert assigned([wish("A", 0, 3, usual=1)], batches(None, None)).batch == {"A": 0}


@pytest.mark.parametrize("seed", range(25))
def test_no_assignment_of_a_random_case_is_cheaper(seed: int) -> None:
    random = np.random.default_rng(seed)
    limits = [int(random.integers(1, 4)) for _ in range(3)]
    per_batch = float(random.choice([0.0, 7.0]))
    plates = [
        wish(f"P{n}", *(float(c) if random.random() < 0.8 else NEVER for c in random.integers(0, 30, 3)),
             jobs=("J",) if n < 2 and seed % 3 == 0 else ())
        for n in range(5)
    ]  # fmt: skip

    def cost(choice: tuple[int | None, ...]) -> float:
        used = [one for one in choice if one is not None]
        if any(used.count(b) > limit for b, limit in enumerate(limits)):
            return float("inf")
        bound = {at for at, one in zip(choice, plates, strict=True) if one.jobs and at is not None}
        if len(bound) > 1:
            return float("inf")
        each = [NOWHERE if at is None else one.costs[at] + EARLIER * at for at, one in zip(choice, plates, strict=True)]
        return sum(each) + per_batch * len(set(used))

    best = min(cost(choice) for choice in product((None, 0, 1, 2), repeat=5))
    found = assigned(plates, batches(*limits), per_batch).batch
    assert cost(tuple(found[one.plate] for one in plates)) == pytest.approx(best, abs=1e-6)
