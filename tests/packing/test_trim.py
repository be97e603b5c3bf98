from __future__ import annotations

from dataclasses import replace

import pytest

from nest.packing.arrays import data_of
from nest.packing.problem import BinLayout, Placed, PlateLayout, RestLayout
from nest.packing.solve import Demand
from nest.packing.translate import keep_out_units
from nest.packing.trim import trimmed
from tests.packing.shop import costs, imager, problem_of, room, row, sheet

MM = 10_000
SHOP = room(
    sheet(600, 400, price=24.0), imager=imager(clamp_mm=20.0, drum_tape_mm=10.0),
    costs=costs(plate=1.0, process_per_m2=10.0, cut=0.5, offcut_value=0.5),
)  # fmt: skip
PROBLEM = problem_of([row("a", 200, 100)], SHOP).problem
DATA = data_of(PROBLEM)
DEMAND = Demand(
    must=(0,), fill=(), borders=(0,), beside={}, keep_out=lambda border: keep_out_units(SHOP, "KV170", border)
)


def one(
    w: int, h: int, rests: tuple[RestLayout, ...] = (), cuts: tuple[tuple[int, int, int, int], ...] = ()
) -> BinLayout:
    """Return a sheet with one plate, its piece of 200 x 100 mm in the corner."""
    placed = (Placed(unit=0, item=0, x=10 * MM, y=20 * MM, axis=0),)
    plate = PlateLayout(x=0, y=0, w=w * MM, h=h * MM, lead=0, level=0, placed=placed)
    return BinLayout(bin=0, cost=24.0 + 1.0 + w * h / 1e5, plates=(plate,), rests=rests, cuts=cuts)


def cut_down(layout: BinLayout) -> BinLayout:
    return trimmed(PROBLEM, DATA, DEMAND, layout, layout.plates[0])


def test_a_plate_is_cut_down_to_what_lies_on_it_and_its_keep_outs() -> None:
    small = cut_down(one(600, 400))
    (plate,) = small.plates
    # 200 + 10 + 10 across; around the sheet 100 + 20 + 10
    assert (plate.w, plate.h) == (220 * MM, 130 * MM)
    assert plate.placed == one(600, 400).plates[0].placed
    area = sum(r.w * r.h for r in small.rests) + plate.w * plate.h
    assert area == 600 * 400 * MM * MM
    credit = 12.0 * (1 - 220 * 130 / 240_000)
    assert small.cost == pytest.approx(24.0 + 1.0 + 0.29 + 1.0 - credit, abs=0.011)


def test_the_rest_joins_the_one_beside_it() -> None:
    beside = RestLayout(x=0, y=300 * MM, w=600 * MM, h=100 * MM, kept=True)
    layout = one(600, 300, (beside,), ((0, 300 * MM, 600 * MM, 300 * MM),))
    small = cut_down(layout)
    assert len(small.cuts) == len(small.rests) == 2
    assert max(r.h for r in small.rests) in (270 * MM, 400 * MM)


def test_nothing_is_cut_where_that_costs_more_than_it_saves() -> None:
    dear = replace(PROBLEM, rates=replace(PROBLEM.rates, cut=20.0))
    layout = one(600, 400)
    assert trimmed(dear, data_of(dear), DEMAND, layout, layout.plates[0]) == layout


def test_the_least_plate_and_the_narrowest_strip_hold() -> None:
    held = replace(PROBLEM, limits=replace(PROBLEM.limits, min_across=300 * MM, strip=150 * MM))
    layout = one(600, 400)
    small = trimmed(held, data_of(held), DEMAND, layout, layout.plates[0])
    assert (small.plates[0].w, small.plates[0].h) == (300 * MM, 150 * MM)
    single = replace(PROBLEM, limits=replace(PROBLEM.limits, parts=1))
    assert trimmed(single, data_of(single), DEMAND, layout, layout.plates[0]) == layout
