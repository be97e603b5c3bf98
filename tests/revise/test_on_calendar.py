"""Revisions of a plan on a calendar: what stands keeps its batch, batches that are over take nothing new."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import pytest

from nest.domain.calendar import LateReason
from tests.calendar.shop import calendar, dated_room, day
from tests.packing.shop import plates, row
from tests.revise.random_changes import changed_rows, some_sheets
from tests.revise.shop import after, before

ROWS = [row("Cyan", 300, 300, due=day(1)), row("Black", 300, 300, ready=day(3), due=day(5))]
ROOM = dated_room(calendar=calendar(late_per_day=24.0))
WEDNESDAY = date(2027, 3, 3)


def test_nothing_changed_gives_the_same_batches() -> None:
    earlier = before(ROWS, ROOM)
    assert after(earlier, ROWS).plan.sheets == earlier.plan.sheets
    assert after(earlier, ROWS).plan.calendar == earlier.plan.calendar


def test_a_rush_row_comes_into_a_batch_that_is_not_over() -> None:
    earlier = before(ROWS, ROOM)
    (made_on_monday,) = (s.id for s in earlier.plan.sheets if s.plates[0].batch == "2027-03-01 early")
    earlier = replace(earlier, released=frozenset({made_on_monday}))
    rush = row("Rush", 300, 300, job="3999", due=day(2))
    plan = after(earlier, [*ROWS, rush], since=WEDNESDAY).plan
    made = {piece.separation: plate.batch for plate in plates(plan) for piece in plate.pieces}
    assert made == {"Cyan": "2027-03-01 early", "Black": "2027-03-03 early", "Rush": "2027-03-03 early"}
    assert plan.calendar is not None
    (late,) = plan.calendar.late
    assert (late.separation, late.batch) == ("Rush", "2027-03-03 early")
    assert late.reason is not LateReason.TOGETHER


def test_a_rush_row_joins_a_plate_only_where_its_date_allows_it() -> None:
    early = [row("Cyan", 200, 200, ready=day(1), due=day(5)), row("Black", 200, 200, ready=day(4), due=day(5))]
    earlier = before(early, ROOM)
    assert len(plates(earlier.plan)) == 1
    rush = row("Rush", 200, 200, job="3999", due=day(1))
    plan = after(earlier, [*early, rush]).plan
    made = {piece.separation: plate.batch for plate in plates(plan) for piece in plate.pieces}
    assert made["Rush"] == "2027-03-01 early"
    assert made["Black"] == "2027-03-04 early"


@pytest.mark.parametrize("seed", range(12))
def test_random_revisions_of_dated_weeks_keep_every_rule(seed: int) -> None:
    chance = random.Random(seed)
    rows = tuple(
        row(f"C{n}", chance.randrange(60, 300), chance.randrange(60, 300), job=str(n % 4), copies=chance.randint(1, 3),
            ready=day(chance.randint(1, 3)), due=day(chance.randint(3, 6)))
        for n in range(9)
    )  # fmt: skip
    at = dated_room(calendar=calendar(plates=chance.choice((None, 2, 3)), late_per_day=24.0))
    earlier = before(rows, at)
    released = some_sheets(earlier.plan, chance, 0.4)
    earlier = replace(earlier, released=released)
    since = chance.choice((None, WEDNESDAY))
    revision = after(earlier, changed_rows(rows, chance), since=since)
    stood = {sheet.id: sheet for sheet in earlier.plan.sheets if sheet.id in released}
    for sheet in revision.plan.sheets:
        if sheet.id in stood:
            assert [p.batch for p in sheet.plates] == [p.batch for p in stood[sheet.id].plates]
        elif since is not None:
            assert all(p.batch >= str(since) for p in sheet.plates)
