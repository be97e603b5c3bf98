"""Options that several commands share, the same everywhere."""

from __future__ import annotations

import math
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from nest.domain.calendar import WEEK_DAYS

if TYPE_CHECKING:
    from collections.abc import Callable

    Command = Callable[..., int]

MOST_SEED = 2**32 - 1
MOST_WORK = 10**12
MOST_CORES = 1024


def above_zero(_context: click.Context, option: click.Parameter, value: float | None) -> float | None:
    """Return a time limit as given.

    Raises
    ------
    click.BadParameter
        If it is not a finite number above 0.
    """
    if value is not None and not (math.isfinite(value) and value > 0):
        raise click.BadParameter(f"{value} is not a number of seconds above 0.", param=option)
    return value


PATH = click.Path(path_type=Path)

jobs_argument = click.argument("jobs", type=PATH)
room_option = click.option("--room", type=PATH, required=True, metavar="ROOM", help="The room file (TOML).")
out_option = click.option(
    "--out", type=PATH, default=Path("out"), show_default=True, metavar="DIR", help="Folder for the files of the plan."
)
reserve_option = click.option("--use-reserve", is_flag=True, help="Also draw the sheets kept back for remakes.")
json_option = click.option(
    "--json", "as_json", is_flag=True,
    help="Print plan.json's document instead of the summary, and errors as one JSON document.",
)  # fmt: skip


stock_option = click.option(
    "--stock", type=PATH, metavar="LEDGER", help="Draw from this ledger of the store (see nest stock)."
)


def iso_day(_context: click.Context, option: click.Parameter, value: str | None) -> date | None:
    """Return a day as given.

    Raises
    ------
    click.BadParameter
        If it is no ISO date.
    """
    if value is None:
        return None
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(f"{value!r} is no date such as 2027-06-30.", param=option) from None


day_option = click.option(
    "--on", callback=iso_day, metavar="DAY", help="The day it counts for, such as 2027-03-01.  [default: today]"
)


def iso_moment(_context: click.Context, option: click.Parameter, value: str | None) -> datetime | None:
    """Return a day and time as given; a day alone begins at 06:00.

    Raises
    ------
    click.BadParameter
        If it is neither.
    """
    if value is None:
        return None
    try:
        moment = datetime.fromisoformat(value.strip())
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is not None:
        raise click.BadParameter(f"{value!r} is no day or time such as 2027-03-01T06:00.", param=option) from None
    return moment if len(value.strip()) > len("2027-03-01") else datetime.combine(moment.date(), time(6))


first_option = click.option(
    "--from", "first_day", callback=iso_day, metavar="DAY",
    help="The first day of the room's calendar.  [default: the day of the first date in the jobs]",
)  # fmt: skip


def week_days(_context: click.Context, option: click.Parameter, values: tuple[str, ...]) -> tuple[tuple[int, ...], ...]:
    """Return lists of days of the week, Monday as 0.

    Raises
    ------
    click.BadParameter
        If a word is no day.
    """
    found = []
    for value in values:
        words = [word.strip().casefold()[:3] for word in value.split(",")]
        wrong = [word for word in words if word not in WEEK_DAYS]
        if wrong:
            raise click.BadParameter(f"{wrong[0]!r} is no day of {', '.join(WEEK_DAYS)}.", param=option)
        found.append(tuple(sorted({WEEK_DAYS.index(word) for word in words})))
    return tuple(found)


def row_slip(_context: click.Context, option: click.Parameter, value: str | None) -> tuple[str, str | None] | None:
    """Return a job and, if one is named, its separation.

    Raises
    ------
    click.BadParameter
        If no job is named.
    """
    if value is None:
        return None
    job, _, separation = value.partition("/")
    if not job.strip():
        raise click.BadParameter(f"{value!r} names no job; write JOB or JOB/SEPARATION.", param=option)
    return job.strip(), separation.strip() or None


def search_options(command: Command) -> Command:
    """Add the options that steer a search: time limit, work limit, seed."""
    for option in (
        click.option("--seed", type=click.IntRange(0, MOST_SEED), default=0, show_default=True, metavar="N",
                     help="Start of the random choices; another seed may find another plan."),
        click.option("--work-limit", type=click.IntRange(1, MOST_WORK), metavar="N",
                     help="How long to search. One unit is 1,000 attempts of the inner loops to place one piece. "
                          "The default grows with the week. The same input, seed and limit give the same plan."),
        click.option("--effort", type=click.Choice(["quick", "normal", "thorough"]),
                     help="How long to search: about a sixth of the usual work, the usual, six times as much."),
        click.option("--cores", type=click.IntRange(1, MOST_CORES), metavar="N",
                     help="Use at most N cores, two by default where there are two. The plan does not depend on it."),
        click.option("--time-limit", type=float, callback=above_zero, metavar="S",
                     help="Have the checked plan after S seconds, without a work limit unless one is given; guides and "
                          "report are drawn after that. Such a plan may differ from run to run."),
    ):  # fmt: skip
        command = option(command)
    return command


REASONS = ("imaging", "wash", "scratch", "mounting", "customer")
"""Where a piece may be damaged; `nest.revise.remake.Reason`, which is not loaded for the sake of help."""
plan_argument = click.argument("plan", type=PATH)


def sheet_ids(_context: click.Context, _option: click.Parameter, value: str | None) -> frozenset[str]:
    """Return the sheet ids of a list with commas."""
    return frozenset(word.strip() for word in value.split(",")) if value else frozenset()


