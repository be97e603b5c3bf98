"""Which batch makes each plate: least lateness within what the batches hold, earlier ones first.

An assignment of plates to batches with limits (generalised assignment; Martello & Toth 1990, Knapsack Problems,
chapter 7), solved exactly by HiGHS. The relaxation's prices tell what room in each batch is worth.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import highspy
import numpy as np

from nest.packing.linear import QuietHighs, add_column, add_row
from nest.packing.problem import NEVER

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.calendar import Batch

INF = highspy.kHighsInf
EARLIER = 0.02
"""What a batch further on costs beside lateness, so that of equals the earlier one is taken."""
MOVED = 0.5
"""What another batch than before has to save, so that a plan made anew does not shift plates for nothing."""
NOWHERE = 1e7
"""What a plate in no batch costs."""
MOST_NODES = 300
WHOLE_ENOUGH = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One plate to be made: what its pieces cost in each batch, imager minutes, jobs it must share a batch with.

    ``costs`` has one figure per batch, ``NEVER`` where it cannot be made then. ``usual`` is the batch it was in so far.
    """

    plate: str
    costs: tuple[float, ...]
    minutes: float
    jobs: tuple[str, ...] = ()
    usual: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assignment:
    """The batch of each plate (index, None where none has room), and what room for a plate is worth in each batch."""

    batch: Mapping[str, int | None]
    prices: tuple[float, ...]


def assigned(wishes: Sequence[Wish], batches: Sequence[Batch], per_batch: float = 0.0) -> Assignment:
    """Return the assignment of least lateness and cost of batches; of equals the one with the earliest batches.

    ``costs`` of every wish has as many figures as there are ``batches``; ``per_batch`` is what a batch with any plate
    costs.
    """
    model = _Model(wishes, batches, per_batch)
    prices = model.relaxed()
    return Assignment(batch=model.whole(), prices=prices)


class _Model:
    """The program: a variable for each plate and batch it may be in, one for being in none."""

    def __init__(self, wishes: Sequence[Wish], batches: Sequence[Batch], per_batch: float) -> None:
        self.wishes, self.batches = wishes, batches
        self.lp = QuietHighs(mip_max_nodes=MOST_NODES, mip_rel_gap=0.0, mip_abs_gap=EARLIER / 2)
        self.once = [add_row(self.lp, 1.0, 1.0) for _ in wishes]
        self.plates = [add_row(self.lp, -INF, INF if b.plates is None else float(b.plates)) for b in batches]
        self.minutes = [add_row(self.lp, -INF, INF if b.minutes is None else b.minutes) for b in batches]
        self.together = _together_rows(self.lp, wishes, len(batches))
        self.open = _open_rows(self.lp, len(wishes), len(batches)) if per_batch > 0 else []
        self.choice: list[tuple[int, int | None]] = []
        for w, wish in enumerate(wishes):
            self._columns(w, wish)
        for b in range(len(batches) if self.open else 0):
            add_column(self.lp, per_batch, {rows[b]: -1.0 for rows in self.open})
            self._up_to_one()
        for of_job in self._job_rows().values():
            once = add_row(self.lp, -INF, 1.0)
            for b in range(len(batches)):
                add_column(self.lp, 0.0, {once: 1.0} | {rows[b]: -1.0 for rows in of_job})
                self._up_to_one()

    def _columns(self, w: int, wish: Wish) -> None:
        for b, cost in enumerate(wish.costs):
            limit = self.batches[b].minutes
            if cost >= NEVER or (limit is not None and wish.minutes > limit):
                continue
            rows = {self.once[w]: 1.0, self.plates[b]: 1.0, self.minutes[b]: wish.minutes}
            if self.open:
                rows[self.open[w][b]] = 1.0
            for job in wish.jobs:
                rows[self.together[(w, job)][b]] = 1.0
            moved = MOVED if wish.usual not in (None, b) else 0.0
            add_column(self.lp, cost + EARLIER * b + moved, rows)
            self._up_to_one()
            self.choice.append((w, b))
        add_column(self.lp, NOWHERE, {self.once[w]: 1.0})
        self._up_to_one()
        self.choice.append((w, None))

    def _up_to_one(self) -> None:
        self.lp.changeColBounds(self.lp.getNumCol() - 1, 0.0, 1.0)

    def _job_rows(self) -> dict[str, list[list[int]]]:
        rows: dict[str, list[list[int]]] = defaultdict(list)
        for (_, job), own in self.together.items():
            rows[job].append(own)
        return rows

    def relaxed(self) -> tuple[float, ...]:
        """Solve without whole numbers; return what room for one plate more would save in each batch."""
        self.lp.run()
        duals = np.array(self.lp.getSolution().row_dual)
        usual = float(np.mean([wish.minutes for wish in self.wishes])) if self.wishes else 0.0
        worth = [-duals[p] - usual * duals[m] for p, m in zip(self.plates, self.minutes, strict=True)]
        return tuple(max(0.0, round(float(value), 4)) + 0.0 for value in worth)

    def whole(self) -> dict[str, int | None]:
        """Solve in whole numbers; return the batch of each plate."""
        values = self.lp.getSolution().col_value
        if len(values) and all(abs(value - round(value)) < WHOLE_ENOUGH for value in values):
            return self._read()  # as it is wherever only plates are counted: a transport problem
        count = self.lp.getNumCol()
        # started from the relaxation's basis the solver can hand out an older, dearer point than the one it counts
        self.lp.clearSolver()
        kinds = [highspy.HighsVarType.kInteger] * count
        self.lp.changeColsIntegrality(count, np.arange(count, dtype=np.int32), np.array(kinds))
        self.lp.run()
        return self._read()

    def _read(self) -> dict[str, int | None]:
        values = self.lp.getSolution().col_value
        return {self.wishes[w].plate: b for (w, b), value in zip(self.choice, values, strict=False) if value > 0.5}


def _open_rows(lp: QuietHighs, wishes: int, batches: int) -> list[list[int]]:
    """Return, for each plate, a row per batch: the plate is there only if the batch is run."""
    return [[add_row(lp, -INF, 0.0) for _ in range(batches)] for _ in range(wishes)]


def _together_rows(lp: QuietHighs, wishes: Sequence[Wish], batches: int) -> dict[tuple[int, str], list[int]]:
    """Return, for each plate and job it shares a batch with, a row per batch: the plate is there if the job is.

    A plate in no batch is under no such row: it breaks none.
    """
    return {
        (w, job): [add_row(lp, -INF, 0.0) for _ in range(batches)]
        for w, wish in enumerate(wishes)
        for job in wish.jobs
    }
