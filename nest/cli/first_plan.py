"""A first plan while the packing loops are still being compiled: made by the same code uncompiled, in a process beside.

Uncompiled loops are a hundred times slower, which is still soon enough for a usual week: some seconds against a minute.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

from nest.cli.streams import tell

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

LEAST_WORK = 1
SECONDS_TO_END = 10.0


def command(jobs: Path, room: Path, out: Path, seed: int, more: Sequence[str]) -> list[str]:
    """Return the command that makes a plan with the least work and prints it as JSON."""
    return [
        sys.executable, "-m", "nest", "plan", str(jobs), "--room", str(room), "--out", str(out), "--json",
        "--seed", str(seed), "--work-limit", str(LEAST_WORK), *more,
    ]  # fmt: skip


def tell_when_done(process: subprocess.Popen[str], out: Path) -> None:
    """Wait for the process and say where its plan is; say nothing of a plan that could not be made."""
    printed, _ = process.communicate()
    try:
        plan = json.loads(printed)
    except ValueError:  # ended before it had printed, or while it did
        return
    if "totals" in plan:
        cost, currency = plan["totals"]["cost"], plan["currency"]
        tell(f"a first plan is in {out}: {cost:.2f} {currency}; a better one follows when the loops are compiled")


def end(process: subprocess.Popen[str]) -> None:
    """Have the process end: it writes all or nothing, so there is no harm in asking twice."""
    if process.poll() is None:
        process.terminate()
        process.terminate()
        try:
            process.wait(SECONDS_TO_END)
        except subprocess.TimeoutExpired:
            process.kill()


@contextmanager
def first_plan(jobs: Path, room: Path, out: Path, seed: int, more: Sequence[str], *, wanted: bool) -> Iterator[None]:
    """Make a first plan in ``out`` beside the block where the loops are not compiled yet; it has ended after it."""
    from nest.packing.kernels.compiling import kept

    if not wanted or kept():
        yield
        return
    process = subprocess.Popen(
        command(jobs, room, out, seed, more), env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    teller = threading.Thread(target=tell_when_done, args=(process, out), daemon=True)
    teller.start()
    try:
        yield
    finally:
        end(process)
        teller.join(SECONDS_TO_END)
