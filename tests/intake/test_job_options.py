from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.errors import InputError
from nest.intake.job_options import read_job

if TYPE_CHECKING:
    from pathlib import Path

ROOM = (
    'unit = "in"\npitch = 0.125\n[imager]\nmax_across = 50\nmax_around = 60\n[materials.HB]\nthickness = 0.067\n'
    "base = 0.005\n"
)


@pytest.fixture
def room(tmp_path: Path) -> Path:
    (tmp_path / "room.toml").write_text(ROOM)
    return tmp_path / "room.toml"


def test_a_row_for_each_colour_with_lengths_in_the_unit_of_the_room(room: Path) -> None:
    given = {"--job": "q", "--material": "HB", "--across": "3 1/16", "--around": "11", "--teeth": "96", "--copies": "2"}
    rows, found = read_job(given, ["White", "Black"], room)
    assert [row.separation for row in rows] == ["White", "Black"]
    assert rows[0].image_across_mm == pytest.approx(77.7875)
    assert rows[0].repeat_mm == pytest.approx(304.8)
    assert rows[1].copies == 2
    assert found.unit.value == "in"


def test_every_fault_is_told_by_its_option(room: Path) -> None:
    given = {"--job": "q", "--material": "HC", "--across": "ten", "--repeat": "0.1", "--copies": "0"}
    with pytest.raises(InputError) as caught:
        read_job(given, ["Black"], room)
    said = str(caught.value)
    assert "options: --across: must be a number; got 'ten'" in said
    assert "options: --around: must be filled" in said
    assert "options: --copies: must be" in said
    assert "options: --material: no such material" in said


def test_faults_of_the_room_come_first_and_the_options_are_judged_all_the_same(room: Path) -> None:
    room.write_text(ROOM.replace("max_around = 60", "max_around = -60"))
    with pytest.raises(InputError) as caught:
        read_job({"--job": "q", "--material": "HB", "--across": "ten", "--around": "5"}, ["Black"], room)
    first, second = caught.value.faults
    assert first.where == "imager.max_around"
    assert second.where == "--across"
