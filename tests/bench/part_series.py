"""Parts ``anytime``, ``ablation``, ``seeds``, ``memory`` and ``scaling``: weeks along one thing that varies."""

from __future__ import annotations

from statistics import fmean, pstdev
from typing import TYPE_CHECKING

from tests.bench.ablation import SWITCHES
from tests.bench.invented import SHOPS, invented_week
from tests.bench.one import Task
from tests.bench.part_weeks import QUICK_SECONDS, week_runs
from tests.bench.report import number, percent, table
from tests.bench.week_data import week_folders

if TYPE_CHECKING:
    from pathlib import Path

    from tests.bench.one import Run
    from tests.bench.options import Options
    from tests.bench.runner import Runner

ANYTIME = (1.0, 5.0, 20.0, 60.0)
QUICK_ANYTIME = (0.1, 0.3)
ABLATION_SEEDS, SPREAD_SEEDS = 3, 5
SIZES = (50, 100, 200, 500, 1000, 2000, 5000)
QUICK_SIZES = (10, 20)


def anytime(options: Options, runner: Runner, scratch: Path) -> str:
    """Return the cost of each week after several time limits, each limit a run of its own."""
    limits = QUICK_ANYTIME if options.quick else ANYTIME
    head = ["week", "pieces", "first s", *(f"{limit:g} s" for limit in limits), "last bound", "first limit / last"]
    rows, ratios = [], []
    for folder in week_folders(options, scratch):
        runs = [runner.run(Task(folder=str(folder), seconds=limit, cores=options.cores)) for limit in limits]
        done = [run for run in runs if run is not None]
        if not done:
            continue
        ratio = runs[0].cost / runs[-1].cost if runs[0] and runs[-1] else None
        ratios += [] if ratio is None else [ratio]
        costs = [None if run is None else number(run.cost) for run in runs]
        first, bound = number(done[0].first), number(done[-1].bound)
        rows.append([folder.name, done[0].pieces, first, *costs, bound, number(ratio, 4)])
    mean = f"\n\nMean of the last column: {fmean(ratios):.4f}." if ratios else ""
    return table(head, rows) + mean


def ablation(options: Options, runner: Runner, scratch: Path) -> str:
    """Return the mean cost of each week with parts of the engine switched off, and the ratio to the whole engine."""
    seconds = QUICK_SECONDS if options.quick else options.seconds
    rows: list[list[object]] = []
    ratios: dict[str, list[float]] = {variant: [] for variant in SWITCHES}
    for folder in week_folders(options, scratch):
        means: dict[str, float | None] = {}
        for variant in SWITCHES:
            tasks = [
                Task(folder=str(folder), seconds=seconds, seed=seed, cores=options.cores, variant=variant)
                for seed in options.seeds_or(ABLATION_SEEDS)
            ]
            runs = [run for task in tasks if (run := runner.run(task)) is not None]
            means[variant] = fmean(run.cost for run in runs) if len(runs) == len(tasks) else None
        whole = means["whole engine"]
        for variant, mean in means.items():
            if whole and mean is not None:
                ratios[variant].append(mean / whole)
        rows.append([folder.name, *(number(mean) for mean in means.values())])
    rows.append(["mean ratio", *(number(fmean(values), 4) if values else None for values in ratios.values())])
    return table(["week", *SWITCHES], rows)


def seeds(options: Options, runner: Runner, scratch: Path) -> str:
    """Return how far the costs of each week lie apart over several seeds."""
    rows, spreads = [], []
    for folder in week_folders(options, scratch):
        runs = week_runs(options, runner, folder, options.seeds_or(SPREAD_SEEDS))
        if not runs:
            continue
        costs = [run.cost for run in runs]
        mean = fmean(costs)
        spread = (max(costs) - min(costs)) / mean if mean else 0.0
        spreads.append(spread)
        rows.append([folder.name, len(costs), number(mean), number(min(costs)), number(max(costs)),
                     number(pstdev(costs)), percent(spread, 2)])  # fmt: skip
    mean_spread = f"\n\nMean spread: {percent(fmean(spreads), 2)}." if spreads else ""
    return table(("week", "seeds", "mean", "min", "max", "standard deviation", "spread / mean"), rows) + mean_spread


def memory(options: Options, runner: Runner, scratch: Path) -> str:
    """Return the peak memory of each week, each run in a process of its own even in a quick run."""
    seconds = QUICK_SECONDS if options.quick else options.seconds
    rows = []
    for folder in week_folders(options, scratch):
        run = runner.run(Task(folder=str(folder), seconds=seconds, cores=options.cores), isolated=True)
        if run is not None:
            rows.append([folder.name, run.pieces, number(run.seconds), number(run.peak_mb, 0)])
    return table(("week", "pieces", "s", "peak MB"), rows)


def scaling_row(name: str, run: Run, limit: float) -> list[object]:
    """Return one size's row; the last column is by how much the time limit was passed."""
    return [
        name, run.pieces, sum(copies for *_, copies in run.left), number(run.cost), number(run.bound), percent(run.gap),
        percent(run.gross), number(run.first), number(run.seconds), number(run.seconds - limit), number(run.peak_mb, 0),
    ]  # fmt: skip


def scaling(options: Options, runner: Runner, scratch: Path) -> str:
    """Return figures of invented weeks of growing size, always the same ones whatever the data folder holds."""
    limit = QUICK_SECONDS if options.quick else options.seconds
    rows = []
    for shop in SHOPS[:1] if options.quick else SHOPS[:2]:
        for size in QUICK_SIZES if options.quick else SIZES:
            folder = invented_week(scratch / "scaling", shop, size, 1)
            run = runner.run(Task(folder=str(folder), seconds=limit, cores=options.cores))
            if run is not None:
                rows.append(scaling_row(folder.name, run, limit))
    head = ("week", "pieces", "left", "cost", "bound", "gap", "gross yield", "first s", "s", "over limit s", "peak MB")
    return table(head, rows)
