from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.job import Together
from nest.revise.rows import Kind, changed_columns, compared, fresh_part, look, own_row
from tests.packing.shop import costs, room, row, sheet
from tests.revise.shop import before

SHOP = room(sheet(600, 400, price=50.0), costs=costs(raw_parts_max=1), border_mm=5.0)
ROW = row("a", 190, 190, copies=4)


@pytest.mark.parametrize(
    ("now", "kind", "columns"),
    [
        (ROW, Kind.SAME, ()),
        (replace(ROW, line=9), Kind.SAME, ()),
        (replace(ROW, copies=5), Kind.CHANGED, ()),
        (replace(ROW, image_across_mm=100.0, image_around_mm=100.0), Kind.CHANGED, ("size",)),
        (replace(ROW, border_mm=4.0, relief=0.5), Kind.CHANGED, ("border", "relief")),
        (replace(ROW, title="t", apart=True), Kind.CHANGED, ("apart", "title")),
    ],
)
def test_what_became_of_a_row_is_told(now: object, kind: Kind, columns: tuple[str, ...]) -> None:
    (change,) = compared(before([ROW], SHOP), [now], SHOP).changes  # type: ignore[list-item]
    assert (change.kind, change.columns, change.before) == (kind, columns, 4)


def test_rows_come_and_go_by_their_key() -> None:
    other = replace(ROW, part="left")
    found = compared(before([ROW], SHOP), [other], SHOP).changes
    assert [(one.key[2], one.kind, one.before, one.now) for one in found] == [
        ("", Kind.CANCELLED, 4, 0), ("left", Kind.ADDED, 0, 4),
    ]  # fmt: skip


def test_what_a_made_piece_is_and_what_only_rules_it() -> None:
    for more in ({"apart": True}, {"alone": True}, {"title": "t"}, {"copies": 9}, {"border_mm": 5.0}):
        assert look(replace(ROW, **more), SHOP) == look(ROW, SHOP)
    for more in ({"image_across_mm": 191.0}, {"border_lead_mm": 6.0}, {"relief": 0.5}, {"surface": "matt"}):
        assert look(replace(ROW, **more), SHOP) != look(ROW, SHOP)
    # a border taken off the image's size is another piece though as large
    assert look(replace(ROW, image_across_mm=192.0, border_left_mm=4.0, border_right_mm=4.0), SHOP) != look(ROW, SHOP)
    assert look(replace(ROW, material="none"), SHOP) is None
    assert look(replace(ROW, at_plate_size=False, repeat_mm=1.0), SHOP) is None


def test_rules_make_a_row_s_pieces_doubtful_but_not_new() -> None:
    earlier = before([ROW], SHOP)
    assert compared(earlier, [replace(ROW, alone=True)], SHOP).suspects == {ROW.key}
    assert compared(earlier, [replace(ROW, title="t")], SHOP).suspects == frozenset()


def test_further_copies_of_what_stands_are_numbered_on() -> None:
    wanted = compared(before([ROW], SHOP, released=["S01"]), [replace(ROW, copies=6)], SHOP)
    assert [one.copies for one in wanted.rows] == [6]
    assert wanted.standing.withdrawn == {}


def test_a_row_of_our_own_asks_for_no_plate_that_is_made() -> None:
    for together, left in ((Together.PLATE, None), (Together.COPIES, None), (Together.LOT, Together.LOT)):
        assert own_row(replace(ROW, together=together), "v2", 3).together is left


def test_names_of_our_own_rows_are_the_next_not_taken() -> None:
    assert fresh_part("", "v", []) == "v2"
    assert fresh_part("left", "v", ["left v2"]) == "left v3"
    assert fresh_part("", "remake", ["remake 1", "remake 3"]) == "remake 2"


def test_columns_are_told_once_and_in_words() -> None:
    now = replace(ROW, image_across_mm=1.0, image_around_mm=1.0, repeat_mm=500.0, teeth=157.5, note="n", copies=2)
    assert changed_columns(ROW, now) == ("size", "repeat", "note")
