from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from nest.output.plan_file import dump_plan
from nest.packing import solve
from tests.packing.shop import costs, imager, planned, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room


def week(count: int, seed: int) -> list[Row]:
    draw = random.Random(seed)
    return [
        row(str(n), draw.uniform(90, 420), draw.uniform(90, 420), job=f"31{n // 3:02}") for n in range(count)
    ]


def shop() -> Room:
    return room(
        sheet(900, 1200, price=86.0), sheet(700, 1000, price=60.0),
        imager=imager(max_across_mm=1300.0, max_around_mm=1300.0, clamp_mm=12.0, drum_tape_mm=10.0),
        costs=costs(plate=12.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6),
    )  # fmt: skip


@pytest.mark.parametrize("at_once", [200, 10], ids=["portfolio", "decomposed"])
def test_the_number_of_cores_changes_no_byte(at_once: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solve, "MOST_AT_ONCE", at_once)
    rows = week(24, 4)
    assert len({dump_plan(planned(rows, shop(), work_limit=400, cores=cores)) for cores in (1, 2, 3)}) == 1


def test_more_work_never_gives_a_dearer_plan_than_the_first() -> None:
    rows = week(18, 9)
    least, more = (planned(rows, shop(), work_limit=work).totals.cost for work in (1, 600))
    assert more <= least
