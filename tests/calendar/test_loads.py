from __future__ import annotations

import itertools
import random
from typing import TYPE_CHECKING

import pytest

from nest.calendar.imaging import laser_minutes
from nest.calendar.loads import DrumPlate, drum_loads
from nest.domain.room import Imager

if TYPE_CHECKING:
    from nest.domain.timetable import Load

IMAGER = Imager(max_across_mm=1270.0, max_around_mm=1600.0, drum_tape_mm=10.0, rpm=300.0, beams=32, load_minutes=5.0)


def drum_plate(name: str, across: float, around: float, **more: float) -> DrumPlate:
    usual = {"left_mm": 10.0, "lead_mm": 14.0, "thickness_mm": 1.7, "ppi": 2540.0}
    return DrumPlate(plate=name, across_mm=across, around_mm=around, **(usual | more))


def names(loads: tuple[Load, ...]) -> list[list[str]]:
    return sorted(sorted(plate.plate for plate in load.plates) for load in loads)


def imager(**changes: object) -> Imager:
    from dataclasses import replace

    return replace(IMAGER, **changes)  # type: ignore[arg-type]


def test_imaging_time_goes_with_the_width_and_the_resolution() -> None:
    # trade figures, derived: W 900 mm, 32 beams, 300 rpm: 9.375 min at 2540 ppi, 14.763780 at 4000
    assert laser_minutes(900.0, 2540.0, 32, 300.0) == 9.375
    assert laser_minutes(900.0, 4000.0, 32, 300.0) == pytest.approx(14.763780, abs=5e-7)
    (load,), bound = drum_loads([drum_plate("A", 900.0, 1200.0)], imager(load_minutes=0.0))
    assert (load.minutes, bound) == (9.375, 9.375)
    # drum covered 1200 mm around: 1.2 * 0.9 m2 / 9.375 min = 6.912 m2/h
    assert 1.2 * 0.9 / load.minutes * 60 == pytest.approx(6.912)


def test_plates_stand_a_gap_apart_along_the_axis_and_the_laser_starts_behind_tape_and_clamp() -> None:
    plates = [drum_plate("A", 600.0, 1200.0), drum_plate("B", 500.0, 1500.0, left_mm=12.0, lead_mm=20.0)]
    (load,), _ = drum_loads(plates, IMAGER)
    a, b = load.plates
    assert (a.plate, a.axial_mm, a.laser_axial_mm, a.turn_mm, a.laser_turn_mm) == ("A", 0.0, 10.0, 0.0, 14.0)
    assert (b.plate, b.axial_mm, b.laser_axial_mm, b.turn_mm, b.laser_turn_mm) == ("B", 615.0, 627.0, 0.0, 20.0)
    assert load.width_mm == 1115.0
    assert load.minutes == pytest.approx(5.0 + 1115.0 * 100 / 9600)


def test_two_short_plates_share_the_turn_unless_they_do_not_fit_or_must_be_clamped() -> None:
    plates = [drum_plate("A", 900.0, 800.0), drum_plate("B", 880.0, 785.0)]
    (load,), _ = drum_loads(plates, IMAGER)  # 800 + 15 + 785 = 1600
    assert [(one.plate, one.axial_mm, one.turn_mm, one.laser_turn_mm) for one in load.plates] == [
        ("A", 0.0, 0.0, 14.0), ("B", 0.0, 815.0, 829.0),
    ]  # fmt: skip
    assert load.width_mm == 900.0
    assert len(drum_loads([plates[0], drum_plate("B", 880.0, 785.1)], IMAGER)[0]) == 2
    assert len(drum_loads(plates, imager(share_turn=False))[0]) == 2
    # with less keep-out at the lead edge than tape takes, a plate has to be in the clamp
    (first,), _ = drum_loads([plates[0], drum_plate("B", 880.0, 785.0, lead_mm=9.0)], IMAGER)
    assert [one.plate for one in first.plates] == ["B", "A"]
    clamped = [drum_plate(name, 900.0, 700.0, lead_mm=9.0) for name in "AB"]
    assert len(drum_loads(clamped, IMAGER)[0]) == 2


