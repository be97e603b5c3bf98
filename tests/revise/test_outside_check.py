"""Revised plans of whole weeks against a checker that lies outside the project, where it and its weeks are there.

Rows are changed in their files, as a planner does it. Left out are changes after which the plan's rows cannot be
written as a jobs file: copies withdrawn, and pieces left over while a sheet that stays has room.
"""

from __future__ import annotations

import csv
import random
import subprocess
import sys
from dataclasses import fields, replace
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from nest.cli.ends import run
from nest.intake import read_week
from nest.output.inputs_file import load_inputs
from nest.output.plan_file import load_plan
from nest.units import plain

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.plan import Plan

ROOT = Path(__file__).parents[2]
OUTSIDE = next((place for up in (1, 2) if (place := ROOT.parents[up - 1] / "shared").is_dir()), ROOT / "none")
CHECKER, WEEKS = OUTSIDE / "tools" / "check_plan.py", OUTSIDE / "bench" / "weeks"
NAMES = ("label-11", "store-11", "table-11", "board-12")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not CHECKER.is_file(), reason="no checker beside the project"),
]


def cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return plain(value)
    if isinstance(value, datetime):
        return value.isoformat()
    return "" if value is None else value.value if isinstance(value, StrEnum) else str(value)


def write_jobs(path: Path, rows: tuple[Row, ...]) -> None:
    """Write rows as a jobs file in mm."""
    names = [field.name for field in fields(rows[0]) if field.name != "line"]
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow([name.removesuffix("_mm") for name in names])
        for row in rows:
            writer.writerow([cell(getattr(row, name)) for name in names])


def outside_check(plan: Path, jobs: Path, room: Path) -> str:
    command = [sys.executable, str(CHECKER), str(plan), str(jobs), str(room)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stdout + done.stderr


def changed(rows: tuple[Row, ...], chance: random.Random) -> tuple[Row, ...]:
    """Return rows with some cancelled, some resized and a few of a further job."""
    out = []
    for row in rows:
        kind = chance.random()
        if kind < 0.1:
            continue
        out.append(replace(row, image_across_mm=round(row.image_across_mm * 0.9, 1)) if kind < 0.15 else row)
    for n in range(chance.randint(1, 3)):
        like = chance.choice(rows)
        out.append(replace(like, job="9901", separation=f"Rush {n}", part="", together=None))
    return tuple(out)


def released(plan: Plan, chance: random.Random) -> str:
    """Return some sheets of which no row lies on other sheets too: their copies keep their numbers whatever comes."""
    where: dict[object, set[str]] = {}
    for sheet in plan.sheets:
        for plate in sheet.plates:
            for piece in plate.pieces:
                where.setdefault(piece.row, set()).add(sheet.id)
    split = {name for sheets in where.values() if len(sheets) > 1 for name in sheets}
    return ",".join(s.id for s in plan.sheets if s.id not in split and chance.random() < 0.5)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_revised_week_passes_the_outside_check(name: str, seed: int, tmp_path: Path) -> None:
    chance, room = random.Random(seed), WEEKS / name / "room.toml"
    rows, _ = read_week(WEEKS / name / "jobs.csv", room)
    out, now = tmp_path / "out", tmp_path / "now.csv"
    planned = ["plan", str(WEEKS / name / "jobs.csv"), "--room", str(room), "--out", str(out), "--work-limit", "150"]
    assert run([*planned, "--seed", str(seed)]) in (0, 3)
    write_jobs(now, changed(rows, chance))
    args = ["replan", str(out), "--jobs", str(now)]
    stay = released(load_plan(out / "plan.json"), chance)
    assert run([*args, "--released", stay] if stay else args) in (0, 3)
    inputs = load_inputs(out / "inputs.json")
    assert dict(inputs.standing.withdrawn) == {}
    write_jobs(now, inputs.rows)
    assert outside_check(out / "plan.json", now, room) == ""
    piece = chance.choice([p for s in load_plan(out / "plan.json").sheets for q in s.plates for p in q.pieces])
    word = "/".join(part for part in piece.row if part) + f"#{piece.copy}"
    code = run(["remake", str(out), "--piece", word, "--reason", "wash", "--date", "2027-03-01"])
    if code == 2:  # the piece drawn serves nothing any more
        return
    inputs = load_inputs(out / "inputs.json")
    write_jobs(now, inputs.rows)
    if dict(inputs.standing.withdrawn) == {} and code == 0:
        assert outside_check(out / "plan.json", now, room) == ""
