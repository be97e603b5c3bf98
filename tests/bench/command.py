"""The whole command: parts in order, one table each, faults at the end."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench import part_classical, part_series, part_weeks
from tests.bench.options import read_options
from tests.bench.report import heading
from tests.bench.runner import Runner

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from tests.bench.options import Options

PARTS: dict[str, Callable[[Options, Runner, Path], str]] = {
    "weeks": part_weeks.weeks,
    "classical": part_classical.classical,
    "anytime": part_series.anytime,
    "ablation": part_series.ablation,
    "seeds": part_series.seeds,
    "memory": part_series.memory,
    "scaling": part_series.scaling,
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the parts asked for; return 1 if any run failed or any packing broke a rule, else 0."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    options = read_options(given)
    runner = Runner(isolated=not options.quick)
    print(heading(given))
    with tempfile.TemporaryDirectory() as scratch:
        for name in options.parts:
            print(f"\n## {name}\n\n{PARTS[name](options, runner, Path(scratch))}", flush=True)
    if runner.faults:
        print("\n## faults\n")
        print("\n".join(f"- {fault}" for fault in runner.faults))
    return 1 if runner.faults else 0