def amount(_context: click.Context, option: click.Parameter, value: float | None) -> float | None:
    """Return an amount of money as given.

    Raises
    ------
    click.BadParameter
        If it is not a finite number of at least 0.
    """
    if value is not None and not (math.isfinite(value) and value >= 0):
        raise click.BadParameter(f"{value} is not an amount of at least 0.", param=option)
    return value


def revision_options(command: Command) -> Command:
    """Add the options of commands that revise a plan: sheets released, folder, seed, work limit, dry run, JSON."""
    for option in (
        click.option("--json", "as_json", is_flag=True,
                     help="Print revision.json's document instead of words, and errors as one JSON document."),
        click.option("--dry-run", is_flag=True, help="Say what would change and write nothing."),
        click.option("--work-limit", type=click.IntRange(1, MOST_WORK), metavar="N",
                     help="How long to search, in 1,000 attempts to place one piece. The default grows with the plan."),
        click.option("--seed", type=click.IntRange(0, MOST_SEED), metavar="N",
                     help="Start of the random choices.  [default: the plan's]"),
        click.option("--out", type=PATH, metavar="DIR", help="Folder for the files.  [default: the plan's own]"),
        click.option("--released", callback=sheet_ids, metavar="S01,…",
                     help="Sheets given out to be made; those of earlier revisions are known."),
        day_option,
        click.option("--from", "since", callback=iso_day, metavar="DAY",
                     help="The first day plates can still be made on; earlier batches are over."),
        stock_option,
        click.option("--room", type=PATH, metavar="ROOM",
                     help="The room as it is now, its stock without what released sheets took.  "
                          "[default: the room of the plan]"),
    ):  # fmt: skip
        command = option(command)
    return command


def forecast_options(command: Command) -> Command:
    """Add the options of a simulation of coming weeks."""
    for option in (
        click.option("--out", type=PATH, default=Path("forecast"), show_default=True, metavar="DIR",
                     help="Folder for the files."),
        click.option("--cluster", metavar="ADDRESS",
                     help="Work on a cluster: its scheduler's address; needs the extra 'cluster'."),
        click.option("--cores", type=click.IntRange(1, MOST_CORES), metavar="N",
                     help="Use at most N cores.  [default: all]"),
        click.option("--seed", type=click.IntRange(0, MOST_SEED), default=0, show_default=True, metavar="N",
                     help="Start of the random choices; the same seed gives the same figures, whoever works."),
        click.option("--checks", type=click.IntRange(0), default=12, show_default=True, metavar="N",
                     help="Nest N weeks a second time by a long search, to correct what the short one draws."),
        click.option("--work-limit", type=click.IntRange(1, MOST_WORK), metavar="N",
                     help="How long to search for each week's plan.  [default: grows with the week]"),
        click.option("--rack-limit", type=click.IntRange(0), metavar="N",
                     help="Offcuts the rack holds; those worth least are scrapped.  [default: no limit]"),
        click.option("--offcut-weeks", type=click.IntRange(1), default=26, show_default=True, metavar="N",
                     help="Scrap an offcut N weeks after it was kept."),
        click.option("--block", type=click.IntRange(1), metavar="N",
                     help="Draw past weeks in blocks of N.  [default: cube root of their number]"),
        click.option("--remake-rate", type=click.FloatRange(0.0, 1.0), metavar="SHARE",
                     help="Share of pieces made again, such as 0.02.  [default: that of the history, else 0.02]"),
        click.option("--paths", type=click.IntRange(1), default=200, show_default=True, metavar="N",
                     help="How many times to simulate them."),
        click.option("--weeks", type=click.IntRange(1, 520), default=13, show_default=True, metavar="N",
                     help="Weeks ahead."),
        click.option("--no-back-test", is_flag=True,
                     help="Do not hold forecasts made in the past against what came; saves their time."),
        day_option,
        stock_option,
    ):  # fmt: skip
        command = option(command)
    return command


def quote_options(command: Command) -> Command:
    """Add the options of a quote: a job's columns as typed, and where the yield comes from."""
    for option in (
        click.option("--yield-from", type=PATH, metavar="PATH",
                     help="The yield of the last weeks: a demand file of nest forecast, or a folder of plans."),
        click.option("--yield", "job_yield", type=click.FloatRange(0.0, 1.0, min_open=True), metavar="SHARE",
                     help="The share of the sheets that becomes pieces, such as 0.78."),
        click.option("--at-plate-size", flag_value="yes", default=None, help="The image is shortened already."),
        click.option("--border", metavar="LENGTH", help="Floor border on every side.  [default: the material's]"),
        click.option("--copies", metavar="N", help="Copies of each separation.  [default: 1]"),
        click.option("--teeth", metavar="N", help="Gear teeth of the cylinder, by the room's pitch."),
        click.option("--repeat", metavar="LENGTH", help="Printing repeat."),
        click.option("--around", metavar="LENGTH", help="Image size around."),
        click.option("--across", metavar="LENGTH", help="Image size across."),
        click.option("--colours", metavar="N or NAMES", help="Number of separations, or their names with commas.  "
                                                              "[default: 1]"),
        click.option("--material", metavar="NAME", help="Material of the room file."),
        click.option("--job", metavar="NAME", help="Name of the job.  [default: quote]"),
    ):  # fmt: skip
        command = option(command)
    return command
