"""What each job costs: its share of the sheets it lies on, never more than planned on its own.

A sheet's whole cost (price, plates, process, cuts, less credits) is shared by the area of the must pieces on it; fill
pieces take free area and carry nothing. Where a share is above the job's stand-alone cost the excess is the room's
own: it buys what the other jobs gain (a cap at the stand-alone cost is the usual fairness condition of cost sharing,
Young 1994, "Cost allocation", Handbook of Game Theory vol. 2, doi 10.1016/S1574-0005(05)80066-9).
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from nest.domain.job import Need
from nest.domain.plan import JobShare
from nest.domain.totals import m2, sheet_cost
from nest.packing.bench import Bench
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.packing.problem import Solution
    from nest.packing.translate import MaterialProblem

STREAM = 500


def alone_costs(solved: Sequence[tuple[MaterialProblem, Solution]], seed: int) -> dict[str, float | None]:
    """Return what each job's placed must pieces would cost planned on their own, on the full stock.

    None where a job's pieces could not all be placed that way.
    """
    costs: dict[str, float | None] = defaultdict(float)
    for stream, (material, solution) in enumerate(solved):
        placed = {u for layout in solution.bins for u in layout.units}
        jobs: dict[str, list[int]] = defaultdict(list)
        for u in sorted(placed):
            row = material.members[u][0].row
            if row.need is Need.MUST:
                jobs[row.job].append(u)
        if not jobs:
            continue
        problem = material.problem
        bench = Bench(problem, seed, STREAM + stream)
        stock = np.array([min(b.stock, len(problem.units)) for b in problem.bins], np.int64)
        value = bench.data.area * (min(b.price / (b.w * b.h) for b in problem.bins) * 1.3)
        axes = np.array([max(0, a) for a in solution.axes] or [0], np.int64)
        lots = np.array([max(0, a) for a in solution.lots] or [0], np.int64)
        for job, units in jobs.items():
            axis_free = sorted({problem.units[u].axis_set for u in units} - {-1})
            lot_free = sorted({problem.units[u].lot_set for u in units} - {-1})
            outcome = bench.repack(units, axes, axis_free, lots, lot_free, stock, value, effort=0.5)
            before = costs[job]
            costs[job] = None if outcome.left_area or before is None else before + outcome.cost
    return costs


def job_shares(
    plan: Plan, room: Room, solved: Sequence[tuple[MaterialProblem, Solution]], rows: Sequence[Row], seed: int
) -> tuple[JobShare, ...]:
    """Return a share per job, in order of job; what the caps leave over is the room's and is not listed."""
    need = {row.key: row.need for row in rows}
    raw: dict[str, float] = defaultdict(float)
    pieces: dict[str, int] = defaultdict(int)
    area: dict[str, float] = defaultdict(float)
    for sheet in plan.sheets:
        placed = [piece for plate in sheet.plates for piece in plate.pieces]
        for piece in placed:
            pieces[piece.job] += 1
            area[piece.job] += m2(piece.rect)
        must = [piece for piece in placed if need[piece.row] is Need.MUST]
        whole = math.fsum(m2(piece.rect) for piece in must)
        cost = sheet_cost(sheet, room)
        for piece in must:
            raw[piece.job] += cost * m2(piece.rect) / whole
    alone = alone_costs(solved, seed)
    out = []
    for job in sorted({row.job for row in rows}):
        limit = alone.get(job, 0.0 if job not in raw else None)
        share = math.floor(raw[job] * 100 + 1e-6) / 100
        if limit is not None:
            limit = money(limit)
            share = min(share, limit)
        out.append(JobShare(job=job, pieces=pieces[job], piece_m2=area[job], share=share, alone=limit))
    return tuple(out)
