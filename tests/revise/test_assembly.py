from __future__ import annotations

import pytest

from nest.revise.assembly import sheet_number
from tests.packing.shop import pieces
from tests.revise.shop import after, before, next_of
from tests.revise.test_revision import SHOP, square


@pytest.mark.parametrize(("name", "number"), [("S01", 1), ("S123", 123), ("S", 0), ("T01", 0), ("S01-A", 0)])
def test_the_number_of_a_sheet_is_read_from_its_id(name: str, number: int) -> None:
    assert sheet_number(name) == number


def test_pieces_that_stay_keep_their_copy_numbers_and_the_others_get_the_lowest_free() -> None:
    earlier = before([square("a", 4)], SHOP)
    (old,) = earlier.plan.sheets
    more = after(earlier, [square("a", 6)])
    numbers = {piece.rect: piece.copy for piece in pieces(more.plan)}
    assert {p.rect: p.copy for p in old.plates[0].pieces}.items() <= numbers.items()
    assert sorted(numbers.values()) == [1, 2, 3, 4, 5, 6]
    fewer = after(next_of(more), [square("a", 2)])
    assert sorted(piece.copy for piece in pieces(fewer.plan)) == [1, 2]


def test_ids_of_many_sheets_have_as_many_digits_as_before() -> None:
    earlier = before([square("a", 6)], SHOP)
    one = earlier.plan.sheets[0]
    assert one.id == "S01"
    revision = after(earlier, [square("a", 6), *(square(f"b{n}", 6, job=f"32{n:02}") for n in range(2))])
    assert [sheet.id for sheet in revision.plan.sheets] == ["S01", "S02", "S03"]
