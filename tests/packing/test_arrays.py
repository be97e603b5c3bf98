from __future__ import annotations

import pytest

from nest.domain.job import Together, Turn
from nest.packing.arrays import data_of, unit_types
from tests.packing.shop import problem_of, room, row, sheet

SHOP = room(sheet(500, 500), gap_mm=3.0)
MM = 10_000


def test_equal_copies_are_of_one_type() -> None:
    assert unit_types(problem_of([row("a", 10, 20, copies=3), row("b", 10, 20)], SHOP).problem) == [0, 0, 0, 0]


@pytest.mark.parametrize(
    "change",
    [{"relief": 0.5}, {"job": "9"}, {"turn": Turn.FIXED}, {"alone": True}, {"apart": True}, {"image_across_mm": 11.0},
     {"together": Together.LOT}],
    ids=str,
)  # fmt: skip
def test_whatever_a_rule_looks_at_makes_another_type(change: dict[str, object]) -> None:
    more = dict(change)
    across = float(str(more.pop("image_across_mm", 10.0)))
    types = unit_types(problem_of([row("a", 10, 20), row("b", across, 20, **more)], SHOP).problem)
    assert types[0] != types[1]


def test_free_pieces_of_two_jobs_are_one_type_unless_one_of_them_is_alone() -> None:
    rows = [row("a", 10, 20, turn=Turn.FREE), row("b", 10, 20, turn=Turn.FREE, job="9")]
    assert unit_types(problem_of(rows, SHOP).problem) == [0, 0]
    alone = unit_types(problem_of([*rows, row("c", 50, 50, job="9", alone=True, turn=Turn.FREE)], SHOP).problem)
    assert alone[0] != alone[1]


def test_bundles_are_types_of_their_own() -> None:
    rows = [row(name, 10, 20, copies=2, together=Together.COPIES) for name in ("a", "b")]
    assert len(set(unit_types(problem_of(rows, SHOP).problem))) == 2


def test_item_sizes_carry_the_gap_and_units_their_items() -> None:
    problem = problem_of([row("a", 10, 20, copies=2, together=Together.COPIES), row("b", 30, 40)], SHOP).problem
    data = data_of(problem)
    assert data.start.tolist() == [0, 2, 3]
    assert data.w.tolist() == [13 * MM, 13 * MM, 33 * MM]
    assert data.h.tolist() == [23 * MM, 23 * MM, 43 * MM]
    assert data.row_unit.tolist() == [0, 0, 1]
    assert data.area.tolist() == [2 * 13 * 23 * MM * MM, 33 * 43 * MM * MM]


def test_a_problem_without_units_or_bins_makes_arrays_too() -> None:
    assert data_of(problem_of([], SHOP).problem).typ.tolist() == []
    assert data_of(problem_of([row("a", 1, 1)], room()).problem).bin_w.tolist() == []
