"""Part ``weeks``: cost, bound, yield, time and memory of each week, and the general library's cost in the same run."""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING

from nest.intake import read_week
from tests.bench.library import installed
from tests.bench.library_weeks import library_week
from tests.bench.one import Run, Task
from tests.bench.report import number, percent, say, table
from tests.bench.week_data import week_folders

if TYPE_CHECKING:
    from pathlib import Path

    from tests.bench.library_weeks import LibraryWeek
    from tests.bench.options import Options
    from tests.bench.runner import Runner

USUAL_SEEDS = 3
QUICK_SECONDS = 0.3
HEAD = ("week", "pieces", "left", "cost mean", "min", "max", "bound", "gap", "gross yield", "first s", "s",
        "processor s", "peak MB", "library", "library s", "trials", "ratio")  # fmt: skip


def week_runs(options: Options, runner: Runner, folder: Path, seeds: range) -> list[Run]:
    """Return the runs of one week that gave a plan, one a seed."""
    seconds = QUICK_SECONDS if options.quick else options.seconds
    tasks = [Task(folder=str(folder), seconds=seconds, seed=seed, cores=options.cores) for seed in seeds]
    return [run for task in tasks if (run := runner.run(task)) is not None]


def judged_by_library(options: Options, folder: Path, runs: list[Run]) -> LibraryWeek | None:
    """Return the library's cost of what all runs place; None where they place different pieces."""
    if len({run.left for run in runs}) != 1:
        return None
    rows, room = read_week(folder / "jobs.csv", folder / "room.toml")
    left: dict[tuple[str, str, str], int] = {}
    for job, separation, part, copies in runs[0].left:
        key = (job, separation, part)
        left[key] = left.get(key, 0) + copies
    seconds = QUICK_SECONDS if options.quick else options.seconds * options.cores
    found = library_week(rows, room, left, seconds)
    say(f"{folder.name}: library {number(found.cost) or 'packs it not'}, {found.trials} trials")
    return found


def week_row(name: str, runs: list[Run], found: LibraryWeek | None) -> tuple[list[object], float | None]:
    """Return a table row and the ratio to the library."""
    costs = [run.cost for run in runs]
    bound = max(run.bound for run in runs)
    ratio = fmean(costs) / found.cost if found is not None and found.cost else None
    left = sum(copies for *_, copies in runs[0].left)
    firsts = [run.first for run in runs if run.first is not None]
    peaks = [run.peak_mb for run in runs if run.peak_mb is not None]
    row = [
        name, runs[0].pieces, left, number(fmean(costs)), number(min(costs)), number(max(costs)), number(bound),
        percent(1 - bound / fmean(costs)) if fmean(costs) else None, percent(fmean(run.gross for run in runs)),
        number(max(firsts), 2) if firsts else None, number(max(run.seconds for run in runs)),
        number(fmean(run.processor_seconds for run in runs), 1), number(max(peaks), 0) if peaks else None,
        number(found.cost) if found else None, number(found.seconds, 1) if found else None,
        found.trials if found else None, number(ratio, 3),
    ]  # fmt: skip
    return row, ratio


def weeks(options: Options, runner: Runner, scratch: Path) -> str:
    """Return the table of the weeks and the mean and worst ratio to the library."""
    rows: list[list[object]] = []
    ratios: dict[str, float] = {}
    gaps: list[float] = []
    compare = options.library and installed()
    for folder in week_folders(options, scratch):
        runs = week_runs(options, runner, folder, options.seeds_or(USUAL_SEEDS))
        if not runs:
            rows.append([folder.name, "failed", *[None] * (len(HEAD) - 2)])
            continue
        bound_faults(runner, folder.name, runs)
        row, ratio = week_row(folder.name, runs, judged_by_library(options, folder, runs) if compare else None)
        rows.append(row)
        gaps.append(1 - max(run.bound for run in runs) / fmean(run.cost for run in runs))
        if ratio is not None:
            ratios[folder.name] = ratio
    lines = [table(HEAD, rows), ""]
    if gaps:
        lines.append(f"Mean proven gap of {len(gaps)} weeks: {percent(fmean(gaps))}.")
    if ratios:
        worst = max(ratios, key=lambda name: ratios[name])
        lines.append(f"Ratio to the library over {len(ratios)} weeks: mean {fmean(ratios.values()):.3f}, worst "
                     f"{ratios[worst]:.3f} ({worst}).")  # fmt: skip
    elif options.library and not installed():
        lines.append("rectpack is not installed: no comparison.")
    return "\n".join(lines)


def bound_faults(runner: Runner, name: str, runs: list[Run]) -> None:
    """Keep as a fault any bound above a plan that places the same pieces."""
    for run in runs:
        if any(other.left == run.left and run.bound > other.cost + 0.005 for other in runs):
            runner.fault(f"{name}: bound {run.bound} is above a plan's cost")
