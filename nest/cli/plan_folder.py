"""A plan named on the command line: the folder it was written to, or its plan.json."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.folder import PLAN
from nest.output.inputs_file import NAME, Inputs, load_inputs
from nest.output.plan_file import load_plan

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.plan import Plan


def plan_file(path: Path) -> Path:
    """Return the plan file of a folder, or the path as given."""
    return path / PLAN if path.is_dir() else path


def planned(path: Path) -> tuple[Plan, Inputs]:
    """Read a plan and the inputs kept beside it.

    Raises
    ------
    InputError
        If either cannot be read.
    """
    file = plan_file(path)
    return load_plan(file), load_inputs(file.parent / NAME)
