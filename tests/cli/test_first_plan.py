from __future__ import annotations

import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pytest

from nest.cli.first_plan import end, first_plan
from nest.packing.kernels import compiling
from tests.weeks import nest, week

if TYPE_CHECKING:
    from pathlib import Path

PATIENCE = 120.0


def test_loops_that_are_compiled_need_no_first_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "kept", lambda: True)
    monkeypatch.setattr("nest.cli.first_plan.subprocess.Popen", pytest.fail)
    entered = False
    with first_plan(tmp_path / "jobs.csv", tmp_path / "room.toml", tmp_path / "out", 0, (), wanted=True):
        entered = True
    assert entered
    assert not (tmp_path / "out").exists()


def test_while_loops_are_compiled_a_first_plan_is_made_that_holds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs, _, room = week(tmp_path)
    monkeypatch.setattr(compiling, "kept", lambda: False)
    out = tmp_path / "out"
    with first_plan(tmp_path / jobs, tmp_path / room, out, 3, (), wanted=True):
        until = time.monotonic() + PATIENCE
        while not (out / "inputs.json").exists():
            assert time.monotonic() < until, "no first plan"
            time.sleep(0.1)
        time.sleep(1.0)
    assert f"a first plan is in {out}: " in capsys.readouterr().err
    assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0
    assert '"seed": 3,' in (out / "plan.json").read_text(encoding="utf-8")


def test_a_first_plan_that_takes_too_long_is_ended() -> None:
    sleeper = [sys.executable, "-c", "import time; time.sleep(600)"]
    process = subprocess.Popen(sleeper, stdout=subprocess.PIPE, text=True)
    end(process)
    assert process.wait(5.0) != 0
    assert process.stdout is not None
    process.stdout.close()
