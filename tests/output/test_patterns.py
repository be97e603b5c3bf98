from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from nest.output.patterns import patterns
from tests.output import sample_plans as samples


def test_equal_sheets_form_one_pattern_with_the_copies_of_each() -> None:
    found = patterns(samples.week())
    assert [[sheet.id for sheet in pattern.sheets] for pattern in found] == [["S01", "S02"], ["S03"], ["S04"], ["S05"]]
    assert found[0].first.id == "S01"
    assert found[0].copies[0][0] == (1, 2)


def test_the_order_of_pieces_on_a_plate_does_not_matter() -> None:
    plan = samples.week()
    plate = plan.sheets[1].plates[0]
    turned = replace(plan.sheets[1], plates=(replace(plate, pieces=plate.pieces[::-1]),))
    found = patterns(replace(plan, sheets=(plan.sheets[0], turned, *plan.sheets[2:])))
    assert len(found) == 4
    assert found[0].copies[0][0] == (1, 2)


@pytest.mark.parametrize(
    "change",
    [{"lot": "other"}, {"expiry": "2027-01-01"}, {"cost": 80.0}, {"material": "KR284"}, {"rests": ()}, {"cuts": ()}],
)
def test_sheets_that_differ_in_stock_or_cutting_are_patterns_of_their_own(change: dict[str, Any]) -> None:
    plan = samples.week()
    other = replace(plan.sheets[1], **change)
    assert len(patterns(replace(plan, sheets=(plan.sheets[0], other)))) == 2


def test_another_job_or_turn_at_the_same_place_makes_another_pattern() -> None:
    plan = samples.week()
    plate = plan.sheets[1].plates[0]
    changes: tuple[dict[str, Any], ...] = ({"job": "9999"}, {"turn": 180})
    for change in changes:
        piece = replace(plate.pieces[0], **change)
        other = replace(plan.sheets[1], plates=(replace(plate, pieces=(piece, *plate.pieces[1:])),))
        assert len(patterns(replace(plan, sheets=(plan.sheets[0], other)))) == 2
