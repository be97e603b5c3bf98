from __future__ import annotations

from dataclasses import replace

from nest.output.split_sets import split_sets
from tests.output import sample_plans as samples


def test_sets_on_one_plate_are_not_named_and_free_pieces_are_no_set() -> None:
    plan = samples.small()
    assert split_sets(plan, samples.room(), samples.rows_of(plan)) == []


def test_a_set_on_two_plates_is_told_by_plate_and_by_lot_where_there_are_several() -> None:
    plan = samples.week()
    rows = samples.rows_of(plan)
    (first, *_) = split_sets(plan, samples.room(), rows)
    assert (first.job, first.material, first.plates) == ("2417", "HB170", {"S01-A": 4, "S02-A": 4})
    assert first.lots == {}
    sheets = (replace(plan.sheets[0], lot="L1"), *plan.sheets[1:])
    (first, *_) = split_sets(replace(plan, sheets=sheets), samples.room(), rows)
    assert first.lots == {"L1": 4, "": 4}