def test_a_load_has_one_thickness_and_one_resolution() -> None:
    plates = [
        drum_plate("A", 300.0, 500.0), drum_plate("B", 300.0, 500.0, thickness_mm=2.84),
        drum_plate("C", 300.0, 500.0, ppi=4000.0), drum_plate("D", 300.0, 500.0),
    ]  # fmt: skip
    loads, _ = drum_loads(plates, IMAGER)
    assert names(loads) == [["A", "D"], ["B"], ["C"]]
    assert [load.id for load in loads] == ["L1", "L2", "L3"]


def test_the_drum_runs_slower_with_thick_plates_or_little_on_it() -> None:
    slow = imager(slow_rpm=150.0, slow_cover=0.5, slow_thickness_mm=3.9, load_minutes=0.0)
    covered, bare = drum_plate("A", 900.0, 800.0), drum_plate("A", 900.0, 799.9)
    (full,), _ = drum_loads([covered], slow)
    (half,), _ = drum_loads([bare], slow)
    assert (full.slow, full.rpm, full.minutes) == (False, 300.0, 9.375)
    assert (half.slow, half.rpm, half.minutes) == (True, 150.0, 18.75)
    (thick,), _ = drum_loads([drum_plate("A", 900.0, 1500.0, thickness_mm=3.94)], slow)
    assert (thick.slow, thick.minutes) == (True, 18.75)


def least_minutes(plates: list[DrumPlate], one: Imager) -> float:
    """Return the least minutes by trying every partition and every way to stack columns."""
    gap = one.load_gap_mm

    def width(load: list[DrumPlate]) -> float:
        if not load:
            return -gap
        best = float("inf")
        head, *rest = load
        for count in range(len(rest) + 1):
            for more in itertools.combinations(rest, count):
                column = [head, *more]
                if sum(plate.around_mm for plate in column) + gap * count <= one.max_around_mm:
                    left = [plate for plate in rest if plate not in more]
                    best = min(best, max(plate.across_mm for plate in column) + gap + width(left))
        return best

    def partitions(left: list[DrumPlate]) -> float:
        if not left:
            return 0.0
        head, *rest = left
        best = float("inf")
        for count in range(len(rest) + 1):
            for more in itertools.combinations(rest, count):
                wide = width([head, *more])
                if wide <= one.max_across_mm:
                    minutes = one.load_minutes + laser_minutes(wide, 2540.0, 32, 300.0)
                    best = min(best, minutes + partitions([plate for plate in rest if plate not in more]))
        return best

    return partitions(plates)


@pytest.mark.parametrize("seed", range(8))
def test_small_batches_take_the_fewest_minutes_of_all_ways_to_load_them(seed: int) -> None:
    chance = random.Random(seed)
    plates = [
        drum_plate(f"P{n}", chance.randrange(250, 800, 10), chance.randrange(300, 1200, 10)) for n in range(6)
    ]
    loads, bound = drum_loads(plates, IMAGER)
    found = sum(load.minutes for load in loads)
    assert found == pytest.approx(least_minutes(plates, IMAGER), abs=0.002)
    assert bound == pytest.approx(found)
    assert sorted(plate.plate for load in loads for plate in load.plates) == [plate.plate for plate in plates]


def test_a_large_batch_has_a_bound_below_what_was_found(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(1)
    plates = [drum_plate(f"P{n}", chance.randrange(200, 400), chance.randrange(300, 700)) for n in range(30)]
    monkeypatch.setattr("nest.calendar.loads.MOST_LOADS", 200)
    loads, bound = drum_loads(plates, IMAGER)
    assert 0 < bound < sum(load.minutes for load in loads)
    assert sum(len(load.plates) for load in loads) == 30
