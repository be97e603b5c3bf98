from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Together, Turn
from nest.domain.room import Cutting
from nest.packing.kernels.fill import fill_plate, serves
from nest.units import to_units
from tests.packing.kernels.tables import Table, table
from tests.packing.shop import problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room

MM = 10_000
OPEN = -1


def fill(
    rows: list[Row], w: float, h: float, at: Room | None = None, *, units: tuple[int, ...] = (), lock: int = OPEN,
    level: int = 0, group: int = 0, axis: int = 0,
) -> tuple[Table, list[int], tuple[int, int]]:
    """Fill an area of w x h mm (the gap added); return the table, the units placed and the used width and height."""
    shop = at or room(sheet(1000, 1000))
    problem = problem_of(rows, shop).problem
    t = table(problem)
    t.axes[:] = axis
    gap = problem.limits.gap
    order = t.order(*units)
    used_w, used_h, placed = fill_plate(
        t.data, t.scratch, order, len(order), group, lock, level, 0, t.axes, t.lots, to_units(w) + gap,
        to_units(h) + gap, 0, 0, 0.0, t.layout, 0,
    )  # fmt: skip
    chosen = [int(u) for u in t.scratch.chosen[: int(t.scratch.size[0])]]
    assert len(chosen) == placed
    return t, chosen, (int(used_w), int(used_h))


def test_units_are_placed_in_their_order_until_the_area_is_full() -> None:
    _, chosen, used = fill([row("a", 100, 100, copies=5)], 200, 200)
    assert chosen == [0, 1, 2, 3]
    assert used == (200 * MM, 200 * MM)


def test_taken_units_are_marked_and_passed_over() -> None:
    t, chosen, _ = fill([row("a", 100, 100, copies=5)], 200, 100)
    assert chosen == [0, 1]
    order = t.order()
    fill_plate(t.data, t.scratch, order, 5, 0, OPEN, 0, 0, t.axes, t.lots, 100 * MM, 100 * MM, 0, 0, 0.0, t.layout, 1)
    assert int(t.scratch.chosen[2]) == 2
    assert t.scratch.taken.tolist() == [1, 1, 1, 0, 0]


def test_other_groups_and_lower_levels_stay_out() -> None:
    rows = [row("a", 10, 10), row("b", 10, 10, relief=0.5)]
    assert fill(rows, 100, 100, group=0)[1] == [0]
    assert fill(rows, 100, 100, group=1)[1] == [1]
    assert fill(rows, 100, 100, level=1)[1] == []


def test_a_locked_plate_takes_its_job_only_and_an_open_one_nobody_who_is_alone() -> None:
    rows = [row("a", 10, 10, job="A", alone=True), row("b", 10, 10, job="A"), row("c", 10, 10, job="B")]
    assert fill(rows, 100, 100)[1] == [1, 2]
    assert fill(rows, 100, 100, lock=0)[1] == [0, 1]
    assert fill(rows, 100, 100, lock=1)[1] == [2]


def test_copies_that_are_apart_come_once() -> None:
    assert fill([row("a", 10, 10, copies=3, apart=True), row("b", 10, 10, copies=2)], 100, 100)[1] == [0, 3, 4]


@pytest.mark.parametrize("cutting", list(Cutting))
def test_a_bundle_is_placed_whole_or_leaves_no_trace(cutting: Cutting) -> None:
    rows = [row("a", 100, 100, copies=3, together=Together.COPIES), row("b", 90, 90, copies=2)]
    shop = room(sheet(1000, 1000), cutting=cutting)
    t, chosen, used = fill(rows, 200, 100, shop)
    assert chosen == [1, 2]
    assert used == (180 * MM, 90 * MM)
    assert [item for item, *_ in t.items()] == [3, 4]
    assert fill(rows, 300, 100, shop)[1] == [0]


@pytest.mark.parametrize(("turn", "axis", "want"), [
    (Turn.SET, 0, {0}), (Turn.SET, 1, {1}), (Turn.FIXED, 1, {0}), (Turn.CROSS, 0, {1}),
])
def test_an_item_lies_along_its_own_axis_or_its_set_s(turn: Turn, axis: int, want: set[int]) -> None:
    t, _, _ = fill([row("a", 30, 20, copies=4, turn=turn)], 200, 200, axis=axis)
    assert {lies for _, _, _, lies in t.items()} == want


def test_a_gap_is_owed_between_items_and_not_at_the_edge() -> None:
    shop = room(sheet(1000, 1000), gap_mm=10.0)
    t, chosen, _ = fill([row("a", 95, 200, copies=3)], 200, 200, shop)
    assert chosen == [0, 1]
    assert sorted(x for _, x, _, _ in t.items()) == [0, 105 * MM]
    assert fill([row("a", 95.1, 200, copies=3)], 200, 200, shop)[1] == [0]


def test_every_attempt_is_counted() -> None:
    t, _, _ = fill([row("a", 100, 100, copies=5)], 200, 200)
    # four placed; then the area is full
    assert int(t.scratch.work[0]) == 4


def test_a_lot_set_is_served_by_bins_of_its_lot_only() -> None:
    shop = room(sheet(100, 100, name="A", lot="7"), sheet(100, 100, name="B", lot="8"), sheet(100, 100, name="C"))
    problem = problem_of([row("a", 10, 10, together=Together.LOT), row("b", 10, 10, job="9")], shop).problem
    t = table(problem)
    assert [bool(serves(t.data, 0, b, t.lots)) for b in range(3)] == [True, False, False]
    t.lots[0] = 1
    assert [bool(serves(t.data, 0, b, t.lots)) for b in range(3)] == [False, True, False]
    assert all(bool(serves(t.data, 1, b, t.lots)) for b in range(3))
