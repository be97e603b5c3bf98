from __future__ import annotations

from datetime import datetime

import pytest

from nest.domain.job import Together, Turn
from nest.packing.arrays import data_of
from nest.packing.complete import Completion, priced, sole_plate, swap_earlier_in
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout
from tests.packing.shop import costs, imager, problem_of, room, row, sheet

MM = 10_000


def filled(bin_index: int, *units: int, size: tuple[int, int] = (100, 100)) -> BinLayout:
    """Return a bin wholly taken by one plate with one-item units side by side, each as wide as the others."""
    step = size[0] * MM // max(1, len(units))
    placed = tuple(Placed(unit=u, item=0, x=n * step, y=0, axis=0) for n, u in enumerate(units))
    plate = PlateLayout(x=0, y=0, w=size[0] * MM, h=size[1] * MM, lead=0, level=0, placed=placed)
    return BinLayout(bin=bin_index, cost=50.0, plates=(plate,), rests=(), cuts=())


def test_the_plate_of_one_unit_lies_in_the_corner_with_its_cuts_in_order() -> None:
    #  sheet 400 x 300, piece 100 x 80, clamp 12, tape 10: plate 120 x 102 with its lead edge at y0
    shop = room(sheet(400, 300), imager=imager(clamp_mm=12.0, drum_tape_mm=10.0), costs=costs(process_per_m2=100.0))
    problem = problem_of([row("a", 100, 80)], shop).problem
    made = sole_plate(problem, data_of(problem), 0, (0, 0, 400 * MM, 300 * MM), 0, (0,), 5)
    assert made is not None
    plate, cuts, rests = made
    assert (plate.w, plate.h) in {(120 * MM, 102 * MM), (122 * MM, 100 * MM)}
    keep = (12 if plate.lead == 1 else 10, 12 if plate.lead == 0 else 10)
    assert (plate.placed[0].x, plate.placed[0].y) == (keep[0] * MM, keep[1] * MM)
    area = plate.w * plate.h + sum(r.w * r.h for r in rests)
    assert area == 400 * 300 * MM * MM
    assert len(cuts) == len(rests) == 2
    # the first cut goes from edge to edge
    x1, y1, x2, y2 = cuts[0]
    assert (y1, y2) == (0, 300 * MM) if x1 == x2 else (x1, x2) == (0, 400 * MM)


def test_a_region_too_small_gives_no_plate() -> None:
    shop = room(sheet(400, 300))
    problem = problem_of([row("a", 100, 80)], shop).problem
    assert sole_plate(problem, data_of(problem), 0, (0, 0, 99 * MM, 300 * MM), 0, (0,), 5) is None
    assert sole_plate(problem, data_of(problem), 0, (0, 0, 100 * MM, 80 * MM), 0, (0,), 0) is not None


def test_a_bundle_gets_no_plate_of_this_kind() -> None:
    shop = room(sheet(400, 300))
    problem = problem_of([row("a", 100, 80, copies=2, together=Together.COPIES)], shop).problem
    assert len(problem.units[0].items) == 2
    assert sole_plate(problem, data_of(problem), 0, (0, 0, 400 * MM, 300 * MM), 0, (0,), 5) is None


def test_the_best_rests_are_kept_as_many_as_a_sheet_may() -> None:
    shop = room(sheet(100, 100, price=1000.0), costs=costs(offcut_value=0.5, offcuts_per_sheet=1, cut=2.0, plate=3.0))
    problem = problem_of([row("a", 10, 10)], shop).problem
    bare = BinLayout(
        bin=0, cost=0.0, plates=(PlateLayout(x=0, y=0, w=60 * MM, h=60 * MM, lead=0, level=0, placed=()),),
        rests=(
            RestLayout(x=60 * MM, y=0, w=40 * MM, h=60 * MM, kept=False),
            RestLayout(x=0, y=60 * MM, w=100 * MM, h=40 * MM, kept=False),
        ),
        cuts=((0, 60 * MM, 100 * MM, 60 * MM), (60 * MM, 0, 60 * MM, 60 * MM)),
    )  # fmt: skip
    made = priced(problem, data_of(problem), bare)
    assert [r.kept for r in made.rests] == [False, True]
    # 1000 + one plate 3 + two cuts 4 - half the price of 100 x 40 of 100 x 100
    assert made.cost == pytest.approx(1000 + 3 + 4 - 200)


