"""Runs tasks one after another, each in a process of its own, and keeps what went wrong."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import asdict
from pathlib import Path

from nest.errors import NestError
from tests.bench.one import Run, Task, plan_once
from tests.bench.report import say

ROOT = Path(__file__).resolve().parents[2]
LAST_LINES = 3


class Runner:
    """Runs plans; ``faults`` are the runs that gave none and every packing that failed its check."""

    def __init__(self, *, isolated: bool) -> None:
        """``isolated`` gives each run its own process, without it peak memory stays unknown."""
        self.isolated = isolated
        self.faults: list[str] = []

    def run(self, task: Task, *, isolated: bool | None = None) -> Run | None:
        """Return a run's figures, None where it failed (which is kept among the faults)."""
        name = f"{Path(task.folder).name}, {task.variant}, {task.seconds:g} s, seed {task.seed}"
        try:
            run = self.apart(task) if (self.isolated if isolated is None else isolated) else plan_once(task)
        except (NestError, RuntimeError, subprocess.TimeoutExpired) as fault:
            self.fault(f"{name}: {fault}")
            return None
        say(f"{name}: cost {run.cost:.2f}, bound {run.bound:.2f}, {run.seconds:.2f} s")
        return run

    def apart(self, task: Task) -> Run:
        """Run a task in a process of its own.

        Raises
        ------
        RuntimeError
            If the process fails.
        """
        done = subprocess.run(
            [sys.executable, "-m", "tests.bench.one", json.dumps(asdict(task))],
            cwd=ROOT, capture_output=True, text=True, check=False, timeout=300 + 20 * task.seconds,
        )  # fmt: skip
        if done.returncode:
            last = " / ".join(done.stderr.strip().splitlines()[-LAST_LINES:])
            raise RuntimeError(f"ended with code {done.returncode}: {last}")
        values = json.loads(done.stdout)
        return Run(**{**values, "left": tuple(tuple(row) for row in values["left"])})

    def fault(self, text: str) -> None:
        """Keep and tell a fault."""
        self.faults.append(text)
        say(f"FAULT {text}")
