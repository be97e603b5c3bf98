from __future__ import annotations

from nest.packing.fits import fits_of
from nest.plates.pieces import piece_of
from nest.revise.reserve import reserve_drawn, reserve_of, with_reserve
from nest.works import prepare
from tests.packing.shop import MATERIAL, offcut, planned, room, row, sheet

RESERVED = sheet(600, 400, on_hand=3, keep_back=2, name="kept")
SHOP = room(RESERVED, sheet(700, 400, on_hand=1), offcuts=(offcut(200, 200),))


def test_only_sheets_that_are_there_are_kept_back() -> None:
    assert [reserve_of(one) for one in (RESERVED, SHOP.sheets[1], SHOP.offcuts[0])] == [2, 0, 0]
    assert reserve_of(sheet(600, 400, on_hand=1, keep_back=5)) == 1
    assert reserve_of(sheet(600, 400, keep_back=5)) == 0


def test_the_reserve_is_a_bin_of_its_own_for_the_rows_it_is_kept_for() -> None:
    rows = [row("a", 500, 300), row("b", 500, 300)]
    work = prepare(SHOP, MATERIAL, [piece_of(one, SHOP) for one in rows])
    grown = with_reserve(work, {rows[1].key})
    assert [b.stock for b in grown.material.problem.bins] == [*(b.stock for b in work.material.problem.bins), 2]
    a, b = grown.material.problem.units
    twin = len(work.material.problem.bins)
    assert (a, twin in b.bins) == (work.material.problem.units[0], True)
    assert grown.material.stock[twin].entry == RESERVED
    # what fits is what the engine itself would find of the grown problem
    assert grown.fit == fits_of(grown.material.problem, 0)


def test_what_is_drawn_of_the_reserve_is_kept_back_no_more() -> None:
    plan = planned([row("a", 600, 400, copies=2)], room(RESERVED), use_reserve=True)
    (left,) = reserve_drawn(room(RESERVED), plan.sheets).sheets
    assert left.keep_back == 1
    assert reserve_drawn(room(RESERVED), plan.sheets[:1]) == room(RESERVED)
