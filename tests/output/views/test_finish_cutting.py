from __future__ import annotations

from dataclasses import replace

from nest.domain.room import Cutting
from nest.output.guide import View
from nest.output.views.facing import Side
from tests.output import sample_plans as samples
from tests.output.views.reading import INCH, row_after, running, words_of


def test_each_cut_tells_the_part_in_hand_the_stop_and_what_comes_off() -> None:
    words = words_of(samples.small(), View.FINISH, "S01")
    head = ["Cut", "in hand", "line runs", "from", "stop mm", "then"]
    rows = row_after(words, head)
    assert rows[:6] == ["2", "420 × 380", "across", "bottom", "12", "strip; go on"]
    assert rows[6:12] == ["3", "420 × 368", "across", "bottom", "358", "go on; strip"]
    assert "Cuts, mm: 8 in all" in words
    assert "Pieces, mm: 3 in all" in words
    # The last cuts free the pieces.
    assert "piece 1; go on" in words or "piece 1; piece 2" in words


def test_every_cut_and_piece_has_a_box_to_tick() -> None:
    from nest.output.guide import drawn_guides

    plan = samples.small()
    (guide,) = drawn_guides(plan, samples.room(), samples.rows_of(plan), views=[View.FINISH], sides=[Side.PRINT])
    look = guide.pages[0].k * 2.8
    boxes = [
        mark for mark in guide.canvas.marks
        if mark.shape == "rect" and mark.layer == "title-block"
        and abs(mark.points[2][0] - mark.points[0][0] - 0.85 * look) < 1e-6
    ]  # fmt: skip
    assert len(boxes) == 8 + 3


def test_pieces_are_placed_from_the_datum_on_both_sides() -> None:
    front, back = (words_of(samples.small(), View.FINISH, "S01", side=side) for side in Side)
    assert row_after(front, ["1", "2417", "Cyan"])[:5] == ["1", "200", "204.91", "10", "12"]
    # From the base side the same piece is at the right: 420 - 10 - 200 = 210 from the left.
    assert row_after(back, ["1", "2417", "Cyan"])[:5] == ["1", "200", "204.91", "210", "12"]


def test_bevelled_sides_are_told() -> None:
    room = replace(samples.room(), cutting=Cutting.FREE, bevel_deg=30.0)
    text = running(samples.small(), View.FINISH, "S01", room=room)
    # 1.70 mm x tan 30 degrees = 0.98 mm
    assert "ALL FOUR SIDES of every piece, 30° from the vertical: the base is 0.98 mm wider" in text
    assert "none: cut upright on all sides" in running(samples.small(), View.FINISH, "S01")


def test_fractions_stand_beside_decimals() -> None:
    words = words_of(samples.small(), View.FINISH, "S01", room=INCH, fractions=32)
    rows = row_after(words, ["Cut", "in hand", "line runs", "from", "stop", "stop in", "then"])
    # 12 mm = 0.472 in = 15/32
    assert rows[:7] == ["2", "16.535 × 14.961", "across", "bottom", "15/32", "0.472", "strip; go on"]


def test_cautions_stand_on_every_page() -> None:
    for view in View:
        assert "the room's qualified safety person come first" in running(samples.week(), view, "S05")
