"""Markdown tables and the lines above them: machine, versions, command line."""

from __future__ import annotations

import os
import platform
import shlex
import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

PACKAGES = ("nest", "numpy", "numba", "highspy", "rectpack")


def cell(value: object) -> str:
    """Return a value as a table cell; None is a dash."""
    if value is None:
        return "-"
    return str(value).replace("|", "\\|")


def number(value: float | None, digits: int = 2) -> str | None:
    """Return a number with so many decimals, None for none."""
    return None if value is None else f"{value:.{digits}f}"


def percent(share: float | None, digits: int = 1) -> str | None:
    """Return a share as a percentage, None for none."""
    return None if share is None else f"{100 * share:.{digits}f} %"


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a markdown table; all columns but the first are aligned right."""
    lines = ["| " + " | ".join(head) + " |", "|" + "|".join(["---", *["--:"] * (len(head) - 1)]) + "|"]
    lines += ["| " + " | ".join(cell(value) for value in row) + " |" for row in rows]
    return "\n".join(lines)


def processor() -> str:
    """Return the processor's model name, as far as the system tells."""
    info = Path("/proc/cpuinfo")
    if info.is_file():
        for line in info.read_text(encoding="utf-8", errors="replace").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine() or "unknown"


def package_versions() -> str:
    """Return the versions a measurement hangs on; packages that are not installed are named as such."""
    out = [f"python {platform.python_version()}"]
    for name in PACKAGES:
        try:
            out.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            out.append(f"{name} not installed")
    return ", ".join(out)


def command_line(arguments: Sequence[str]) -> str:
    """Return the command as typed, with the data folder's place left out."""
    shown = list(arguments)
    for at, word in enumerate(shown):
        if word == "--data" and at + 1 < len(shown):
            shown[at + 1] = "DIR"
        elif word.startswith("--data="):
            shown[at] = "--data=DIR"
    return shlex.join(["python", "-m", "tests.bench", *shown])


def heading(arguments: Sequence[str]) -> str:
    """Return the lines that say what was run where."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return "\n".join((
        "# Benchmarks",
        "",
        f"- command: `{command_line(arguments)}`",
        f"- machine: {cores} cores, {processor()}, {platform.system()} {platform.machine()}",
        f"- versions: {package_versions()}",
    ))


def say(text: str) -> None:
    """Tell of progress on standard error."""
    print(text, file=sys.stderr, flush=True)
