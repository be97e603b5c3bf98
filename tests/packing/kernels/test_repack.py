from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

import nest
from nest.domain.job import Together, Turn
from nest.packing.bench import Bench
from tests.packing.shop import costs, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.packing.bench import Outcome
    from nest.packing.problem import Problem

ROOT = Path(__file__).parents[3]


def repacked(problem: Problem, seed: int = 0, stock: tuple[int, ...] = (9,), free: tuple[int, ...] = ()) -> Outcome:
    bench = Bench(problem, seed, 0)
    axes = np.zeros(max(1, problem.axis_sets), np.int64)
    lots = np.zeros(max(1, problem.lot_sets), np.int64)
    value = bench.data.area * 1e-10
    return bench.repack(
        range(len(problem.units)), axes, free, lots, range(problem.lot_sets), np.array(stock, np.int64), value
    )


def test_every_unit_is_placed_once_or_counted_as_left() -> None:
    problem = problem_of([row("a", 100, 100, copies=7)], room(sheet(200, 200))).problem
    made = repacked(problem)
    placed = [p.unit for layout in made.layouts for plate in layout.plates for p in plate.placed]
    assert sorted(placed) == list(range(7))
    assert (made.left_area, len(made.layouts)) == (0, 2)
    assert made.cost == pytest.approx(sum(layout.cost for layout in made.layouts))
    short = repacked(problem, stock=(1,))
    assert len(short.layouts) == 1
    assert short.left_area == 3 * 1_000_000**2


def test_the_earlier_units_are_placed_where_stock_is_short() -> None:
    rows = [row("a", 200, 200, job="A"), row("b", 200, 200, job="B", due=datetime(2027, 3, 1))]
    problem = problem_of(rows, room(sheet(200, 200))).problem
    made = repacked(problem, stock=(1,))
    assert [problem.units[u].early > 0 for layout in made.layouts for u in layout.units] == [True]
    assert made.left_early == 0.0


def test_a_set_listed_as_free_may_change_its_axis_and_another_may_not() -> None:
    problem = problem_of([row("a", 300, 100)], room(sheet(100, 300))).problem
    assert repacked(problem).layouts == ()
    made = repacked(problem, free=(0,))
    assert len(made.layouts) == 1
    assert made.axes.tolist() == [1]


def test_the_lot_of_a_set_is_chosen_so_that_all_fits() -> None:
    shop = room(sheet(100, 100, name="A", lot="7"), sheet(100, 100, name="B", lot="8"))
    problem = problem_of([row("a", 100, 100, copies=2, together=Together.LOT)], shop).problem
    made = repacked(problem, stock=(1, 2))
    assert made.left_area == 0
    assert made.lots.tolist() == [1]


def test_the_same_seed_gives_the_same_layouts_and_another_state_does_not_leak_in() -> None:
    problem = tiny()
    first, again = repacked(problem, seed=5), repacked(problem, seed=5)
    assert first.layouts == again.layouts
    assert first.cost == again.cost


def tiny() -> Problem:
    """Return a problem of a few units of several kinds."""
    rows = [
        row("a", 130, 210, copies=3), row("b", 90, 75, copies=4, turn=Turn.FREE), row("c", 60, 60, job="9", relief=0.5),
        row("d", 120, 80, job="8", copies=2, together=Together.COPIES), row("e", 70, 70, job="7", copies=2, apart=True),
    ]  # fmt: skip
    shop = room(
        sheet(300, 400),
        gap_mm=5.0,
        costs=costs(plate=2.0, process_per_m2=14.0, cut=0.5, offcut_value=0.6, offcut_min_side_mm=50.0),
    )
    return problem_of(rows, shop).problem


def shown(outcome: Outcome) -> list[object]:
    """Return an outcome as plain values that compare across processes."""
    return [
        [layout.bin, [[p.x, p.y, p.w, p.h, p.lead, p.level, [[q.unit, q.item, q.x, q.y, q.axis] for q in p.placed]]
                      for p in layout.plates],
         [[r.x, r.y, r.w, r.h, r.kept] for r in layout.rests], [list(cut) for cut in layout.cuts]]
        for layout in outcome.layouts
    ]  # fmt: skip


SCRIPT = """
import json
from tests.packing.kernels.test_repack import repacked, shown, tiny
print(json.dumps(shown(repacked(tiny(), free=(0,)))))
"""
PLAN_SCRIPT = """
from tests.packing.shop import costs, imager, planned, room, row, sheet
from nest.domain.job import Need, Together, Turn
from nest.domain.room import Cutting
from nest.output.plan_file import dump_plan
for cutting in Cutting:
    rows = [row("a", 130, 210, copies=5), row("b", 90, 75, copies=9, turn=Turn.FREE, job="9"),
            row("c", 60, 60, job="8", relief=0.5), row("d", 120, 80, job="7", copies=2, together=Together.COPIES),
            row("e", 70, 70, job="6", copies=3, apart=True), row("f", 40, 50, job="5", copies=4, need=Need.FILL)]
    shop = room(sheet(300, 400), sheet(500, 400, price=80.0), gap_mm=5.0, cutting=cutting,
                imager=imager(clamp_mm=12.0, drum_tape_mm=10.0),
                costs=costs(plate=2.0, process_per_m2=14.0, cut=0.5, offcut_value=0.6, offcut_min_side_mm=50.0))
    print(dump_plan(planned(rows, shop, work_limit=30)))
"""


def run(script: str, folder: Path = ROOT, **env: str) -> str:
    """Return what a script prints in a process of its own; a package in ``folder`` goes before all others."""
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(folder), str(ROOT)]), **env},
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def test_the_loops_give_the_same_layouts_uncompiled() -> None:
    # an index out of range reads or writes silently when compiled; plain Python and numpy stop at it
    assert json.loads(run(SCRIPT, NUMBA_DISABLE_JIT="1")) == shown(repacked(tiny(), free=(0,)))


@pytest.mark.slow
def test_the_loops_stay_inside_their_arrays(tmp_path: Path) -> None:
    # a copy of the package is compiled anew with every index checked; compiled loops are kept beside their source
    shutil.copytree(Path(nest.__file__).parent, tmp_path / "nest", ignore=shutil.ignore_patterns("__pycache__"))
    where = "import nest\nassert nest.__file__.startswith({!r})\n"
    checked = run(
        where.format(str(tmp_path)) + PLAN_SCRIPT,
        tmp_path,
        NUMBA_BOUNDSCHECK="1",
        NUMBA_CACHE_DIR=str(tmp_path / "cache"),
    )
    assert checked == run(PLAN_SCRIPT)
    assert checked.count('"format": "nest-plan"') == 2
