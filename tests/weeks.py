"""A small invented week as files, and the command line run on it inside this process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.ends import run

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

ROOM = """\
border = 5.0
pitch = 3.175
[imager]
max_across = 900.0
max_around = 1200.0
clamp = 12.0
drum_tape = 10.0
[materials.QF170]
thickness = 1.70
base = 0.125
[[sheets]]
id = "QF170 600x800"
material = "QF170"
across = 600.0
around = 800.0
price = 40.0
on_hand = 5
keep_back = 1
[costs]
plate = 12.0
process_per_m2 = 14.0
cut = 1.5
offcut_value = 0.6
raw_min_strip = 50.0
"""
JOBS = """\
job,separation,material,image_across,image_around,teeth,copies,need
3101,Cyan,QF170,200,280,96,1,
3101,Black,QF170,200,280,96,1,
3102,Black,QF170,150,180,,2,
3103,Wedge,QF170,60,60,,2,fill
"""
WORK = ("--work-limit", "5")
FILES = ("inputs.json", "jobs.csv", "plan.json", "report.html", "summary.txt", "yield.csv")


def week(folder: Path, jobs: str | bytes = JOBS, room: str | bytes = ROOM) -> list[str]:
    """Write a week; return what a command that reads it is given."""
    for name, text in (("week.csv", jobs), ("room.toml", room)):
        (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    return [str(folder / "week.csv"), "--room", str(folder / "room.toml")]


def nest(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    """Run a command; return its exit code, standard output and standard error."""
    capsys.readouterr()
    code = run(args)
    out, err = capsys.readouterr()
    return code, out, err


def planned(capsys: pytest.CaptureFixture[str], folder: Path, *more: str) -> Path:
    """Plan the small week into ``folder/out`` and return that folder."""
    out = folder / "out"
    code, _, err = nest(capsys, "plan", *week(folder), "--out", str(out), *WORK, *more)
    assert code == 0, err
    return out
