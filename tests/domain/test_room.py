from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.room import Material
from tests.packing.shop import MATERIAL, imager, room

PLAIN = Material(name=MATERIAL, thickness_mm=1.70, base_mm=0.125)
OWN = Material(name="KV284", thickness_mm=2.84, base_mm=0.178, gap_mm=4.0, border_mm=7.0, trim_mm=9.0, bevel_deg=30.0)
SHOP = replace(
    room(materials={MATERIAL: PLAIN, "KV284": OWN}, gap_mm=1.0, border_mm=2.0, bevel_deg=3.0),
    imager=imager(trim_mm=4.0),
)


@pytest.mark.parametrize(("material", "want"), [(MATERIAL, (1.0, 2.0, 4.0, 3.0)), ("KV284", (4.0, 7.0, 9.0, 30.0))])
def test_a_material_s_own_value_goes_before_the_room_s(material: str, want: tuple[float, ...]) -> None:
    got = (SHOP.gap_of(material), SHOP.border_of(material), SHOP.trim_of(material), SHOP.bevel_of(material))
    assert got == want


def test_a_material_s_own_zero_counts() -> None:
    none = replace(PLAIN, gap_mm=0.0, border_mm=0.0, trim_mm=0.0, bevel_deg=0.0)
    shop = replace(SHOP, materials={MATERIAL: none})
    got = (shop.gap_of(MATERIAL), shop.border_of(MATERIAL), shop.trim_of(MATERIAL), shop.bevel_of(MATERIAL))
    assert got == (0.0, 0.0, 0.0, 0.0)
