"""`nest timetable`: what it prints and writes, and how it ends where it cannot."""

from __future__ import annotations

import json
import sys
from datetime import datetime
from typing import TYPE_CHECKING

from nest.cli.ends import run
from nest.domain.calendar import Batch, PlannedCalendar
from nest.domain.line import Line
from nest.output.inputs_file import Inputs, dump_inputs
from nest.output.plan_file import dump_plan
from tests.calendar.line_plans import hand_plan, line_room, rows_of

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

    from nest.domain.plan import Plan

SIZES = [("QF170", 600.0, 700.0), ("QF170", 580.0, 800.0), ("QF284", 900.0, 1200.0)]


def written(folder: Path, plan: Plan, line: Line | None = None) -> Path:
    inputs = Inputs(rows=rows_of(plan), room=line_room(line or Line(operators=2)))
    (folder / "plan.json").write_text(dump_plan(plan), encoding="utf-8")
    (folder / "inputs.json").write_text(dump_inputs(inputs), encoding="utf-8")
    return folder


def two_batches() -> Plan:
    from dataclasses import replace

    batches = (
        Batch(id="mon early", start=datetime(2027, 3, 1, 6), end=datetime(2027, 3, 1, 7)),
        Batch(id="tue", start=datetime(2027, 3, 2, 6), end=datetime(2027, 3, 2, 14)),
        Batch(id="wed", start=datetime(2027, 3, 3, 6), end=datetime(2027, 3, 3, 14)),
    )
    plan = hand_plan(SIZES, batches=("mon early", "tue", "tue"))
    return replace(plan, calendar=PlannedCalendar(batches=batches))


def test_it_prints_the_timetable_and_writes_nothing_unless_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = written(tmp_path, hand_plan(SIZES))
    assert run(["timetable", str(folder), "--start", "2027-03-01", "--effort", "quick"]) == 0
    assert "  starts               Mon 2027-03-01 06:00\n" in capsys.readouterr().out
    assert sorted(path.name for path in folder.iterdir()) == ["inputs.json", "plan.json"]
    assert run(["timetable", str(folder / "plan.json"), "--start", "2027-03-01T13:30", "--out", str(tmp_path / "day"),
                "--effort", "quick"]) == 0  # fmt: skip
    told = capsys.readouterr().out
    assert "  starts               Mon 2027-03-01 13:30\n" in told
    assert told.endswith(f"written to {tmp_path / 'day'}: timetable.json, timetable.csv, timetable-plates.svg, "
                         "timetable-stations.svg, cards.html\n")  # fmt: skip
    assert sorted(path.name for path in (tmp_path / "day").iterdir()) == [
        "cards.html", "timetable-plates.svg", "timetable-stations.svg", "timetable.csv", "timetable.json",
    ]  # fmt: skip


def test_without_a_day_no_day_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(tmp_path, hand_plan(SIZES[:1]))
    assert run(["timetable", str(folder), "--effort", "quick"]) == 0
    assert "  starts               day 1 06:00\n" in capsys.readouterr().out


def test_every_batch_with_plates_is_timed_in_its_own_hours(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(tmp_path, two_batches())
    assert run(["timetable", str(folder), "--effort", "quick", "--out", str(tmp_path / "week")]) == 0
    text = capsys.readouterr().out
    assert "TIMETABLE of batch mon early: 1 plate" in text
    assert "READY ONLY AFTER THE BATCH'S END at 07:00" in text
    assert "  starts               Tue 2027-03-02 06:00\n" in text
    names = {path.name for path in (tmp_path / "week").iterdir()}
    assert {"cards-mon_early.html", "cards-tue.html", "timetable-tue-plates.svg", "timetable.csv"} <= names
    lines = (tmp_path / "week" / "timetable.csv").read_text().splitlines()
    assert sum(line.startswith("batch,") for line in lines) == 1
    assert {line.split(",")[0] for line in lines[1:]} == {"mon early", "tue"}
    assert run(["timetable", str(folder), "--batch", "tue", "--start", "2027-03-05T07:00", "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["timetables"]
    assert (told["batch"], told["start"], told["end"]) == ("tue", "2027-03-05T07:00:00", "2027-03-05T15:00:00")


def test_wrong_use_is_told_and_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(tmp_path, two_batches())
    for args, words in (
        (["--batch", "wed"], "--batch: must be a batch of the plan that has plates; got wed; there are mon early, tue"),
        (["--start", "2027-03-01"], "--start is of one batch; name it with --batch"),
        (["--start", "soon"], "'soon' is no day or time such as 2027-03-01T06:00."),
        (["--start", "2027-03-01T06:00+01:00"], "is no day or time"),
    ):
        assert run(["timetable", str(folder), *args, "--out", str(tmp_path / "none")]) == 2
        assert words in capsys.readouterr().err
    assert not (tmp_path / "none").exists()


def test_a_missing_solver_is_one_clear_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = written(tmp_path, hand_plan(SIZES))
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    assert run(["timetable", str(folder)]) == 2
    assert capsys.readouterr().err == (
        "a timetable needs the library ortools, which is not installed; nothing written; install it in nest's folder "
        "with: .venv/bin/pip install '.[timetable]'\n"
    )


def test_a_timetable_that_breaks_the_line_is_our_own_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from nest.check.violation import Violation

    folder = written(tmp_path, hand_plan(SIZES[:1]))
    found = (Violation(place="washer", rule="capacity", text="takes 1, got 2"),)
    monkeypatch.setattr("nest.cli.timetable.check_timetable", lambda *_: found)
    assert run(["timetable", str(folder), "--effort", "quick", "--out", str(tmp_path / "none")]) == 1
    assert "the timetable breaks the line (washer: capacity: takes 1, got 2)" in capsys.readouterr().err
    assert not (tmp_path / "none").exists()
