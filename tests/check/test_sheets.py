"""Sheets that were not drawn, bought or credited as the room says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest

from nest.domain.job import Together
from nest.domain.plan import Source, SourceKind
from tests.check.plans import SHEET, cut_sheet, free_plates, full_sheet


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"source": Source(kind=SourceKind.SHEET, ref="HB170 800x1200")}, "source"),
        ({"source": Source(kind=SourceKind.OFFCUT, ref=SHEET)}, "source"),
        ({"material": "HB254"}, "source-material"),
        ({"across_mm": 900.01}, "source-size"),
        ({"around_mm": 1200.01}, "source-size"),
        ({"cost": 86.41}, "source-cost"),
        ({"lot": "L9"}, "source-lot"),
        ({"expiry": "2027-07-01"}, "source-expiry"),
    ],
)
def test_a_sheet_is_as_it_is_stocked_or_found(changes: dict[str, Any], rule: str) -> None:
    assert rule in free_plates().with_sheet(1, **changes).broken()


def test_lot_and_expiry_need_not_be_stated() -> None:
    assert free_plates().with_sheet(1, lot=None, expiry=None).broken() == set()


def test_more_sheets_than_on_hand_are_found_and_the_reserve_is_kept() -> None:
    assert cut_sheet().with_stock(on_hand=2, keep_back=1).broken() == set()
    reserve = cut_sheet().with_stock(on_hand=1, keep_back=1)
    assert reserve.broken() == {"stock"}
    assert reserve.broken(use_reserve=True) == set()
    assert cut_sheet().with_stock(on_hand=0, keep_back=0).broken(use_reserve=True) == {"stock"}
    assert cut_sheet().with_stock(on_hand=None, keep_back=0).broken() == set()


def test_an_offcut_drawn_twice_is_found() -> None:
    case = free_plates()
    first = case.plan.sheets[0]
    again = replace(first, id="S03", plates=(replace(first.plates[0], id="S03-A"),))
    assert "offcut-twice" in case.with_plan(sheets=(*case.plan.sheets, again)).broken()


def test_ids_used_twice_are_found() -> None:
    case = cut_sheet()
    sheet = case.plan.sheets[0]
    assert case.with_sheet(rests=(replace(sheet.rests[0], id="S01-A"),)).broken() == {"id"}
    assert free_plates().with_sheet(1, id="S01").broken() == {"id"}
    assert cut_sheet().with_sheet(id="").broken() == {"id"}


@pytest.mark.parametrize(("due", "rules"), [(datetime(2027, 6, 30, 18), set()), (datetime(2027, 7, 1), {"expiry"})])
def test_a_sheet_expired_before_a_piece_is_due_is_found(due: datetime, rules: set[str]) -> None:
    # Lot L7 expires on 30 June 2027.
    assert free_plates().with_row("Red", due=due).broken() == rules


def test_an_offcut_expires_like_a_sheet() -> None:
    case = free_plates().with_row("White", due=datetime(2026, 9, 1))
    aged = replace(case.room.offcuts[0], expiry=date(2026, 8, 31))
    assert case.with_room(offcuts=(aged,)).broken() == {"expiry"}


@pytest.mark.parametrize("relief", ["", 0.5, "matt"])
def test_a_back_exposed_offcut_serves_only_rows_of_its_relief(relief: float | str) -> None:
    assert free_plates().with_row("White", relief="0.60").broken() == set()
    assert free_plates().with_row("White", relief=relief).broken() == {"offcut-relief"}


def test_a_job_of_one_lot_on_two_lots_or_on_none_is_found() -> None:
    assert free_plates().with_row("Red", together=Together.LOT).broken() == set()
    # The offcut has no lot.
    assert free_plates().with_row("White", together=Together.LOT).broken() == {"lot"}
    case = free_plates()
    case = case.with_room(offcuts=(replace(case.room.offcuts[0], lot="L8"),)).with_row("White", together=Together.LOT)
    assert case.broken() == set()
    case = case.with_row("Red", together=Together.LOT, job="3001")
    pieces = tuple(replace(p, job="3001") for p in case.plan.sheets[1].plates[0].pieces)
    assert case.with_plate(1, pieces=pieces).broken() == {"lot"}


# cut_sheet() keeps one rest of 900 x 400 mm, 0.36 m2, credit 15.28.


@pytest.mark.parametrize(
    ("costs", "rules"),
    [
        ({"offcut_min_side_mm": 400.0}, set()),
        ({"offcut_min_side_mm": 400.1}, {"rest-kept"}),
        ({"offcut_min_area_m2": 0.36}, set()),
        ({"offcut_min_area_m2": 0.361}, {"rest-kept"}),
        ({"offcuts_per_sheet": 0}, {"offcuts-per-sheet"}),
        ({"offcut_full_side_mm": 500.0}, {"credit", "cost", "cost-parts"}),  # 48 * 0.36 * 400/500 - 2 = 11.82
    ],
)
def test_rests_are_kept_only_as_the_room_allows(costs: dict[str, Any], rules: set[str]) -> None:
    assert cut_sheet().with_costs(**costs).broken() == rules


def test_a_rest_kept_for_nothing_is_found() -> None:
    # Handling eats the 17.28, so its credit would be 0.
    assert "rest-kept" in cut_sheet().with_costs(offcut_handling=17.28).broken()


def test_a_rest_may_be_kept_at_no_credit_where_offcuts_have_no_value() -> None:
    case = cut_sheet().with_costs(offcut_value=0.0)
    rest = case.plan.sheets[0].rests[0]
    assert case.broken() == {"credit", "cost", "cost-parts"}
    assert case.with_sheet(rests=(replace(rest, credit=0.0),)).broken() == {"cost", "cost-parts"}


def test_a_credit_off_by_a_cent_is_found() -> None:
    rest = cut_sheet().plan.sheets[0].rests[0]
    assert cut_sheet().with_sheet(rests=(replace(rest, credit=15.29),)).broken() == {"credit"}


def test_a_credit_for_a_rest_that_is_not_kept_is_found() -> None:
    rest = cut_sheet().plan.sheets[0].rests[0]
    assert "credit" in cut_sheet().with_sheet(rests=(replace(rest, kept=False),)).broken()


def test_a_drawn_offcuts_rest_is_credited_by_its_own_value() -> None:
    # Halve the offcut: 18 * 1/2 * min(1, 410/400) - 2 = 7.00 (the offcut share of 0.6 plays no part).
    from nest.domain.plan import Rest
    from tests.check.plans import cut, rect

    case = free_plates()
    case = case.with_plate(0, rect=rect(0.0, 0.0, 410.0, 440.0), process=2.53)  # 14 * 0.1804 = 2.5256
    rest = Rest(id="S01-R1", rect=rect(0.0, 440.0, 410.0, 440.0), kept=True, credit=7.0)
    case = case.with_sheet(0, rests=(rest,), cuts=(cut(1, None, 0.0, 440.0, 410.0, 440.0),))
    assert not case.broken() & {"credit", "rest-kept", "raw-parts", "process"}
    assert "credit" in case.with_sheet(0, rests=(replace(rest, credit=3.4),)).broken()


def test_a_sheet_drawn_for_no_plate_is_found() -> None:
    assert "no-plate" in full_sheet().with_sheet(plates=()).broken()
