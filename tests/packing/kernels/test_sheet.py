from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from nest.domain.room import Cutting
from nest.packing.arrays import layouts_of
from nest.packing.complete import priced
from nest.packing.insert import item_box
from nest.packing.kernels.chance import new_state
from nest.packing.kernels.data import SHEETS
from nest.packing.kernels.plate import NO_PLATE
from nest.packing.kernels.sheet import fill_sheet
from tests.packing.kernels.tables import table
from tests.packing.layouts import play
from tests.packing.shop import costs, imager, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.packing.problem import BinLayout, Problem


def filled(problem: Problem, seed: int) -> tuple[BinLayout | None, float, int]:
    """Return a sheet filled at random, the cost it claims and how many units lie on it."""
    t = table(problem)
    order = t.order()
    value = t.data.area * 1e-9
    cost, _ = fill_sheet(t.data, t.scratch, order, len(order), 0, t.axes, t.lots, value, new_state(seed, 0), t.layout)
    if cost >= NO_PLATE:
        return None, cost, 0
    assert int(t.layout.used[SHEETS]) == 1
    (layout,) = layouts_of(t.layout, t.data, problem)
    return layout, float(cost), int(t.scratch.size[0])


@settings(deadline=None, derandomize=True, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(st.tuples(st.integers(20, 300), st.integers(20, 300), st.sampled_from(("", 0.5))), min_size=1, max_size=8),
    st.sampled_from(Cutting),
    st.integers(0, 10**6),
)
def test_a_filled_sheet_holds_together(sizes: list[tuple[int, int, float | str]], cutting: Cutting, seed: int) -> None:
    shop = room(
        sheet(800, 1000, price=60.0), cutting=cutting, gap_mm=5.0,
        imager=imager(max_across_mm=700.0, max_around_mm=900.0, clamp_mm=12.0, drum_tape_mm=10.0),
        costs=costs(plate=6.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6, offcut_handling=1.0,
                    offcut_min_side_mm=150.0, raw_min_strip_mm=40.0),
    )  # fmt: skip
    rows = [row(f"c{at}", w, h, relief=relief) for at, (w, h, relief) in enumerate(sizes)]
    problem = problem_of(rows, shop).problem
    layout, cost, placed = filled(problem, seed)
    assume(layout is not None)
    assert layout is not None
    assert len(layout.units) == placed > 0
    b = problem.bins[0]
    # raw cuts part the sheet into exactly its plates and rests
    parts = {(p.x, p.y, p.x + p.w, p.y + p.h) for p in layout.plates}
    parts |= {(r.x, r.y, r.x + r.w, r.y + r.h) for r in layout.rests}
    assert set(play((0, 0, b.w, b.h), layout.cuts)) == parts
    # the cost is that of its plates, cuts and best rests
    assert cost == pytest.approx(layout.cost)
    assert priced(problem, table(problem).data, layout).cost == pytest.approx(cost)
    for plate in layout.plates:
        keep = problem.levels[plate.level]
        x, y = (keep.lead, keep.side) if plate.lead == 1 else (keep.side, keep.lead)
        boxes = [item_box(problem, placed) for placed in plate.placed]
        assert len({problem.units[placed.unit].group for placed in plate.placed}) == 1
        for at, box in enumerate(boxes):
            assert box[0] >= plate.x + x
            assert box[1] >= plate.y + y
            assert box[2] <= plate.x + plate.w - keep.side
            assert box[3] <= plate.y + plate.h - keep.side
            for other in boxes[:at]:
                assert max(box[0] - other[2], other[0] - box[2], box[1] - other[3], other[1] - box[3]) >= 50_000


def test_nothing_that_fits_makes_no_sheet() -> None:
    problem = problem_of([row("a", 300, 300)], room(sheet(200, 200))).problem
    assert filled(problem, 0)[0] is None
