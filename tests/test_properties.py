"""Properties of every plan, on random small weeks. Counts of work stop the search, so all of it repeats.

Sources: design, sections 3 to 5 (the rules themselves); exact fits are arithmetic.
"""

from __future__ import annotations

import json
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings

from nest.check.opinion import check_plan
from nest.domain.job import Row, Turn
from nest.domain.plan import StoppedBy
from nest.domain.room import Cutting, Room
from nest.intake import read_week
from nest.output.plan_file import dump_plan, load_plan, rounded_plan
from nest.output.plan_reading import plan_from_json
from nest.packing.bounds import PATTERN_PROOF
from nest.pipeline import Settings, make_plan
from nest.units import MM_PER_INCH, money, plain
from tests.packing.shop import costs, imager, offcut, pieces, planned, plates, room, row, sheet
from tests.small_weeks import weeks

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.plan import Plan

Week = tuple[tuple[Row, ...], Room]
ONCE = (Phase.explicit, Phase.generate)
"""No shrinking: a failure of a whole plan is told at once."""
SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
QUICK = Settings(work_limit=8)


def plan_of(rows: tuple[Row, ...], at: Room) -> Plan:
    return make_plan(rows, at, QUICK).plan


@settings(max_examples=120, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks())
def test_every_plan_of_a_random_week_passes_the_check(week: Week) -> None:
    rows, at = week
    made = make_plan(rows, at, QUICK)
    plan = made.plan
    assert check_plan(plan, rows, at) == ()
    assert check_plan(rounded_plan(plan), rows, at) == ()
    placed = len(pieces(plan)) + sum(left.copies for left in plan.unplaced)
    assert placed == sum(one.copies for one in rows)
    assert plan.totals.bound <= plan.totals.cost + 1e-9
    if plan.stopped_by is StoppedBy.OPTIMAL:
        assert plan.totals.bound == pytest.approx(plan.totals.cost, abs=0.011)
    # no job pays more than alone, all jobs together no more than the plan
    assert money(sum(share.share for share in made.shares)) <= plan.totals.cost + 1e-9
    assert all(share.alone is None or share.share <= share.alone + 1e-9 for share in made.shares)


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks())
def test_the_order_of_rows_and_stock_changes_nothing(week: Week) -> None:
    rows, at = week
    turned = replace(
        at,
        sheets=at.sheets[::-1],
        offcuts=at.offcuts[::-1],
        stations=at.stations[::-1],
        materials=dict(reversed(at.materials.items())),
    )
    assert plan_of(rows[::-1], turned) == plan_of(rows, at)


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks())
def test_a_plan_written_and_read_back_is_equal(week: Week) -> None:
    plan = rounded_plan(plan_of(*week))
    text = dump_plan(plan)
    back = plan_from_json(json.loads(text))
    assert back == plan
    assert dump_plan(back) == text


def test_a_plan_file_read_back_is_equal(tmp_path: Path) -> None:
    plan = rounded_plan(planned([row("a", 100, 200, copies=5)], room(sheet(500, 500), border_mm=2.5)))
    path = tmp_path / "plan.json"
    path.write_text(dump_plan(plan), encoding="utf-8")
    assert load_plan(path) == plan


def ten_times(record: Any) -> Any:
    """Return a record with all its lengths ten times as long."""
    lengths = {f.name: getattr(record, f.name) for f in fields(record) if f.name.endswith("_mm")}
    return replace(record, **{name: mm * 10 for name, mm in lengths.items() if mm is not None})


def large_shop(at: Room) -> Room:
    """Return the room with lengths times ten and rates per area divided by a hundred."""
    c = at.costs
    rates = replace(c, process_per_m2=c.process_per_m2 / 100, offcut_min_area_m2=c.offcut_min_area_m2 * 100)
    made: Room = ten_times(at)
    return replace(
        made,
        imager=ten_times(at.imager),
        stations=tuple(ten_times(one) for one in at.stations),
        materials={name: ten_times(one) for name, one in at.materials.items()},
        sheets=tuple(ten_times(one) for one in at.sheets),
        offcuts=tuple(ten_times(one) for one in at.offcuts),
        costs=ten_times(rates),
    )


