"""What `nest print` does: the guides of a plan as PDF, its cutting lines as DXF."""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING

from nest.cli.streams import show
from nest.errors import Fault, InputError
from nest.output.dxf import dxf_files
from nest.output.guide import View, drawn_guides
from nest.output.inputs_file import NAME, load_inputs
from nest.output.pdf import Size, pdf_bytes
from nest.output.plan_file import load_plan
from nest.output.views.facing import Side, sides_of
from nest.output.words import counted
from nest.output.write import write_files

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from nest.domain.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Printing:
    """What to print of a plan and where to, as asked for on the command line; empty choices are all of them."""

    plan: Path
    pdf: Path | None = None
    dxf: Path | None = None
    size: str = "fit"
    views: Sequence[str] = ()
    sheets: Sequence[str] = ()
    side: str | None = None


def print_plan(wanted: Printing) -> int:
    """Write the PDF and the DXF drawings asked for and say what was written; return the exit code.

    Raises
    ------
    InputError
        If plan or inputs cannot be read, or a sheet is not in the plan; nothing is written.
    MissingExtra
        If a library is not installed; nothing is written.
    OutputError
        If the file or folder cannot be written; what was there before stands.
    """
    plan = load_plan(wanted.plan)
    inputs = load_inputs(wanted.plan.parent / NAME)
    _check_sheets(plan, wanted)
    guides = inputs.room.guides
    sides = sides_of(guides) if wanted.side is None else _sides(wanted.side)
    sheets = wanted.sheets or None
    said = []
    made: bytes | None = None
    if wanted.pdf is not None:
        views = [view for view in View if not wanted.views or view.value in wanted.views]
        drawn = drawn_guides(plan, inputs.room, inputs.rows, views=views, sheets=sheets, sides=sides)
        made = pdf_bytes(drawn, guides.paper, Size(wanted.size))
    drawings = {} if wanted.dxf is None else dxf_files(plan, inputs.room, inputs.rows, sides, sheets)
    if wanted.pdf is not None and made is not None:
        write_files(wanted.pdf.parent, {wanted.pdf.name: made}, "--pdf")
        said.append(f"{quote(str(wanted.pdf))}: print at 100 %, then measure the 100 mm line at the foot of a page\n")
    if wanted.dxf is not None:
        write_files(wanted.dxf, drawings, "--dxf")
        said.append(f"{quote(str(wanted.dxf))}: {counted(len(drawings), 'drawing')}, DXF R2010 in mm\n")
    show("".join(said))
    return 0


def _sides(word: str) -> tuple[Side, ...]:
    return tuple(Side) if word == "both" else (Side(word),)


def _check_sheets(plan: Plan, wanted: Printing) -> None:
    known = [sheet.id for sheet in plan.sheets]
    faults = tuple(
        Fault(file=str(wanted.plan), where="--sheet", rule="must be a sheet of the plan", got=name,
              remedy=f"choose among {', '.join(known[:20])}{', …' if len(known) > 20 else ''}")
        for name in wanted.sheets if name not in known
    )  # fmt: skip
    if faults:
        raise InputError(faults)
