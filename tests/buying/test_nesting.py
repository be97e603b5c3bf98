from __future__ import annotations

from dataclasses import replace

import pytest

from nest.buying.demand import SizeKey, sizes_of
from nest.buying.nesting import Kept, Storeroom, endless, value_in
from nest.domain.job import Row
from nest.domain.room import Costs, Imager, Material, Offcut, Room, Sheet

IMAGER = Imager(max_across_mm=2000.0, max_around_mm=2000.0)
COSTS = Costs(plate=1.0, offcut_value=0.8, offcut_handling=0.0, offcut_min_side_mm=100.0)


def room(**fields: object) -> Room:
    sheet = Sheet(id="A", material="HB", across_mm=1000.0, around_mm=1000.0, price=100.0, on_hand=1)
    base = Room(imager=IMAGER, materials={"HB": Material(name="HB", thickness_mm=1.7, base_mm=0.1)}, sheets=(sheet,),
                costs=COSTS)  # fmt: skip
    return replace(base, **fields)  # type: ignore[arg-type]


def rows(count: int, across: float, around: float, job: str = "1") -> tuple[Row, ...]:
    return tuple(
        Row(job=job, separation=str(n), material="HB", image_across_mm=across, image_around_mm=around)
        for n in range(count)
    )


def store(own: Room, **limits: int | None) -> Storeroom:
    return Storeroom(own, sizes_of(own), limits.get("weeks"), limits.get("rack"))


def test_sheets_never_run_out() -> None:
    # one on hand, but five of a whole sheet each are wanted
    week = store(room()).nest(rows(5, 1000.0, 1000.0), 0, 0)
    assert week.sheets == (5,)
    assert week.drawn_m2 == pytest.approx(5.0)
    assert week.pieces_m2 == pytest.approx(5.0)
    assert week.cost == pytest.approx(505.0)
    assert week.left == 0


def test_a_rest_of_one_week_is_drawn_in_the_next() -> None:
    own = store(room())
    first = own.nest(rows(1, 1000.0, 600.0), 0, 0)
    assert first.sheets == (1,)
    assert first.kept_m2 == pytest.approx(0.4)
    assert [(k.offcut.across_mm, k.offcut.around_mm, k.offcut.value) for k in own.rack] == [(1000.0, 400.0, 32.0)]
    second = own.nest(rows(1, 1000.0, 400.0), 1, 0)
    assert second.sheets == (0,)
    assert second.drawn_m2 == pytest.approx(0.4)
    assert own.rack == []


def test_an_offcut_that_is_too_old_is_scrapped() -> None:
    own = store(room(), weeks=2)
    own.nest(rows(1, 1000.0, 600.0), 0, 0)
    assert own.nest(rows(1, 1000.0, 400.0), 2, 0).sheets == (1,)


def test_of_too_many_offcuts_those_worth_least_are_scrapped() -> None:
    offcuts = tuple(Offcut(id=f"F{n}", material="HB", across_mm=200.0, around_mm=100.0 * n, value=2.0 * n)
                    for n in (1, 2, 3))  # fmt: skip
    own = store(room(offcuts=offcuts), rack=2)
    own.nest(rows(1, 1000.0, 1000.0), 0, 0)
    assert [k.offcut.id for k in own.rack] == ["F2", "F3"]


def test_an_offcut_loses_value_with_age_as_in_a_new_ledger() -> None:
    kept = Kept(offcut=Offcut(id="F", material="HB", across_mm=1.0, around_mm=1.0, value=100.0), made=0)
    # full value for 30 days, a tenth from 360 days on: see nest.store.value
    assert value_in(kept, 4) == 100.0
    assert value_in(kept, 27) == pytest.approx(100 * (1 - 0.9 * (27 * 7 - 30) / 330), abs=0.005)
    assert value_in(kept, 60) == 10.0


def test_a_piece_that_no_sheet_takes_is_counted_and_the_others_are_made() -> None:
    week = store(room()).nest((*rows(2, 1500.0, 900.0), *rows(1, 500.0, 500.0, "2")), 0, 0)
    assert week.left == 2
    assert week.sheets == (1,)


def test_a_week_without_work_draws_nothing() -> None:
    assert store(room()).nest((), 0, 0).sheets == (0,)


def test_lots_of_one_size_are_one_size_at_their_highest_price() -> None:
    sheets = tuple(
        Sheet(id=f"L{n}", material="HB", across_mm=900.0, around_mm=1200.0, price=80.0 + n, lot=str(n), on_hand=3)
        for n in range(3)
    )
    own = room(sheets=sheets)
    assert sizes_of(own) == (SizeKey(material="HB", across_mm=900.0, around_mm=1200.0),)
    (one,) = endless(own, sizes_of(own))
    assert (one.price, one.on_hand, one.lot) == (82.0, None, None)
