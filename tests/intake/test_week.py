from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.errors import InputError
from nest.intake import read_week
from tests.intake.samples import HEADER, IMAGER, MATERIAL, ROW, SMALL_ROOM, shown, week_faults, write

if TYPE_CHECKING:
    from pathlib import Path


def test_a_week_in_order_gives_its_rows_and_its_room(tmp_path: Path) -> None:
    rows, room = read_week(
        write(tmp_path, "jobs.csv", f"{HEADER}\n{ROW}\n"), write(tmp_path, "room.toml", SMALL_ROOM)
    )
    assert [row.job for row in rows] == ["2417"]
    assert list(room.materials) == ["HB170"]


def test_the_faults_of_both_files_come_at_once_the_rooms_first(tmp_path: Path) -> None:
    assert week_faults(tmp_path, f"{HEADER},copies,Nte\n{ROW},0,x\n", "gpa = 1\n" + SMALL_ROOM) == [
        "room.toml:1: gpa: unknown key; got 'gpa'; did you mean 'gap'?",
        "jobs.csv:1: column 7: unknown column; got 'Nte'; did you mean 'note'? "
        "[columns] in the room file maps or ignores own headers",
        "jobs.csv:2: copies: must be a whole number from 1 to 10000; got '0'; write a count",
    ]


def test_with_an_unreadable_room_only_what_needs_no_room_is_judged(tmp_path: Path) -> None:
    jobs = f"{HEADER},copies,Nte,repeat\n1,Cyan,ZZ,5/8,0.01,0,x,1\n1,Cyan,ZZ,1,1,1,x,1\n"
    faults = week_faults(tmp_path, jobs, "gap =\n")
    assert [fault.split(": ")[:2] for fault in faults] == [
        ["room.toml:1", "column 6"],
        ["jobs.csv:2", "copies"],
        ["jobs.csv:3", "separation"],
    ]


def test_a_wrong_unit_leaves_the_size_limits_of_the_jobs_unjudged(tmp_path: Path) -> None:
    faults = week_faults(tmp_path, f"{HEADER}\n1,Cyan,HB170,0.01,3 1/16\n", 'unit = "cm"\n' + SMALL_ROOM)
    assert faults == ["room.toml:1: unit: must be one of mm, in; got 'cm'; known here: in, mm"]


def test_the_shops_headers_count_even_where_the_room_has_other_faults(tmp_path: Path) -> None:
    room = "gap = -1\n" + IMAGER + MATERIAL + '[columns]\nColour = "separation"\n'
    assert week_faults(tmp_path, HEADER.replace("separation", "Colour") + f"\n{ROW}\n", room) == [
        "room.toml:1: gap: must be 0 or more; got -1; correct the figure"
    ]


def test_two_missing_files_are_two_faults(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        read_week(tmp_path / "jobs.csv", tmp_path / "room.toml")
    assert caught.value.exit_code == 2
    assert shown(caught.value, tmp_path) == [
        "room.toml: no such file; check the path and the spelling",
        "jobs.csv: no such file; check the path and the spelling",
    ]
