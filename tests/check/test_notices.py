"""Warnings that a plan owes."""

from __future__ import annotations

import pytest

from nest.domain.room import Cutting
from tests.check.plans import cut_sheet, free_plates, full_sheet


@pytest.mark.parametrize(("repeat", "owed"), [(311.8961, False), (311.8942, False), (311.8938, True), (305.0, True)])
def test_a_piece_that_does_not_go_round_is_warned_of(repeat: float, owed: bool) -> None:
    # Solid is 300 mm around at plate size; 300 + K 9.896017 + seam 2 = 311.896017,
    # less the one tolerance of 0.002 mm: 311.894017.
    case = full_sheet().with_row("Solid", repeat_mm=repeat)
    assert case.broken() == ({"wrap-warning"} if owed else set())


@pytest.mark.parametrize(
    ("text", "enough"),
    [
        ("job 4001, Solid: 300.0 mm around is too long for its cylinder", True),
        ("job 4001: too long for its cylinder", False),
        ("job 40011, Solid: too long for its cylinder", False),
        ("job 4002, Solid: too long for its cylinder", False),
    ],
)
def test_the_warning_names_job_and_separation(text: str, enough: bool) -> None:
    case = full_sheet().with_row("Solid", repeat_mm=305.0).with_plan(warnings=("other", text))
    assert case.broken() == (set() if enough else {"wrap-warning"})


def test_a_row_that_is_left_out_is_warned_of_too() -> None:
    from dataclasses import replace

    from tests.check.plans import left_out, row

    long = row("5000", "Long", 200.0, 1300.0, repeat_mm=900.0)
    case = replace(full_sheet(), rows=(*full_sheet().rows, long)).with_unplaced(left_out(long))
    assert case.broken() == {"wrap-warning"}


@pytest.mark.parametrize(("gap", "owed"), [(0.0, False), (0.1, True), (4.999, True), (5.0, False)])
def test_a_thin_gap_under_a_guillotine_is_warned_of(gap: float, owed: bool) -> None:
    case = full_sheet().with_room(gap_mm=gap)
    assert case.broken() == ({"gap-warning"} if owed else set())
    assert case.with_plan(warnings=(f"a gap of {gap} mm is too thin to hold",)).broken() == set()


def test_a_thin_gap_of_a_knife_is_no_matter() -> None:
    assert free_plates().room.gap_mm == 4.0
    assert free_plates().broken() == set()


def test_a_bevel_under_a_guillotine_is_found() -> None:
    assert "bevel" in cut_sheet().with_room(bevel_deg=30.0).broken()
    assert "bevel" in cut_sheet().with_material(bevel_deg=30.0).broken()
    assert "bevel" not in cut_sheet().with_room(bevel_deg=30.0, cutting=Cutting.FREE).broken()
