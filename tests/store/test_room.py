"""What a plan sees of the ledger, and which lots it draws: first expired, first out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

import pytest

from nest.check.opinion import check_plan
from nest.domain.job import Together
from nest.domain.room import Unit
from nest.domain.stock import Act
from nest.errors import StockError
from nest.pipeline import Settings, make_plan
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.room import note_of, stocked_room
from tests.packing.shop import MATERIAL, room, row, sheet
from tests.store.shop import DAY, delivery, found, fresh

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.domain.stock import Stock

QUICK = Settings(work_limit=5)


def lots(folder: Path, *entries: tuple[str, int, date | None, date, int]) -> Stock:
    """Return a store of lots of one size: lot, sheets, expiry, received, price."""
    with Ledger(fresh(folder)) as ledger:
        for lot, sheets, expiry, received, price in entries:
            one = delivery(material=MATERIAL, across_mm=300.0, around_mm=300.0, lot=lot, sheets=sheets, expiry=expiry,
                           received=received, price_cents=price)  # fmt: skip
            actions.receive(ledger, one, DAY)
        return ledger.stock()


def drawn(rows: list[Row], shop: Room) -> dict[str, list[str]]:
    """Return which jobs were made from which lot; the plan is checked by every rule."""
    plan = make_plan(rows, shop, QUICK).plan
    assert check_plan(plan, tuple(rows), shop, use_reserve=False) == ()
    assert plan.unplaced == ()
    out: dict[str, list[str]] = {}
    for one in plan.sheets:
        out.setdefault(one.lot or "", []).append(one.plates[0].pieces[0].job)
    return {lot: sorted(jobs) for lot, jobs in out.items()}


def job(name: str, due: date | None = None, colour: str = "Cyan", **more: object) -> Row:
    """Return a row whose piece takes a sheet of its own."""
    return row(colour, 290, 290, job=name, due=None if due is None else datetime.combine(due, time()), **more)


EXAMPLE = (
    ("late", 2, date(2027, 12, 31), date(2027, 1, 5), 4000),
    ("early", 2, date(2027, 6, 30), date(2027, 2, 5), 4000),
    ("old", 1, date(2027, 9, 30), date(2027, 1, 5), 4000),
    ("young", 5, date(2027, 9, 30), date(2027, 2, 20), 4000),
    ("past", 9, date(2027, 2, 28), date(2026, 1, 5), 4000),
    ("undated", 9, None, date(2020, 1, 1), 4000),
)
"""Worked by hand (first expired first out is common practice): on 2027-03-01 `past` is out; then `early` 2, `old` 1
(received before `young`, same use-by date), `young` 5, `late` 2, `undated` last whatever its age."""


@pytest.mark.parametrize(
    ("count", "want"),
    [
        (1, {"early": 1}), (3, {"early": 2, "old": 1}), (5, {"early": 2, "old": 1, "young": 2}),
        (10, {"early": 2, "old": 1, "young": 5, "late": 2}),
        (12, {"early": 2, "old": 1, "young": 5, "late": 2, "undated": 2}),
    ],
)  # fmt: skip
def test_sheets_are_drawn_first_expired_first_out_by_a_hand_worked_example(
    count: int, want: dict[str, int], tmp_path: Path
) -> None:
    shop = stocked_room(room(), lots(tmp_path, *EXAMPLE), DAY)
    got = drawn([job(f"{n:02d}") for n in range(count)], shop)
    assert {lot: len(jobs) for lot, jobs in got.items()} == want


def test_a_dearer_lot_that_expires_first_is_drawn_first_all_the_same(tmp_path: Path) -> None:
    stock = lots(tmp_path, ("late", 3, date(2027, 12, 31), date(2027, 2, 5), 3000),
                 ("early", 1, date(2027, 6, 30), date(2027, 1, 5), 5000))  # fmt: skip
    shop = stocked_room(room(), stock, DAY)
    # both at what the lot that came in last cost
    assert {one.price for one in shop.sheets} == {30.0}
    got = drawn([job("1"), job("2")], shop)
    assert {lot: len(jobs) for lot, jobs in got.items()} == {"early": 1, "late": 1}
    assert drawn([job("1")], shop) == {"early": ["1"]}


def test_the_room_files_price_of_a_size_is_the_price_that_is_planned_with(tmp_path: Path) -> None:
    listed = room(sheet(300, 300, 44.5, keep_back=3, delivery_days=4))
    stock = lots(tmp_path, *EXAMPLE[:2])
    shop = stocked_room(listed, stock, DAY)
    assert {(s.id, s.price, s.keep_back, s.on_hand, s.delivery_days) for s in shop.sheets} == {
        ("L-0001", 44.5, 2, 2, 4), ("L-0002", 44.5, 1, 2, 4)}  # fmt: skip


def test_a_lot_that_expires_before_a_piece_is_due_does_not_serve_it(tmp_path: Path) -> None:
    stock = lots(tmp_path, ("early", 2, date(2027, 6, 30), DAY, 4000), ("late", 2, date(2027, 12, 31), DAY, 4000))
    shop = stocked_room(room(), stock, DAY)
    assert drawn([job("summer", date(2027, 6, 1)), job("autumn", date(2027, 9, 1))], shop) == {
        "early": ["summer"], "late": ["autumn"]}  # fmt: skip


def test_a_job_of_one_lot_takes_the_first_lot_that_holds_it_whole(tmp_path: Path) -> None:
    stock = lots(tmp_path, ("early", 1, date(2027, 6, 30), DAY, 4000), ("middle", 2, date(2027, 9, 30), DAY, 4000),
                 ("late", 5, date(2027, 12, 31), DAY, 4000))  # fmt: skip
    shop = stocked_room(room(), stock, DAY)
    pair = [job("pair", together=Together.LOT, colour=colour) for colour in ("Cyan", "Black")]
    got = drawn([*pair, job("single")], shop)
    assert got == {"middle": ["pair", "pair"], "early": ["single"]}


def test_expired_offcuts_and_gone_ones_are_not_offered_and_old_ones_cost_less(tmp_path: Path) -> None:
    with Ledger(fresh(tmp_path)) as ledger:
        for n, expiry in enumerate((date(2027, 2, 28), None, None)):
            actions.take_in(ledger, [], [found(material=MATERIAL, expiry=expiry)], DAY, act=Act.IMPORT,
                            reason="", key=str(n))  # fmt: skip
        actions.scrap(ledger, "F-0003", 1, "", DAY)
        stock = ledger.stock()
    (one,) = stocked_room(room(), stock, DAY).offcuts
    assert (one.id, one.value) == ("F-0002", 11.38)
    # 49 days old: 1200 x (1 - 0.9 x 19 / 330)
    assert stocked_room(room(), stock, date(2027, 1, 11)).offcuts[-1].value == 12.0


def test_a_ledger_of_another_unit_or_currency_is_refused(tmp_path: Path) -> None:
    stock = lots(tmp_path, *EXAMPLE[:1])
    for other in (replace(room(), unit=Unit.INCH), replace(room(), currency="CHF")):
        with pytest.raises(StockError, match="they must be the same"):
            stocked_room(other, stock, DAY)


def test_the_note_names_what_the_plan_draws_and_the_reserve_it_left(tmp_path: Path) -> None:
    stock = lots(tmp_path, *EXAMPLE[:2])
    listed = room(sheet(300, 300, 40.0, keep_back=1))
    shop = stocked_room(listed, stock, DAY)
    plan = make_plan([job("1"), job("2"), job("3")], shop, QUICK).plan
    note = note_of(plan, "text", stock, shop, DAY, use_reserve=False)
    assert [(d.ref, d.count, d.cents, d.lot) for d in note.drawn] == [
        ("L-0001", 1, 4000, "late"),
        ("L-0002", 2, 4000, "early"),
    ]
    assert [r.sheets for r in note.reserve] == [1]
    assert note_of(plan, "text", stock, shop, DAY, use_reserve=True).reserve == ()
    later = replace(stock, revision=stock.revision + 1)
    assert note_of(plan, "text", later, shop, DAY, use_reserve=False).plan != note.plan
    assert note_of(plan, "text", stock, shop, DAY + timedelta(days=1), use_reserve=False).plan != note.plan
