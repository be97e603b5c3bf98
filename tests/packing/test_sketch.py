from __future__ import annotations

from dataclasses import replace

from nest.domain.job import Row, Together
from nest.domain.room import Costs, Imager, Material, Offcut, Room, Sheet
from nest.pipeline import Effort
from nest.sketching import sketch_week, sketch_work

ROOM = Room(
    imager=Imager(max_across_mm=1500.0, max_around_mm=1500.0, clamp_mm=10.0),
    materials={name: Material(name=name, thickness_mm=1.7, base_mm=0.1) for name in ("HB", "KC")},
    sheets=tuple(Sheet(id=name, material=name, across_mm=900.0, around_mm=1200.0, price=80.0) for name in ("HB", "KC")),
    offcuts=(Offcut(id="F1", material="HB", across_mm=150.0, around_mm=900.0, value=1.0),), costs=Costs(plate=10.0),
)  # fmt: skip


def rows(count: int, material: str = "HB", side: float = 280.0) -> list[Row]:
    return [
        Row(job=f"{n // 3}", separation=f"{material}{n}", material=material, image_across_mm=side, image_around_mm=side)
        for n in range(count)
    ]


def test_every_piece_is_placed_once_and_the_same_call_gives_the_same() -> None:
    week = [*rows(14), *rows(5, "KC")]
    first, second = sketch_week(week, ROOM, 3)
    assert [one.work.name for one in (first, second)] == ["HB", "KC"]
    for one, count in ((first, 14), (second, 5)):
        placed = [unit for layout in one.bins for unit in sorted(layout.units)]
        assert sorted(placed) == list(range(count))
        assert one.left == ()
    assert sketch_week(week, ROOM, 3)[0].bins == first.bins


def test_an_offcut_too_small_for_any_piece_is_never_drawn() -> None:
    (found,) = sketch_week(rows(9), ROOM, 0)
    stock = found.work.material.stock
    assert {stock[layout.bin].entry.id for layout in found.bins} == {"HB"}


def test_what_fits_no_sheet_is_left_and_the_rest_is_made() -> None:
    week = [*rows(2), replace(rows(1)[0], job="9", separation="huge", image_across_mm=1300.0, image_around_mm=1300.0)]
    (found,) = sketch_week(week, ROOM, 0)
    assert len(found.left) == 1
    assert len(found.bins) == 1


def test_pieces_together_stay_together() -> None:
    week = [replace(row, job="1", together=Together.PLATE) for row in rows(4)] + [replace(rows(1)[0], job="2")]
    (found,) = sketch_week(week, ROOM, 0)
    assert found.left == ()
    assert sum(len(layout.units) for layout in found.bins) == 2


def test_a_longer_search_costs_no_more() -> None:
    week = rows(30, side=210.0)
    cost = [
        sum(layout.cost for layout in sketch_week(week, ROOM, 0, work, effort)[0].bins)
        for work, effort in ((None, None), (10 * sketch_work(30), Effort.QUICK))
    ]
    # heuristics are not monotone in general; this week was looked at
    assert cost[1] <= cost[0]
