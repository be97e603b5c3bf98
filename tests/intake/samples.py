"""An invented plate room and jobs of it, as text, and how to write them to files."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from nest.errors import InputError
from nest.intake import read_jobs, read_room, read_week

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room

IMAGER = "[imager]\nmax_across = 1524.0\nmax_around = 1067.0\n"
MATERIAL = "[materials.HB170]\nthickness = 1.70\nbase = 0.125\n"
SMALL_ROOM = IMAGER + MATERIAL
INCH_ROOM = (
    'unit = "in"\n[imager]\nmax_across = 60\nmax_around = 42\n[materials.HB170]\nthickness = 0.067\nbase = 0.005\n'
)
HEADER = "job,separation,material,image_across,image_around"
ROW = "2417,Cyan,HB170,200,300.9"


def write(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def room_of(folder: Path, text: str) -> Room:
    return read_room(write(folder, "room.toml", text)).room


def room_faults(folder: Path, text: str | bytes) -> list[str]:
    path = write(folder, "room.toml", text)
    with pytest.raises(InputError) as caught:
        read_room(path)
    return shown(caught.value, folder)


def rows_of(folder: Path, jobs: str | bytes, room: str = SMALL_ROOM, name: str = "jobs.csv") -> tuple[Row, ...]:
    room_path = write(folder, "room.toml", room)
    return read_jobs(write(folder, name, jobs), read_room(room_path), room_path)


def one_row(folder: Path, extra: str = "", value: str = "", room: str = SMALL_ROOM) -> Row:
    header, row = (f"{HEADER},{extra}", f"{ROW},{value}") if extra else (HEADER, ROW)
    (found,) = rows_of(folder, f"{header}\n{row}\n", room)
    return found


def jobs_faults(folder: Path, jobs: str | bytes, room: str = SMALL_ROOM, name: str = "jobs.csv") -> list[str]:
    with pytest.raises(InputError) as caught:
        rows_of(folder, jobs, room, name)
    return shown(caught.value, folder)


def cell_fault(folder: Path, column: str, value: str, room: str = SMALL_ROOM) -> str:
    """Return the one fault of a row that is in order but for one cell."""
    cells = dict(zip(HEADER.split(","), ROW.split(","), strict=True))
    cells[column] = value
    (fault,) = jobs_faults(folder, ",".join(cells) + "\n" + ",".join(cells.values()) + "\n", room)
    return fault.removeprefix("jobs.csv:2: ")


def week_faults(folder: Path, jobs: str, room: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_week(write(folder, "jobs.csv", jobs), write(folder, "room.toml", room))
    return shown(caught.value, folder)


def shown(error: InputError, folder: Path) -> list[str]:
    """Return the faults as text, paths shortened to file names."""
    return [str(fault).replace(f"{folder}/", "") for fault in error.faults]
