"""The folder of a plan: judged before the search begins, filled in one go after it."""

from __future__ import annotations

import tempfile
from shlex import quote
from typing import TYPE_CHECKING

from nest.errors import OutputError
from nest.output.batches import NAME as CALENDAR
from nest.output.batches import calendar_csv
from nest.output.guide import guides
from nest.output.inputs_file import NAME as INPUTS
from nest.output.inputs_file import Inputs, dump_inputs
from nest.output.plan_file import dump_plan
from nest.output.report.page import NAME as REPORT
from nest.output.report.page import report_page
from nest.output.summary import summary_text
from nest.output.tables import jobs_csv, yield_csv

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from nest.pipeline import Outcome

PLAN, YIELD, JOBS, SUMMARY = "plan.json", "yield.csv", "jobs.csv", "summary.txt"
ANOTHER = "choose another folder with --out"
SHARES_HEAD = "job,pieces,piece_m2,share,"
"""How a table of shares begins, so that it is told from a jobs file of the same name."""


def check_folder(folder: Path, inputs: Iterable[Path]) -> None:
    """Check that a plan's files can be written into a folder and that none of them is somebody's input.

    Parameters
    ----------
    folder
        The folder, which need not exist yet.
    inputs
        Files the plan is made from.

    Raises
    ------
    OutputError
        If not; nothing has been written.
    """
    for path in inputs:
        for name in (PLAN, REPORT, YIELD, JOBS, CALENDAR, SUMMARY, INPUTS):
            if (folder / name).exists() and (folder / name).samefile(path):
                raise OutputError(f"{path}: the plan's own {name} would overwrite it; {ANOTHER}")
    shares = folder / JOBS
    if shares.is_file() and not _is_shares(shares):
        raise OutputError(f"{shares}: is no plan's table of shares and would be overwritten; {ANOTHER} or move it away")
    place = folder.absolute()
    while not place.exists():
        place = place.parent
    try:
        with tempfile.TemporaryFile(dir=place):
            pass
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise OutputError(f"{folder}: cannot write: {reason}; {ANOTHER}; nothing written") from fault


def _is_shares(path: Path) -> bool:
    head = SHARES_HEAD.encode()
    try:
        with path.open("rb") as stream:
            return stream.read(len(head)) == head
    except OSError:
        return False


def plan_files(outcome: Outcome, inputs: Inputs, places: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return the text of every file of a plan by its name; ``places`` says where stock lies, by the id of its line."""
    plan, rows, room = outcome.plan, inputs.rows, inputs.room
    calendar = {CALENDAR: calendar_csv(plan, room, rows)} if plan.calendar is not None else {}
    return {
        PLAN: dump_plan(plan),
        REPORT: report_page(plan, room, rows, outcome.shares, outcome.others, places),
        **guides(plan, room, rows),
        YIELD: yield_csv(plan, room.unit),
        JOBS: jobs_csv(outcome.shares, plan),
        **calendar,
        SUMMARY: summary_text(plan, room, rows, outcome.shares),
        INPUTS: dump_inputs(inputs),
    }


def by_sheet(name: str) -> list[str]:
    """Return a key that sorts a sheet's own guide before its views, and these before the next sheet's."""
    return name.removesuffix(".svg").split("-")


def written_words(folder: Path, names: Iterable[str]) -> str:
    """Return which files stand in the folder, on one line."""
    names = set(names)
    drawn = sorted((name for name in names if name.startswith("guide-")), key=by_sheet)
    first = drawn[0] if drawn else ""
    more = f"{CALENDAR}, " if CALENDAR in names else ""
    words = {0: "no guides", 1: first}.get(len(drawn), f"{first} and {len(drawn) - 1} more guides")
    return f"written to {quote(str(folder))}: {PLAN}, {REPORT}, {words}, {YIELD}, {JOBS}, {more}{SUMMARY}, {INPUTS}"
