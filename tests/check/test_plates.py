"""Broken plates, one rule at a time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nest.check.plates import keep_outs_of, misfits
from nest.domain.job import Need
from nest.domain.plan import Edge, KeepOut
from nest.domain.room import Station
from tests.check.plans import cut_sheet, free_plates, full_sheet, plate_room, rect


@pytest.mark.parametrize(
    ("limits", "fits"),
    [
        # The plate is across 900 / around 800.
        ({"max_across_mm": 900.0}, True),
        ({"max_across_mm": 899.9}, False),
        ({"max_around_mm": 800.0}, True),
        ({"max_around_mm": 799.9}, False),
        ({"min_across_mm": 900.0}, True),
        ({"min_across_mm": 900.1}, False),
        ({"min_around_mm": 800.1}, False),
    ],
)
def test_a_plate_fits_the_imager_or_is_found(limits: dict[str, float], fits: bool) -> None:
    assert cut_sheet().with_imager(**limits).broken() == (set() if fits else {"imager"})


def test_the_lead_edge_decides_which_side_goes_around() -> None:
    # 900 x 1200 with lead x0: around 900, across 1200. With lead y0 it would be around 1200, above 1067.
    assert free_plates().with_plate(1, lead=Edge.Y0).broken() == {"imager", "keep-out"}


@pytest.mark.parametrize(
    ("station", "fits"),
    [
        (Station(name="dryer", max_a_mm=800.0, max_b_mm=900.0), True),  # in either turn
        (Station(name="dryer", max_a_mm=900.0, max_b_mm=800.0), True),
        (Station(name="dryer", max_a_mm=799.9), False),
        (Station(name="dryer", max_a_mm=850.0, max_b_mm=850.0), False),
        (Station(name="dryer", min_a_mm=900.0, min_b_mm=800.0), True),
        (Station(name="dryer", min_a_mm=850.0, min_b_mm=800.1), False),
        (Station(name="dryer", min_a_mm=900.1), False),
    ],
)
def test_a_plate_fits_every_station_or_is_found(station: Station, fits: bool) -> None:
    assert cut_sheet().with_room(stations=(station,)).broken() == (set() if fits else {"station"})


@pytest.mark.parametrize("edge", ["x0", "x1", "y0", "y1"])
@pytest.mark.parametrize("change", [-0.001, 0.001])
def test_a_keep_out_off_by_a_thousandth_is_found(edge: str, change: float) -> None:
    out = cut_sheet().plan.sheets[0].plates[0].keep_out
    case = cut_sheet().with_plate(keep_out=replace(out, **{edge: getattr(out, edge) + change}))
    assert case.broken() == {"keep-out"}


def test_keep_outs_follow_clamp_bar_tape_and_trim() -> None:
    room = plate_room()
    assert keep_outs_of(room, "HB170", Edge.X1, 5.0) == {
        Edge.X0: 10.0, Edge.X1: 12.0, Edge.Y0: 10.0, Edge.Y1: 10.0,
    }
    barred = replace(room, stations=(Station(name="washer", bar_mm=20.0), Station(name="dryer", bar_mm=15.0)))
    assert keep_outs_of(barred, "HB170", Edge.Y0, 5.0)[Edge.Y0] == 20.0
    trimmed = replace(room, imager=replace(room.imager, trim_mm=14.0))
    assert set(keep_outs_of(trimmed, "HB170", Edge.Y0, 5.0).values()) == {14.0}


@pytest.mark.parametrize(("border", "lead", "side"), [(0.0, 12.0, 10.0), (3.0, 9.0, 8.0), (5.0, 8.0, 8.0)])
def test_the_border_may_lie_under_clamp_and_tape_but_never_in_the_trim(border: float, lead: float, side: float) -> None:
    # max(trim 8, clamp 12 - border), max(8, tape 10 - border)
    room = plate_room()
    room = replace(room, imager=replace(room.imager, border_under_hold=True))
    found = keep_outs_of(room, "HB170", Edge.Y0, border)
    assert (found[Edge.Y0], found[Edge.Y1], found[Edge.X0], found[Edge.X1]) == (lead, side, side, side)


def test_the_least_border_of_a_plate_counts_under_the_hold() -> None:
    # All borders are 5 mm: max(8, 12 - 5) = 8 at the lead edge, max(8, 10 - 5) = 8 elsewhere.
    case = cut_sheet().with_imager(border_under_hold=True)
    assert case.broken() == {"keep-out"}
    case = case.with_plate(keep_out=KeepOut(x0=8.0, x1=8.0, y0=8.0, y1=8.0))
    assert "keep-out" not in case.broken()


def test_two_groups_on_one_plate_are_found() -> None:
    assert cut_sheet().with_row("Key", relief=0.5).broken() == {"group"}
    assert cut_sheet().with_row("Key", surface="matt").broken() == set()
    assert cut_sheet().with_room(group_by=("surface",)).with_row("Key", surface="matt").broken() == {"group"}


def test_a_plate_only_for_fill_pieces_is_found() -> None:
    assert full_sheet().with_row("Solid", need=Need.FILL).broken() == {"fill-only"}


def test_a_plate_without_a_piece_is_found() -> None:
    assert "fill-only" in full_sheet().with_plate(pieces=()).broken()


def test_a_process_cost_off_by_a_cent_is_found() -> None:
    assert cut_sheet().with_plate(process=10.09).broken() == {"process"}


def test_free_areas_are_free_and_inside() -> None:
    assert cut_sheet().with_plate(free=(rect(740.0, 12.0, 150.01, 778.0),)).broken() == {"free"}
    assert cut_sheet().with_plate(free=(rect(739.9, 12.0, 150.0, 778.0),)).broken() == {"free"}
    assert cut_sheet().with_plate(free=(rect(740.0, 12.0, 0.0, 778.0),)).broken() == {"free"}
    assert cut_sheet().with_plate(free=()).broken() == set()


def test_no_gap_is_owed_by_a_free_area() -> None:
    # B ends at x = 470, where the free area starts, though pieces keep 4 mm.
    assert free_plates().broken() == set()


def test_a_635_by_762_plate_fits_by_its_lead_edge() -> None:
    # A plate of 635 mm around by 762 mm across (common practice) on a drum that takes 700 around.
    room = plate_room()
    room = replace(room, imager=replace(room.imager, max_around_mm=700.0))
    assert misfits(room, 762.0, 635.0, Edge.Y0) == []
    assert misfits(room, 635.0, 762.0, Edge.X1) == []
    assert [rule for rule, _ in misfits(room, 635.0, 762.0, Edge.Y0)] == ["imager"]
