"""The same week gives the same bytes whatever surrounds the program."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import partial
from typing import TYPE_CHECKING

import pytest

from nest.cli.demo import demo_files

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

WORK = "25"
USUAL = {"PYTHONHASHSEED": "1", "LC_ALL": "C.UTF-8"}


def locales() -> list[str]:
    """Return the installed locales other than C and POSIX, as many as one test should try."""
    listed = subprocess.run(["locale", "-a"], capture_output=True, text=True, check=False).stdout.split()
    return [name for name in listed if name not in ("C", "POSIX") and not name.startswith("C.")][:2]


def written(
    week: Path, out: Path, surroundings: Mapping[str, str], cwd: Path, before: Callable[[], None] | None = None
) -> dict[str, bytes]:
    """Plan the demo week in a process of its own; return every file it wrote."""
    command = [sys.executable, "-m", "nest", "plan", str(week / "jobs.csv"), "--room", str(week / "room.toml")]
    done = subprocess.run(
        [*command, "--out", str(out), "--work-limit", WORK, "--seed", "5"],
        env={**os.environ, **surroundings},
        cwd=cwd,
        preexec_fn=before,
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr.decode()
    return {path.name: path.read_bytes() for path in sorted(out.iterdir())}


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("week")
    for name, text in demo_files().items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def usual(week: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    files = written(week, tmp_path_factory.mktemp("usual") / "out", USUAL, week)
    assert {"plan.json", "guide-S01.svg", "yield.csv", "jobs.csv"} <= set(files)
    return files


@pytest.mark.parametrize("seed", ["0", "2", "77", "random"])
def test_hash_seeds_change_no_byte(seed: str, week: Path, usual: dict[str, bytes], tmp_path: Path) -> None:
    assert written(week, tmp_path / "out", {**USUAL, "PYTHONHASHSEED": seed}, week) == usual


@pytest.mark.parametrize("name", ["C", "POSIX", *locales()])
def test_locales_change_no_byte(name: str, week: Path, usual: dict[str, bytes], tmp_path: Path) -> None:
    assert written(week, tmp_path / "out", {**USUAL, "LC_ALL": name, "LANG": name}, week) == usual


def test_the_working_folder_changes_no_byte(week: Path, usual: dict[str, bytes], tmp_path: Path) -> None:
    elsewhere = tmp_path / "else where"
    elsewhere.mkdir()
    assert written(week, tmp_path / "out", {**USUAL, "TZ": "Pacific/Auckland"}, elsewhere) == usual


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="this system does not bind processes to cores")
@pytest.mark.parametrize("count", [1, 2])
def test_the_number_of_cores_changes_no_byte(
    count: int, week: Path, usual: dict[str, bytes], tmp_path: Path
) -> None:
    cores = sorted(os.sched_getaffinity(0))
    if len(cores) < count:
        pytest.skip(f"this machine has fewer than {count} cores")
    bind = partial(os.sched_setaffinity, 0, cores[:count])
    threads = {"OMP_NUM_THREADS": str(count), "NUMBA_NUM_THREADS": str(count)}
    assert written(week, tmp_path / "out", {**USUAL, **threads}, week, bind) == usual


def test_another_seed_is_stated_in_the_plan(week: Path, usual: dict[str, bytes], tmp_path: Path) -> None:
    assert b'"seed": 5,' in usual["plan.json"]
    command = [sys.executable, "-m", "nest", "plan", str(week / "jobs.csv"), "--room", str(week / "room.toml")]
    subprocess.run([*command, "--out", str(tmp_path), "--work-limit", WORK, "--seed", "6"], check=True,
                   capture_output=True, timeout=300)  # fmt: skip
    assert b'"seed": 6,' in (tmp_path / "plan.json").read_bytes()
