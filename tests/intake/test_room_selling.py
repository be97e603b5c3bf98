from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.errors import InputError
from nest.intake.room import read_room

if TYPE_CHECKING:
    from pathlib import Path

START = "[imager]\nmax_across = 900\nmax_around = 900\n[materials.HB]\nthickness = 1.7\nbase = 0.1\n"


def room(folder: Path, selling: str) -> Path:
    (folder / "room.toml").write_text(START + selling)
    return folder / "room.toml"


def test_a_room_without_selling_names_no_price(tmp_path: Path) -> None:
    assert read_room(room(tmp_path, "")).room.selling is None


@pytest.mark.parametrize(
    ("key", "per_m2"),
    # 1 ft = 0.3048 m, 1 in = 0.0254 m exactly (international yard and pound agreement of 1959)
    [("rate_per_m2", 1.0), ("rate_per_sqft", 1 / 0.3048**2), ("rate_per_sqin", 1 / 0.0254**2)],
)
def test_a_rate_is_read_for_each_unit_of_area(tmp_path: Path, key: str, per_m2: float) -> None:
    found = read_room(room(tmp_path, f"[selling]\n{key} = 0.9\nminimum = 35\n")).room.selling
    assert found is not None
    assert found.rate_per_m2 == pytest.approx(0.9 * per_m2, rel=1e-12)
    assert found.minimum == 35.0


def test_every_fault_is_told_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_room(room(tmp_path, "[selling]\nrate_per_m2 = 600\nrate_per_sqin = 0.9\nminimum = -1\nminimun = 2\n"))
    said = str(caught.value)
    assert ":9: selling.rate_per_sqin: must not be given beside rate_per_m2; got 0.9; keep one of the two" in said
    assert ":10: selling.minimum: must be 0 or more; got -1" in said
    assert ":11: selling.minimun" in said
    assert "3 faults" in said
