from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.job import Turn
from nest.domain.plan import CutStage, SourceKind
from nest.packing.assemble import credit_of, free_areas, letters
from nest.units import to_units
from tests.packing.shop import costs, imager, offcut, pieces, planned, plates, room, row, sheet

MM = 10_000
MINIMUM = 40.0


@pytest.mark.parametrize(
    ("n", "name"), [(0, "A"), (25, "Z"), (26, "AA"), (27, "AB"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")]
)
def test_plates_are_lettered_like_columns(n: int, name: str) -> None:
    assert letters(n) == name


@pytest.mark.parametrize(
    ("w", "h", "want"),
    [
        (900.0, 400.0, 15.28),  # design, section 8: 0.6 * 86.40 / 1.08 m2 * 0.36 m2 - 2
        (400.0, 900.0, 15.28),
        (900.0, 300.0, 7.72),  # 0.27 m2 * 48 * 300/400 - 2
        (100.0, 100.0, 0.0),  # handling takes all of it
    ],
)
def test_a_credit_follows_the_formula_of_the_design(w: float, h: float, want: float) -> None:
    shop = room(costs=costs(offcut_value=0.6, offcut_handling=2.0, offcut_full_side_mm=400.0))
    assert credit_of(shop, 0.6 * 86.40 / 1.08, to_units(w), to_units(h)) == want


@settings(deadline=None, derandomize=True, max_examples=40)
@given(st.lists(st.tuples(*[st.integers(0, 9)] * 2, *[st.integers(1, 5)] * 2), max_size=5))
def test_free_areas_are_empty_maximal_and_the_largest_first(taken: list[tuple[int, int, int, int]]) -> None:
    # a usable area of 600 x 600 from (50, 20), in steps of 60 mm
    step, x0, y0 = 60 * MM, 50 * MM, 20 * MM
    boxes = [
        (x0 + x * step, y0 + y * step, x0 + min(10, x + w) * step, y0 + min(10, y + h) * step) for x, y, w, h in taken
    ]
    free = free_areas((x0, y0, x0 + 10 * step, y0 + 10 * step), boxes)
    areas = [area.w * area.h for area in free]
    assert areas == sorted(areas, reverse=True)
    full = {(i, j) for x, y, w, h in taken for i, j in product(range(x, min(10, x + w)), range(y, min(10, y + h)))}
    best = max((w * h for x, y in product(range(10), repeat=2) for w, h in product(range(1, 11 - x), range(1, 11 - y))
                if not full & set(product(range(x, x + w), range(y, y + h)))), default=0)  # fmt: skip
    assert (areas[0] if areas else 0) == pytest.approx(best * 3600)
    for area in free:
        cells = set(product(*(range(round((low - start) / 60), round((low - start + size) / 60)) for low, size, start in
                              ((area.x, area.w, 50), (area.y, area.h, 20)))))  # fmt: skip
        assert not cells & full


@pytest.mark.parametrize(("width", "count"), [(40.0, 1), (39.9999, 0)])
def test_free_strips_narrower_than_40_mm_are_not_shown(width: float, count: int) -> None:
    assert len(free_areas((0, 0, to_units(width), 500 * MM), [])) == count


def test_sheets_plates_and_rests_are_named_in_order() -> None:
    shop = room(
        sheet(300, 300),
        offcuts=(offcut(300, 300, value=60.0),),
        costs=costs(process_per_m2=14.0, offcut_value=0.5, plate=1.0),
    )
    rows = [row(f"c{n}", 300, 100, relief=float(n)) for n in range(1, 5)]
    plan = planned(rows, shop)
    assert [one.id for one in plan.sheets] == [f"S{n:02d}" for n in range(1, len(plan.sheets) + 1)]
    for one in plan.sheets:
        assert [plate.id for plate in one.plates] == [f"{one.id}-{letters(n)}" for n in range(len(one.plates))]
        assert [rest.id for rest in one.rests] == [f"{one.id}-R{n}" for n in range(1, len(one.rests) + 1)]
        assert [cut.order for cut in one.cuts] == list(range(1, len(one.cuts) + 1))
        stages = [cut.stage for cut in one.cuts]
        assert stages == sorted(stages, key=[CutStage.RAW, CutStage.FINISH].index)


def test_copies_are_numbered_once_each() -> None:
    plan = planned([row("a", 140, 140, copies=9)], room(sheet(300, 300)))
    assert [one.source.kind for one in plan.sheets] == [SourceKind.SHEET] * 3
    assert sorted(piece.copy for piece in pieces(plan)) == list(range(1, 10))


def test_a_turned_piece_carries_its_image_turned() -> None:
    shop = room(sheet(300, 200))
    borders = {"border_lead_mm": 1.0, "border_tail_mm": 2.0, "border_left_mm": 3.0, "border_right_mm": 4.0}
    (piece,) = pieces(planned([row("a", 100, 200, turn=Turn.CROSS, **borders)], shop))
    assert (piece.turn, piece.rect.w, piece.rect.h) == (90, 203.0, 107.0)
    # a quarter turn anticlockwise: the tail is left, the left border at the bottom
    assert (piece.image.x - piece.rect.x, piece.image.y - piece.rect.y) == (2.0, 3.0)
    assert (piece.image.w, piece.image.h) == (200.0, 100.0)


def test_a_plate_states_its_own_keep_outs_and_process_cost() -> None:
    held = imager(clamp_mm=12.0, drum_tape_mm=10.0, border_under_hold=True)
    shop = room(sheet(300, 300), imager=held, costs=costs(process_per_m2=14.0, raw_parts_max=1))
    (plate,) = plates(planned([row("a", 100, 100, border_mm=4.0)], shop))
    assert sorted({plate.keep_out.x0, plate.keep_out.y0, plate.keep_out.x1, plate.keep_out.y1}) == [6.0, 8.0]
    assert plate.process == 1.26
    assert plate.group == "usual"


def test_the_lot_and_expiry_of_a_sheet_are_told() -> None:
    from datetime import date

    shop = room(sheet(300, 300, lot="7", expiry=date(2027, 6, 30)))
    (one,) = planned([row("a", 100, 100)], shop).sheets
    assert (one.lot, one.expiry, one.cost) == ("7", "2027-06-30", 50.0)
