"""One plan of one week, measured; as a program of its own so that peak memory is that run's alone.

``python -m tests.bench.one TASK`` takes a task as JSON and prints the figures as JSON.
"""

from __future__ import annotations

import json
import sys
import time
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from nest.domain.job import Need, Row, Turn
from nest.domain.room import Imager, Material, Room, Sheet
from nest.intake import read_week
from nest.pipeline import Settings, make_plan
from tests.bench.ablation import SWITCHES

if TYPE_CHECKING:
    from nest.packing.control import News

NO_WORK_LIMIT = 10**12
"""Time is what stops a measured run."""
BYTES_PER_KIB = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A week's folder and how to plan it; ``variant`` is a name of ``ablation.SWITCHES``."""

    folder: str
    seconds: float
    seed: int = 0
    cores: int = 1
    variant: str = "whole engine"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Figures of one plan. ``left`` are must copies not placed; times in seconds, ``first`` until the first plan.

    ``peak_mb`` is None where the run shared its process with others.
    """

    pieces: int
    left: tuple[tuple[str, str, str, int], ...]
    cost: float
    bound: float
    gap: float
    gross: float
    seconds: float
    first: float | None
    processor_seconds: float
    peak_mb: float | None
    stopped_by: str
    proof: str


class FirstPlan:
    """A listener that notes when the first plan was reported."""

    def __init__(self) -> None:
        self.start = time.perf_counter()
        self.after: float | None = None

    def report(self, news: News) -> None:
        """Take news of progress."""
        if self.after is None:
            self.after = time.perf_counter() - self.start


@cache
def warm() -> None:
    """Load the compiled loops, so that no measured run pays for it."""
    room = Room(
        imager=Imager(max_across_mm=900.0, max_around_mm=900.0),
        materials={"M": Material(name="M", thickness_mm=1.7, base_mm=0.125)},
        sheets=(Sheet(id="M", material="M", across_mm=900.0, around_mm=900.0, price=40.0),),
    )
    rows = [
        Row(job=str(job), separation="K", material="M", image_across_mm=200.0 + job, image_around_mm=300.0,
            at_plate_size=True, copies=3, turn=Turn.SET)
        for job in range(12)
    ]  # fmt: skip
    make_plan(rows, room, Settings(work_limit=300))


def plan_once(task: Task) -> Run:
    """Return the figures of one checked plan; peak memory is left open."""
    warm()
    folder = Path(task.folder)
    rows, room = read_week(folder / "jobs.csv", folder / "room.toml")
    settings = Settings(
        seed=task.seed, time_limit=task.seconds, cores=task.cores, methods=SWITCHES[task.variant]
    )
    listener = FirstPlan()
    busy = time.process_time()
    plan = make_plan(rows, room, settings, listener).plan
    seconds, busy = time.perf_counter() - listener.start, time.process_time() - busy
    totals = plan.totals
    return Run(
        pieces=totals.pieces,
        left=tuple((u.job, u.separation, u.part, u.copies) for u in plan.unplaced if u.need is Need.MUST),
        cost=totals.cost,
        bound=totals.bound,
        gap=totals.bound_gap,
        gross=totals.yields.gross,
        seconds=seconds,
        first=listener.after,
        processor_seconds=busy,
        peak_mb=None,
        stopped_by=str(plan.stopped_by),
        proof=plan.proof,
    )


def peak_mb() -> float | None:
    """Return the most memory this process and the largest of its children ever held, None where unknown."""
    try:
        import resource
    except ImportError:
        return None
    whole = sum(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return whole / (BYTES_PER_KIB * BYTES_PER_KIB if sys.platform == "darwin" else BYTES_PER_KIB)


def main() -> None:
    """Take a task from the command line, print its figures."""
    run = plan_once(Task(**json.loads(sys.argv[1])))
    print(json.dumps({**asdict(run), "peak_mb": peak_mb()}))


if __name__ == "__main__":
    main()
