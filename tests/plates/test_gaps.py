from __future__ import annotations

import pytest

from nest.domain.room import Cutting, Material, Unit
from nest.plates.gaps import gap_warnings
from tests.packing.shop import MATERIAL, room, row, sheet

ROWS = [row("a", 10, 10)]


@pytest.mark.parametrize(("gap", "count"), [(0.0, 0), (0.1, 1), (4.9, 1), (5.0, 0)])
def test_a_guillotine_gap_is_nothing_or_five_mm(gap: float, count: int) -> None:
    # a thinner strip cannot be held (common practice; design, section 3)
    assert len(gap_warnings(room(sheet(300, 300), gap_mm=gap), ROWS)) == count


def test_free_cutting_takes_any_gap() -> None:
    assert gap_warnings(room(sheet(300, 300), gap_mm=3.0, cutting=Cutting.FREE), ROWS) == []


def test_each_material_that_rows_use_is_warned_of_once_with_its_own_gap() -> None:
    own = Material(name="KV284", thickness_mm=2.84, base_mm=0.178, gap_mm=2.0)
    wide = Material(name=MATERIAL, thickness_mm=1.7, base_mm=0.125, gap_mm=6.0)
    idle = Material(name="KV700", thickness_mm=7.0, base_mm=0.178)
    shop = room(sheet(300, 300), materials={MATERIAL: wide, "KV284": own, "KV700": idle}, gap_mm=3.0)
    rows = [*ROWS, row("b", 10, 10, material="KV284"), row("c", 10, 10, material="KV284")]
    assert gap_warnings(shop, rows) == [
        "KV284: gap 2 mm is a strip too thin to hold in a guillotine; use 0 (one common cut) or at least 5 mm"
    ]


def test_a_gap_warning_speaks_inches_in_an_inch_room() -> None:
    # 3 mm = 0.118 in, 5 mm = 0.197 in
    assert gap_warnings(room(sheet(300, 300), gap_mm=3.0, unit=Unit.INCH), ROWS)[0].endswith(
        "gap 0.118 in is a strip too thin to hold in a guillotine; use 0 (one common cut) or at least 0.197 in"
    )
