from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from nest.output.report.store_list import pick_list, put_back, store_after
from tests.output import sample_plans as samples
from tests.output.report import made


def test_the_pick_list_goes_lot_by_lot_with_unstated_lots_last() -> None:
    plan = samples.week()
    picks = pick_list(plan, made.room(), {})
    assert list(picks) == [("", "H-1102"), ("", "K-0419"), ("", "")]
    assert [(take.count, take.kind, take.ref, take.sheets) for take in picks["", ""]] == [
        (2, "sheet", "HB170 900x1200", ("S01", "S02")), (1, "offcut", "F-0031", ("S04",)),
    ]  # fmt: skip
    assert sum(take.count for lines in picks.values() for take in lines) == plan.totals.sheets


def test_where_places_are_known_the_pick_list_goes_place_by_place() -> None:
    places = {"F-0031": "rack 2", "KR284 1067x1524": "shelf 1", "nothing drawn": "shelf 0"}
    picks = pick_list(samples.week(), made.room(), places)
    assert list(picks) == [("rack 2", ""), ("shelf 1", "K-0419"), ("", "H-1102"), ("", "")]


def test_kept_rests_go_back_with_lot_and_credit_and_scrap_does_not() -> None:
    back = put_back(samples.week(), made.room())
    assert [(rest.id, rest.lot, rest.credit) for rest in back] == [
        ("S01-R1", "", 15.28), ("S02-R1", "", 15.28), ("S03-R1", "K-0419", 9.63),
    ]  # fmt: skip


def test_the_store_afterwards_counts_sheets_reserve_and_offcuts() -> None:
    plan = samples.week()
    store = store_after(plan, made.room(), samples.rows_of(plan))
    hb, kr, other = store.sheets
    # three of six are drawn, four are kept back: one of the reserve is used
    assert (hb.on_hand, hb.drawn, hb.left, hb.reserve, hb.reserve_used) == (6, 3, 3, 4, 1)
    assert (kr.on_hand, kr.drawn, kr.left, kr.reserve_used) == (None, 1, None, 0)
    assert (other.drawn, other.left, other.reserve_used) == (0, 2, 0)
    assert [(o.ref, o.new) for o in store.offcuts] == [
        ("F-0032", False), ("S01-R1", True), ("S02-R1", True), ("S03-R1", True),
    ]  # fmt: skip


def test_what_expires_within_60_days_of_the_last_due_date_is_named() -> None:
    plan = samples.week()
    rows = samples.rows_of(plan)
    rows[0] = replace(rows[0], due=datetime(2027, 3, 5, 14))
    rows[1] = replace(rows[1], due=datetime(2027, 3, 1))
    store = store_after(plan, made.room(), rows)
    assert str(store.last_due) == "2027-03-05"
    # 60 days after 5 March is 4 May; K-0420 expires one day later
    assert [(one.ref, one.count, one.when) for one in store.expiries] == [
        ("F-0032", "1", "32 days before the last due date"),
        ("S03-R1", "1", "26 days after the last due date"),
        ("HB170 900x1200", "3", "60 days after the last due date"),
    ]


def test_without_a_due_date_nothing_is_said_to_expire_soon() -> None:
    plan = samples.week()
    store = store_after(plan, made.room(), samples.rows_of(plan))
    assert (store.last_due, store.expiries) == (None, ())


def test_stock_that_is_drawn_to_the_last_sheet_does_not_expire_in_the_store() -> None:
    plan = samples.week()
    rows = samples.rows_of(plan)
    rows[0] = replace(rows[0], due=datetime(2027, 3, 5))
    room = made.room()
    room = replace(room, sheets=(replace(room.sheets[0], on_hand=3), *room.sheets[1:]))
    assert "HB170 900x1200" not in [one.ref for one in store_after(plan, room, rows).expiries]
