from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.job import Together, Turn
from nest.domain.room import Station
from nest.packing.fits import fits_of
from tests.packing.shop import costs, imager, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room


def fit(rows: list[Row], at: Room) -> list[tuple[set[int], set[int]]]:
    found = fits_of(problem_of(rows, at).problem, 0)
    assert [found.any_axis(u) for u in range(len(found.along))] == [
        a | b for a, b in zip(found.along, found.across, strict=True)
    ]
    return [(set(a), set(b)) for a, b in zip(found.along, found.across, strict=True)]


def test_each_axis_has_the_bins_that_take_it() -> None:
    shop = room(sheet(300, 100), sheet(100, 300))
    # stock is ordered by id: KV170 100x300 is bin 0
    assert fit([row("a", 300, 100)], shop) == [({1}, {0})]
    assert fit([row("a", 300, 100, turn=Turn.FIXED)], shop) == [({1}, set())]
    assert fit([row("a", 300, 100, turn=Turn.CROSS)], shop) == [(set(), {0})]


@pytest.mark.parametrize(("size", "fits"), [(280.0, True), (280.0001, False)])
def test_what_the_keep_outs_leave_is_exact(size: float, fits: bool) -> None:
    shop = room(sheet(300, 300), imager=imager(clamp_mm=10.0, drum_tape_mm=10.0))
    assert bool(fit([row("a", size, size)], shop)[0][0]) is fits


@pytest.mark.parametrize(
    ("change", "fits"),
    [
        ({"imager": imager(max_across_mm=100.0)}, True),  # a part of the sheet
        ({"imager": imager(max_across_mm=99.0, max_around_mm=99.0)}, False),
        ({"imager": imager(min_across_mm=400.0)}, False),
        ({"imager": imager(min_across_mm=300.0, min_around_mm=300.0)}, True),
        ({"stations": (Station(name="s", max_a_mm=99.0, max_b_mm=99.0),)}, False),
        ({"stations": (Station(name="s", min_a_mm=301.0),)}, False),
        ({"costs": costs(raw_min_strip_mm=400.0)}, True),  # the whole sheet
        ({"costs": costs(raw_parts_max=1), "imager": imager(max_across_mm=250.0, max_around_mm=250.0)}, False),
    ],
)
def test_machines_and_raw_cuts_are_asked(change: dict[str, Any], fits: bool) -> None:
    assert bool(fit([row("a", 100, 100)], room(sheet(300, 300), **change))[0][0]) is fits


def test_a_bundle_fits_where_all_of_it_finds_a_place() -> None:
    shop = room(sheet(300, 200), sheet(200, 100))
    rows = [
        row("a", 100, 100, copies=6, together=Together.COPIES),
        row("b", 100, 100, copies=2, together=Together.COPIES),
        row("c", 100, 100, copies=7, together=Together.COPIES),
    ]
    bins = [both[0] for both in fit(rows, shop)]
    assert bins == [{1}, {0, 1}, set()]


def test_no_units_and_no_bins_are_no_trouble() -> None:
    assert fit([], room(sheet(300, 300))) == []
    assert fit([row("a", 10, 10)], room()) == [(set(), set())]