def at_plate_size(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Return the rows with sizes taken as plate sizes: nothing is rounded then."""
    return tuple(replace(one, at_plate_size=True) for one in rows)


@settings(max_examples=30, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks(jobs=2))
def test_a_shop_ten_times_as_large_has_the_same_bound(week: Week) -> None:
    rows, at = at_plate_size(week[0]), week[1]
    small = plan_of(rows, at)
    large = plan_of(tuple(ten_times(one) for one in rows), large_shop(at))
    assume(small.unplaced == large.unplaced)
    # the pattern bound is a search for prices whose steps rounding can turn; what it proves holds for both shops
    assert max(large.totals.bound, small.totals.bound) <= min(large.totals.cost, small.totals.cost) + 0.005
    if PATTERN_PROOF not in small.proof + large.proof:
        assert large.totals.bound == pytest.approx(small.totals.bound, abs=0.02)


RATES = {"plate": 6.0, "process_per_m2": 14.0, "cut": 1.5, "offcut_value": 0.6, "offcut_min_area_m2": 0.05}


@pytest.mark.parametrize("cutting", list(Cutting))
@pytest.mark.parametrize(
    ("sizes", "copies"),
    [(((200.0, 300.0),), 6), (((120.0, 310.0), (90.0, 200.0)), 3), (((410.0, 130.0), (77.5, 90.0)), 4)],
)
def test_a_shop_ten_times_as_large_pays_the_same(
    cutting: Cutting, sizes: tuple[tuple[float, float], ...], copies: int
) -> None:
    rows = tuple(row(f"c{n}", w, h, copies=copies) for n, (w, h) in enumerate(sizes))
    held = imager(max_across_mm=800.0, max_around_mm=700.0, clamp_mm=12.0, drum_tape_mm=10.0)
    shop = room(
        sheet(600, 700), sheet(450, 500, price=30.0), imager=held, border_mm=2.5, cutting=cutting, costs=costs(**RATES)
    )
    small = planned(rows, shop, work_limit=60)
    large = planned(tuple(ten_times(one) for one in rows), large_shop(shop), work_limit=60)
    assert large.totals.cost == small.totals.cost > 0
    assert large.totals.pieces == small.totals.pieces


INCH_ROOM = """\
unit = "{unit}"
cutting = "{cutting}"
border = {border}
[imager]
max_across = {across}
max_around = {around}
clamp = {clamp}
drum_tape = {tape}
[materials.KV067]
thickness = {thickness}
base = {base}
[[sheets]]
material = "KV067"
id = "large"
across = {wide}
around = {high}
price = 80.00
[costs]
plate = 6.0
process_per_m2 = 14.0
cut = 1.5
offcut_value = 0.6
offcut_min_side = {side}
offcut_min_area_m2 = 0.1
raw_min_strip = {strip}
"""


def shop_text(unit: str, cutting: Cutting) -> str:
    """Return the room file of one and the same shop in inches or in mm."""
    scale = MM_PER_INCH if unit == "mm" else 1.0
    inches = {
        "border": 0.125, "across": 40.0, "around": 50.0, "clamp": 0.5, "tape": 0.375, "thickness": 0.067,
        "base": 0.005, "wide": 36.0, "high": 48.0, "side": 10.0, "strip": 2.0,
    }  # fmt: skip
    values = {name: plain(round(value * scale, 4)) for name, value in inches.items()}
    return INCH_ROOM.format(unit=unit, cutting=cutting.value, **values)


def jobs_text(unit: str) -> str:
    scale = MM_PER_INCH if unit == "mm" else 1.0
    rows = [("11", "Cyan", 8.0, 12.5, 16.0, 3), ("11", "Black", 8.0, 12.5, 16.0, 3), ("12", "Red", 10.25, 6.125, 0, 4)]
    lines = ["job,separation,material,image_across,image_around,repeat,copies"]
    for job, colour, across, around, repeat, copies in rows:
        w, h, r = (plain(round(v * scale, 4)) for v in (across, around, repeat))
        lines.append(f"{job},{colour},KV067,{w},{h},{r if repeat else ''},{copies}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("cutting", list(Cutting))
def test_inches_and_mm_of_one_shop_give_the_same_plan(tmp_path: Path, cutting: Cutting) -> None:
    # 1 in = 25.4 mm exactly (NIST SP 811); all lengths here are whole 0.0001 mm either way
    made = []
    for unit in ("in", "mm"):
        jobs, shop = tmp_path / f"jobs-{unit}.csv", tmp_path / f"room-{unit}.toml"
        jobs.write_text(jobs_text(unit), encoding="utf-8")
        shop.write_text(shop_text(unit, cutting), encoding="utf-8")
        rows, at = read_week(jobs, shop)
        made.append(make_plan(rows, at, Settings(work_limit=30)).plan)
    inch, mm = made
    assert inch.totals.cost == mm.totals.cost > 0
    assert inch.totals.bound == mm.totals.bound
    assert inch.sheets == mm.sheets


@settings(max_examples=30, deadline=None, derandomize=True, suppress_health_check=SLOW, phases=ONCE)
@given(weeks())
def test_another_seed_gives_a_plan_that_passes_the_check_too(week: Week) -> None:
    rows, at = week
    plan = make_plan(rows, at, Settings(work_limit=8, seed=12345)).plan
    assert plan.seed == 12345
    assert check_plan(plan, rows, at) == ()


# Exact fits (design, section 3: what fits exactly, fits)


@pytest.mark.parametrize("cutting", list(Cutting))
def test_eight_pieces_of_3_1_16_inch_fill_24_1_2_inches(cutting: Cutting) -> None:
    width, height = 24.5 * MM_PER_INCH, 10 * MM_PER_INCH
    shop = room(sheet(width, height), imager=imager(max_across_mm=width, max_around_mm=height), cutting=cutting)
    plan = planned([row("a", 3.0625 * MM_PER_INCH, height, copies=8, turn=Turn.FIXED)], shop)
    assert (plan.totals.sheets, plan.totals.plates, plan.unplaced) == (1, 1, ())
    assert plan.totals.yields.gross == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("cutting", list(Cutting))
@pytest.mark.parametrize("gap", [0.0, 5.0, 6.35])
def test_four_quarters_fill_a_sheet_with_exactly_the_gap_between(cutting: Cutting, gap: float) -> None:
    shop = room(sheet(600, 800), gap_mm=gap, cutting=cutting)
    plan = planned([row("a", (600 - gap) / 2, (800 - gap) / 2, copies=4)], shop)
    assert (plan.totals.sheets, plan.totals.plates, plan.unplaced) == (1, 1, ())
    corners = sorted((p.rect.x, p.rect.y) for p in pieces(plan))
    assert corners == [(0, 0), (0, 400 + gap / 2), (300 + gap / 2, 0), (300 + gap / 2, 400 + gap / 2)]


def test_a_gap_too_small_by_a_ten_thousandth_of_a_mm_takes_a_second_sheet() -> None:
    # one plate a sheet: between two plates no gap is owed
    shop = room(sheet(600, 800), gap_mm=5.0, costs=costs(raw_parts_max=1))
    plan = planned([row("a", 297.5001, 397.5, copies=4)], shop)
    assert plan.totals.sheets == 2


def test_a_piece_that_fills_what_the_keep_outs_leave_fits() -> None:
    shop = room(sheet(600, 800), imager=imager(clamp_mm=12.0, drum_tape_mm=10.0, trim_mm=8.0))
    plan = planned([row("a", 580, 778)], shop)
    assert plan.unplaced == ()
    (plate,) = plates(plan)
    assert plate.free == ()


def test_an_offcut_of_exactly_the_plate_s_size_serves() -> None:
    shop = room(
        sheet(600, 800, price=80.0),
        offcuts=(offcut(220, 322, value=4.0),),
        imager=imager(clamp_mm=12.0, drum_tape_mm=10.0),
        costs=costs(cut=1.0),
    )
    plan = planned([row("a", 200, 300)], shop)
    assert [one.source.ref for one in plan.sheets] == ["R-0101"]
    assert plan.totals.cost == 4.0
    assert plan.stopped_by is StoppedBy.OPTIMAL
