from __future__ import annotations

import numpy as np

from nest.packing.bench import Bench
from nest.packing.control import Stop
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout
from nest.packing.state import SAME_COST, State
from nest.packing.tidy import disorder, tidied
from nest.units import UNITS_PER_MM
from tests.packing.shop import costs, problem_of, room, row, sheet

U = UNITS_PER_MM


def plate(w: int, h: int, *at: tuple[int, int, int]) -> PlateLayout:
    placed = tuple(Placed(unit=u, item=0, x=x * U, y=y * U, axis=0) for u, x, y in at)
    return PlateLayout(x=0, y=0, w=w * U, h=h * U, lead=0, level=0, placed=placed)


def layout(*plates: PlateLayout, rests: tuple[RestLayout, ...] = ()) -> BinLayout:
    return BinLayout(bin=0, cost=50.0, plates=plates, rests=rests, cuts=())


def rest(w: int, h: int) -> RestLayout:
    return RestLayout(x=0, y=0, w=w * U, h=h * U, kept=True)


def test_neatness_counts_plates_then_axial_width_then_rests_then_lines() -> None:
    problem = problem_of([row("a", 100, 100, copies=4)], room(sheet(600, 600))).problem
    rows = plate(200, 200, (0, 0, 0), (1, 100, 0), (2, 0, 100), (3, 100, 100))
    ragged = plate(200, 200, (0, 0, 0), (1, 100, 7), (2, 3, 100), (3, 100, 107))
    wide = plate(400, 100, (0, 0, 0), (1, 100, 0), (2, 200, 0), (3, 300, 0))
    halves = plate(100, 200, (0, 0, 0), (1, 0, 100)), plate(100, 200, (2, 0, 0), (3, 0, 100))
    square, strips = (rest(400, 400),), (rest(160, 1000),)
    order = [
        layout(rows, rests=square), layout(rows, rests=strips), layout(ragged, rests=strips),
        layout(rows, rests=(*square, *strips)), layout(wide), layout(*halves),
    ]  # fmt: skip
    keys = [disorder(problem, one) for one in order]
    assert keys == sorted(keys)
    assert len(set(keys)) == len(keys)


def test_equal_pieces_come_to_lie_in_rows_at_no_more_cost() -> None:
    at = room(sheet(900, 900), costs=costs(plate=10.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6))
    problem = problem_of([row("a", 130, 210, copies=9), row("b", 70, 90, copies=5)], at).problem
    neater = 0
    for seed in range(8):
        bench = Bench(problem, seed, 0)
        state = State(problem, range(14), np.zeros(max(1, problem.axis_sets), np.int64))
        value = state.area * 1e-9
        state.replace([], bench.repack(range(14), state.axes, [], state.lots, [], state.stock, value, effort=0.01))
        neat = tidied(bench, state, Stop.after(1, None))
        for before, after in zip(state.layouts, neat.layouts, strict=True):
            assert after.units == before.units
            assert after.cost <= before.cost + SAME_COST
            assert after.cost < before.cost - SAME_COST or disorder(problem, after) <= disorder(problem, before)
            neater += disorder(problem, after) < disorder(problem, before)
    assert neater >= 2


def test_nothing_is_tidied_after_an_interrupt() -> None:
    problem = problem_of([row("a", 130, 210, copies=9)], room(sheet(900, 900))).problem
    bench = Bench(problem, 0, 0)
    state = State(problem, range(9), np.zeros(max(1, problem.axis_sets), np.int64))
    state.replace([], bench.repack(range(9), state.axes, [], state.lots, [], state.stock, state.area * 1e-9))
    stop = Stop.after(1, None)
    stop.interrupt.set()
    assert tidied(bench, state, stop).layouts == state.layouts
