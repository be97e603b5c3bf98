"""The command line of the benchmarks."""

from __future__ import annotations

import argparse
import fnmatch
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

PARTS = ("weeks", "classical", "anytime", "ablation", "seeds", "memory", "scaling")


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What to measure and how long.

    ``seeds`` is None where the part's usual number holds. ``quick`` shrinks every part to a miniature of about a second
    that shows only that it works. ``weeks`` are name patterns; ``instances`` is the most taken of each classical set.
    """

    data: Path | None = None
    parts: tuple[str, ...] = PARTS
    seconds: float = 10.0
    seeds: int | None = None
    cores: int = 1
    quick: bool = False
    weeks: tuple[str, ...] = ("*",)
    instances: int | None = None
    library: bool = True

    def wants_week(self, name: str) -> bool:
        """Return whether a week of that name was asked for."""
        return any(fnmatch.fnmatchcase(name, pattern) for pattern in self.weeks)

    def seeds_or(self, usual: int) -> range:
        """Return the seeds to run: as many as asked for, else the usual number."""
        return range(1 if self.quick else self.seeds or usual)


def positive(text: str) -> float:
    """Return a number above zero."""
    value = float(text)
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"must be above 0, got {text}")
    return value


def count(text: str) -> int:
    """Return a whole number of at least one."""
    value = int(text)
    if value < 1:
        raise argparse.ArgumentTypeError(f"must be 1 or more, got {text}")
    return value


def part_names(text: str) -> tuple[str, ...]:
    """Return the parts named, in the order they always run in."""
    named = {word.strip() for word in text.split(",")}
    if unknown := sorted(named - set(PARTS)):
        raise argparse.ArgumentTypeError(f"no part {', '.join(unknown)}; the parts are {', '.join(PARTS)}")
    return tuple(part for part in PARTS if part in named)


def folder(text: str) -> Path:
    """Return an existing folder."""
    path = Path(text)
    if not path.is_dir():
        raise argparse.ArgumentTypeError(f"no folder {text}")
    return path.resolve()


def read_options(arguments: Sequence[str] | None = None) -> Options:
    """Return the options of a command line; exits with a message where it is wrong."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description="Measure the engine.")
    parser.add_argument("--data", type=folder, metavar="DIR", help="folder with weeks/ and rect/ (made)")
    parser.add_argument("--only", type=part_names, default=PARTS, metavar="PART,…", help=", ".join(PARTS))
    parser.add_argument("--seconds", type=positive, default=10.0, metavar="S", help="time limit of a run (10)")
    parser.add_argument("--seeds", type=count, metavar="N", help="seeds a run is repeated with (3; part seeds 5)")
    parser.add_argument("--cores", type=count, default=1, metavar="N", help="cores an engine run may use (1)")
    parser.add_argument("--quick", action="store_true", help="a miniature of about a second a part")
    parser.add_argument("--weeks", default="*", metavar="PATTERN,…", help="only weeks of these names, such as pouch-*")
    parser.add_argument("--instances", type=count, metavar="N", help="at most so many of each classical set")
    parser.add_argument("--no-library", action="store_true", help="leave the comparison with rectpack out")
    got = parser.parse_args(arguments)
    return Options(
        data=got.data,
        parts=got.only,
        seconds=got.seconds,
        seeds=got.seeds,
        cores=got.cores,
        quick=got.quick,
        weeks=tuple(got.weeks.split(",")),
        instances=got.instances,
        library=not got.no_library,
    )
