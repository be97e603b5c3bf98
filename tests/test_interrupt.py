"""Ctrl-C and SIGTERM while a plan is made."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from typing import TYPE_CHECKING

import pytest

from nest.cli import planning
from nest.cli.interrupt import interruptible
from nest.intake.week import read_week
from tests.weeks import WORK, nest, week

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room

HARD_JOBS = "job,separation,material,image_across,image_around,copies\n" + "".join(
    f"{4000 + n},Black,QF170,{90 + 37 * n % 211},{80 + 53 * n % 307},2\n" for n in range(60)
)
STOPPING = "stopping: the best plan so far is being checked and written"


def start(folder: Path, *more: str) -> subprocess.Popen[str]:
    """Start a plan that would take hours and return when its search runs."""
    command = [sys.executable, "-m", "nest", "plan", *week(folder, HARD_JOBS), "--out", str(folder / "out")]
    command += ["--work-limit", "1000000000", *more]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("planning "):
            return process
    raise AssertionError(process.communicate()[0])


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_an_interrupt_writes_the_best_checked_plan_and_exits_130(
    number: signal.Signals, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    room = week(tmp_path)[2]
    process = start(tmp_path)
    process.send_signal(number)
    out, err = process.communicate(timeout=120)
    assert process.returncode == 130, err
    assert STOPPING in err
    assert "interrupted: this is the best checked plan found so far" in err
    assert "STOPPED by you: the best checked plan so far" in out
    plan = tmp_path / "out" / "plan.json"
    assert '"stopped_by": "interrupt"' in plan.read_text(encoding="utf-8")
    assert nest(capsys, "verify", str(plan))[0] == 0
    assert room


def test_a_second_interrupt_stops_at_once_and_writes_nothing(tmp_path: Path) -> None:
    process = start(tmp_path)
    # both are pending when the loops return to the interpreter: the lower number is handled first
    process.send_signal(signal.SIGSTOP)
    process.send_signal(signal.SIGINT)
    process.send_signal(signal.SIGTERM)
    process.send_signal(signal.SIGCONT)
    _, err = process.communicate(timeout=120)
    assert process.returncode == 130, err
    assert "stopped at once; nothing written" in err
    assert not (tmp_path / "out").exists()


def test_an_interrupt_before_there_is_a_plan_never_leaves_half_of_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def read(jobs: Path, room: Path) -> tuple[tuple[Row, ...], Room]:
        os.kill(os.getpid(), signal.SIGINT)
        return read_week(jobs, room)

    monkeypatch.setattr(planning, "read_week", read)
    out = tmp_path / "out"
    code, text, _ = nest(capsys, "plan", *week(tmp_path), "--out", str(out), *WORK)
    assert code == 130
    assert (out / "plan.json").exists() == bool(text)
    if out.exists():
        assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0


def test_the_handlers_before_are_put_back() -> None:
    before = signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)
    with interruptible(quiet=True) as event:
        os.kill(os.getpid(), signal.SIGTERM)
        assert event.wait(5.0)
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
    assert (signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)) == before


def test_outside_the_main_thread_no_handler_is_set() -> None:
    seen: list[bool] = []

    def work() -> None:
        before = signal.getsignal(signal.SIGINT)
        with interruptible(quiet=True) as event:
            seen.append(not event.is_set() and signal.getsignal(signal.SIGINT) is before)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [True]
