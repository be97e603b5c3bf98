"""Cuts that do not make what the plan says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from nest.domain.plan import CutStage, Rest
from tests.check.plans import cut, cut_sheet, free_plates, rect


def test_numbers_that_skip_or_repeat_are_found() -> None:
    assert cut_sheet().with_cut(11, order=12).broken() == {"cut-order"}
    assert cut_sheet().with_cut(11, order=10).broken() == {"cut-order"}


def test_cuts_listed_out_of_order_are_found() -> None:
    cuts = cut_sheet().plan.sheets[0].cuts
    assert cut_sheet().with_sheet(cuts=(*cuts[:9], cuts[10], cuts[9])).broken() == {"cut-order"}


def test_a_finish_cut_before_a_raw_one_is_found() -> None:
    cuts = cut_sheet().plan.sheets[0].cuts
    swapped = (replace(cuts[1], order=1), replace(cuts[0], order=2), *cuts[2:])
    assert cut_sheet().with_sheet(cuts=swapped).broken() == {"cut-order"}


@pytest.mark.parametrize(
    ("order", "changes", "rules"),
    [
        (1, {"plate": "S01-A"}, {"cut-plate"}),
        (2, {"plate": "S09-A"}, {"cut-plate", "finish-cut", "finish-parts"}),
        (2, {"plate": None}, {"cut-plate", "finish-cut", "finish-parts"}),
    ],
)
def test_a_cut_of_the_wrong_plate_is_found(order: int, changes: dict[str, Any], rules: set[str]) -> None:
    assert cut_sheet().with_cut(order, **changes).broken() == rules


def test_a_raw_cut_that_stops_short_is_found() -> None:
    assert cut_sheet().with_cut(1, x2=899.0).broken() == {"raw-cut", "raw-parts"}


def test_a_raw_cut_beside_the_plates_edge_is_found() -> None:
    assert cut_sheet().with_cut(1, y1=801.0, y2=801.0).broken() == {"raw-parts"}


def test_a_missing_raw_cut_is_found() -> None:
    cuts = tuple(replace(c, order=c.order - 1) for c in cut_sheet().plan.sheets[0].cuts[1:])
    assert cut_sheet().with_sheet(cuts=cuts).broken() == {"raw-cuts", "raw-parts", "counts", "cost", "cost-parts"}


def test_a_rest_nobody_lists_is_found() -> None:
    found = cut_sheet().with_sheet(rests=()).broken()
    assert {"raw-cuts", "raw-parts"} <= found


def test_overlapping_parts_are_found() -> None:
    rest = cut_sheet().plan.sheets[0].rests[0]
    assert "raw-parts" in cut_sheet().with_sheet(rests=(replace(rest, rect=rect(0.0, 799.0, 900.0, 401.0)),)).broken()


def test_too_many_parts_are_found() -> None:
    assert cut_sheet().with_costs(raw_parts_max=2).broken() == set()
    assert cut_sheet().with_costs(raw_parts_max=1).broken() == {"raw-parts-max"}


def test_a_part_narrower_than_the_least_strip_is_found() -> None:
    # The rest is 400 mm wide.
    assert cut_sheet().with_costs(raw_min_strip_mm=400.0).broken() == set()
    assert cut_sheet().with_costs(raw_min_strip_mm=400.1).broken() == {"raw-min-strip"}
    # A sheet that is not cut may be narrower: the offcut is 410 mm wide.
    assert free_plates().with_costs(raw_min_strip_mm=500.0).broken() == set()


def test_a_finish_cut_that_stops_short_is_found() -> None:
    assert cut_sheet().with_cut(11, x1=11.0).broken() == {"finish-cut", "finish-parts"}


def test_a_finish_cut_in_the_wrong_place_is_found() -> None:
    assert cut_sheet().with_cut(11, y1=616.07, y2=616.07).broken() == {"finish-parts"}


def test_finish_cuts_in_an_impossible_order_are_found() -> None:
    # Cut 5 needs the strip that cut 3 makes.
    cuts = list(cut_sheet().plan.sheets[0].cuts)
    cuts[2], cuts[4] = replace(cuts[4], order=3), replace(cuts[2], order=5)
    assert "finish-cut" in cut_sheet().with_sheet(cuts=tuple(cuts)).broken()


def test_a_missing_finish_cut_is_found() -> None:
    cuts = cut_sheet().plan.sheets[0].cuts
    assert cut_sheet().with_sheet(cuts=cuts[:-1]).broken() == {"finish-parts"}


def test_a_free_plate_needs_no_finish_cuts_but_may_list_only_right_ones() -> None:
    assert free_plates().broken() == set()
    through = cut(1, "S01-A", 100.0, 0.0, 100.0, 880.0)
    assert free_plates().with_sheet(0, cuts=(through,)).broken() == {"finish-parts"}


def test_a_raw_cut_may_not_free_a_part_at_the_wrong_size() -> None:
    case = cut_sheet()
    rests = (
        Rest(id="S01-R1", rect=rect(0.0, 800.0, 450.0, 400.0), kept=False, credit=0.0),
        Rest(id="S01-R2", rect=rect(450.0, 800.0, 450.0, 400.0), kept=False, credit=0.0),
    )
    found = case.with_sheet(rests=rests).broken()
    assert {"raw-cuts", "raw-parts"} <= found
    cuts = (
        cut(1, None, 0.0, 800.0, 900.0, 800.0),
        cut(2, None, 450.0, 800.0, 450.0, 1200.0),
        *(replace(c, order=c.order + 1) for c in case.plan.sheets[0].cuts if c.stage is CutStage.FINISH),
    )
    found = case.with_sheet(rests=rests, cuts=cuts).broken()
    assert not found & {"raw-cuts", "raw-parts", "raw-cut", "finish-cut"}