def test_a_left_over_unit_gets_a_plate_in_a_rest_before_a_new_sheet() -> None:
    shop = room(sheet(200, 100), costs=costs(cut=1.0, plate=1.0))
    problem = problem_of([row("a", 100, 100), row("b", 60, 100)], shop).problem
    start = BinLayout(
        bin=0, cost=51.0,
        plates=(PlateLayout(x=0, y=0, w=100 * MM, h=100 * MM, lead=0, level=0,
                            placed=(Placed(unit=0, item=0, x=0, y=0, axis=0),)),),
        rests=(RestLayout(x=100 * MM, y=0, w=100 * MM, h=100 * MM, kept=False),),
        cuts=((100 * MM, 0, 100 * MM, 100 * MM),),
    )  # fmt: skip
    completion = Completion(problem, data_of(problem), [start], {0: 0}, {})
    assert completion.add(1)
    (layout,) = completion.layouts
    assert len(layout.plates) == 2
    # the whole rest becomes the plate: a further cut would only cost
    assert layout.rests == ()
    assert layout.cost == pytest.approx(50 + 2 + 1)


def test_a_left_over_unit_draws_a_sheet_of_the_stock_that_is_left() -> None:
    shop = room(sheet(100, 100, on_hand=2))
    problem = problem_of([row("a", 100, 100, copies=3)], shop).problem
    completion = Completion(problem, data_of(problem), [filled(0, 0)], {0: 0}, {})
    assert completion.add(1)
    assert not completion.add(2)
    assert [layout.bin for layout in completion.layouts] == [0, 0]


def test_a_set_keeps_the_axis_it_has() -> None:
    shop = room(sheet(100, 50))
    problem = problem_of([row("a", 100, 50), row("b", 50, 100)], shop).problem
    completion = Completion(problem, data_of(problem), [filled(0, 0, size=(100, 50))], {0: 0}, {})
    # 50 x 100 goes only crosswise on 100 x 50, but its set lies along
    assert completion.axes_of(1) == (0,)
    assert not completion.add(1)


def test_the_parts_of_a_sheet_are_not_passed() -> None:
    shop = room(sheet(200, 100, on_hand=1), costs=costs(raw_parts_max=2, process_per_m2=1.0))
    problem = problem_of([row("a", 100, 100), row("b", 60, 60)], shop).problem
    start = BinLayout(
        bin=0, cost=50.0,
        plates=(PlateLayout(x=0, y=0, w=100 * MM, h=100 * MM, lead=0, level=0,
                            placed=(Placed(unit=0, item=0, x=0, y=0, axis=0),)),),
        rests=(RestLayout(x=100 * MM, y=0, w=100 * MM, h=100 * MM, kept=False),),
        cuts=((100 * MM, 0, 100 * MM, 100 * MM),),
    )  # fmt: skip
    completion = Completion(problem, data_of(problem), [start], {0: 0}, {})
    assert completion.add(1)
    assert completion.layouts[0].rests == ()
    assert len(completion.layouts[0].cuts) == 1


EARLY, LATE = datetime(2027, 3, 1), datetime(2027, 9, 1)


def test_an_earlier_unit_takes_the_place_of_an_equal_later_one() -> None:
    shop = room(sheet(100, 100, on_hand=1))
    problem = problem_of([row("a", 100, 100, job="A", due=LATE), row("b", 100, 100, job="B", due=EARLY)], shop).problem
    layouts, left, axes = [filled(0, 0)], [1], {0: 0}
    swap_earlier_in(problem, layouts, left, axes)
    assert layouts[0].units == {1}
    assert left == [0]
    assert axes[1] == 0


@pytest.mark.parametrize(
    "change",
    [{"relief": 0.5}, {"turn": Turn.CROSS}, {"apart": True}, {"alone": True}],
    ids=["group", "turn", "apart", "alone"],
)
def test_an_earlier_unit_of_other_rules_takes_no_place(change: dict[str, object]) -> None:
    shop = room(sheet(100, 100, on_hand=1))
    rows = [row("a", 100, 100, job="A", due=LATE), row("b", 100, 100, job="B", due=EARLY, **change)]
    layouts, left = [filled(0, 0)], [1]
    swap_earlier_in(problem_of(rows, shop).problem, layouts, left, {0: 0})
    assert left == [1]


def test_a_later_unit_takes_no_place() -> None:
    shop = room(sheet(100, 100, on_hand=1))
    rows = [row("a", 100, 100, job="A", due=EARLY), row("b", 100, 100, job="B", due=LATE)]
    layouts, left = [filled(0, 0)], [1]
    swap_earlier_in(problem_of(rows, shop).problem, layouts, left, {0: 0})
    assert left == [1]
