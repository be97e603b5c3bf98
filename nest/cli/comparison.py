"""What `nest compare` does: two plans side by side, as text and as a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.plan_folder import plan_file
from nest.cli.streams import show, tell
from nest.errors import OutputError
from nest.output.comparison.facts import compared
from nest.output.comparison.text import comparison_html, comparison_text
from nest.output.plan_file import load_plan
from nest.output.write import write_files

if TYPE_CHECKING:
    from pathlib import Path

DONE = 0


def compare_plans(first: Path, second: Path, html: Path | None) -> int:
    """Print two plans side by side and write them as a page where one is asked for; return the exit code.

    Raises
    ------
    InputError
        If a plan cannot be read.
    OutputError
        If the page cannot be written or would overwrite a plan.
    """
    files = [plan_file(path) for path in (first, second)]
    plans = [load_plan(file) for file in files]
    told = compared(plans[0], plans[1], (str(first), str(second)))
    if html is not None:
        _write(html, comparison_html(told), files)
    show(comparison_text(told))
    if html is not None:
        tell(f"written to {html}")
    return DONE


def _write(html: Path, text: str, plans: list[Path]) -> None:
    if html.exists() and any(html.samefile(plan) for plan in plans):
        raise OutputError(f"{html}: is one of the plans and would be overwritten; choose another file with --html")
    if html.is_dir():
        raise OutputError(f"{html}: is a folder; give a file such as {html / 'compare.html'} with --html")
    write_files(html.parent, {html.name: text})
