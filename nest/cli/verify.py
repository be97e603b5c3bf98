"""What `nest verify` does: the independent check on a plan file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.check.opinion import RULES, check_plan
from nest.cli.streams import show
from nest.domain.job import Need
from nest.intake.week import read_week
from nest.output.inputs_file import NAME, Inputs, load_inputs
from nest.output.plan_file import load_plan
from nest.output.words import counted

if TYPE_CHECKING:
    from pathlib import Path

HOLDS, BROKEN = 0, 1


def verify_plan(path: Path, week: tuple[Path, Path] | None, *, use_reserve: bool) -> int:
    """Check a plan against its inputs and print the result; return the exit code.

    Parameters
    ----------
    path
        The plan file.
    week
        Jobs and room to check against; None for the inputs kept beside the plan.
    use_reserve
        Whether the plan may draw the reserve; inputs kept beside the plan say so themselves.

    Raises
    ------
    InputError
        If plan or inputs cannot be read.
    """
    plan = load_plan(path)
    inputs = load_inputs(path.parent / NAME) if week is None else _read(week)
    found = check_plan(
        plan, inputs.rows, inputs.room, use_reserve=use_reserve or inputs.use_reserve, standing=inputs.standing
    )
    if found:
        lines = "".join(f"  {violation}\n" for violation in found)
        show(f"{path}: breaks {counted(len(found), 'rule')}\n{lines}")
        return BROKEN
    totals = plan.totals
    left = {need: sum(row.copies for row in plan.unplaced if row.need is need) for need in Need}
    show(
        f"{path}: holds, {len(RULES)} checks passed on {counted(totals.sheets, 'sheet')}, "
        f"{counted(totals.plates, 'plate')}, {counted(totals.pieces, 'piece')} "
        f"({left[Need.MUST]} not placed, {left[Need.FILL]} fill left over)\n"
    )
    return HOLDS


def _read(week: tuple[Path, Path]) -> Inputs:
    rows, room = read_week(*week)
    return Inputs(rows=rows, room=room)
