"""What `nest labels` does: labels of a plan's pieces and plates on pages of a grid."""

from __future__ import annotations

from dataclasses import dataclass
from shlex import quote
from typing import TYPE_CHECKING

import click

from nest.cli.plan_folder import plan_file, planned
from nest.cli.streams import show
from nest.output.guide import plan_key
from nest.output.labels.grid import LabelGrid
from nest.output.labels.pages import NAME, label_pages, labels_html, labels_svg
from nest.output.words import counted
from nest.output.write import write_files

if TYPE_CHECKING:
    from pathlib import Path

DONE = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRequest:
    """What to print, as asked for on the command line; lengths in mm."""

    what: str
    grid: tuple[float, float]
    paper: tuple[float, float]
    cell: tuple[float, float] | None
    margin: tuple[float, float]
    gap: tuple[float, float]
    start: int
    lines: bool
    svg: bool


def write_labels(path: Path, out: Path | None, request: LabelRequest) -> int:
    """Write the labels of a plan beside it, or into ``out``; return the exit code.

    Raises
    ------
    click.UsageError
        If the grid does not fit its paper; nothing is written.
    InputError
        If plan or inputs cannot be read.
    OutputError
        If the folder cannot be written.
    """
    plan, inputs = planned(path)
    try:
        grid = LabelGrid(
            columns=int(request.grid[0]), rows=int(request.grid[1]), paper=request.paper, cell=request.cell,
            margin=request.margin, gap=request.gap,
        )  # fmt: skip
        pages = label_pages(
            plan, inputs.room, inputs.rows, grid, plan_key(plan),
            pieces=request.what != "plates", plates=request.what != "pieces", start=request.start,
        )  # fmt: skip
    except ValueError as fault:
        raise click.UsageError(f"{fault}; nothing written") from fault
    files = {NAME: labels_html(pages, plan_key(plan), lines=request.lines)}
    if request.svg:
        files |= labels_svg(pages, lines=request.lines)
    folder = plan_file(path).parent if out is None else out
    write_files(folder, files)
    labels = sum(len(one.cells) for one in pages)
    also = f" and {counted(len(files) - 1, 'SVG drawing')}" if request.svg else ""
    size = f"{grid.size[0]:.4g} x {grid.size[1]:.4g} mm each"
    told = f"{counted(labels, 'label')} on {counted(len(pages), 'page')}, {size}"
    show(f"{told}: {quote(str(folder / NAME))}{also}; print at 100 %\n")
    return DONE
