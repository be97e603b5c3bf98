"""The commands: each reads its options, hands over, and returns an exit code."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from nest.cli.buying_app import buy, sizes
from nest.cli.options import (
    MOST_CORES,
    MOST_SEED,
    MOST_WORK,
    PATH,
    REASONS,
    amount,
    day_option,
    first_option,
    forecast_options,
    iso_moment,
    jobs_argument,
    json_option,
    out_option,
    plan_argument,
    quote_options,
    reserve_option,
    revision_options,
    room_option,
    row_slip,
    search_options,
    sheet_ids,
    stock_option,
    week_days,
)
from nest.cli.sizes import label_options
from nest.cli.stock_app import release, stock

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

EXAMPLE = "\b\nExample:\n  "
EXITS = """\b
Exit codes:
  0    all pieces that must be made are placed
  1    a fault of our own, or a plan that fails the check
  2    wrong use or input; nothing is written
  3    some pieces that must be made are not placed
  4    store trouble
  130  interrupted
"""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}, epilog=EXITS)
@click.version_option(package_name="nest", prog_name="nest")
def cli() -> None:
    """Plan a plate room's week: which sheets to draw, how to cut them, which separations share a plate.

    Start with: nest demo
    """


@cli.command(
    short_help="Plan an invented week and say what to open.",
    epilog=EXAMPLE + "nest demo --out out",
)
@out_option
@click.option("--history", is_flag=True, help="Write the room's past 26 weeks instead, to forecast from.")
def demo(out: Path, history: bool) -> int:
    """Plan an invented week and say what to open; with --history write past weeks and say what to do with them."""
    from nest.cli.demo import plan_demo, write_history

    return write_history(out) if history else plan_demo(out)


@cli.command(
    short_help="Plan a week; write plan, cutting guides and figures.",
    epilog=EXAMPLE + "nest plan jobs.csv --room room.toml --out out",
)
@jobs_argument
@room_option
@out_option
@search_options
@reserve_option
@stock_option
@day_option
@first_option
@json_option
def plan(jobs: Path, room: Path, out: Path, as_json: bool, **search: Any) -> int:
    """Plan the week in JOBS (CSV or XLSX) and write the plan, its guides and its figures.

    With --stock the sheets and offcuts come from that ledger instead of the room file, and the plan can be released.

    Every plan is checked independently before anything is written. Ctrl-C writes the best checked plan so far; a
    second Ctrl-C stops at once and writes nothing.
    """
    from nest.cli.planning import Request, plan_week

    if search["on"] is not None and search["stock"] is None:
        raise click.UsageError("--on goes with --stock: without a ledger a plan reads no date")
    return plan_week(Request(jobs=jobs, room=room, out=out, as_json=as_json, **search))


@cli.command(
    short_help="Read jobs and room and report every fault.",
    epilog=EXAMPLE + "nest check jobs.csv --room room.toml",
)
@jobs_argument
@room_option
def check(jobs: Path, room: Path) -> int:
    """Read JOBS and the room, report every fault at once, and say what was read; plan nothing."""
    from nest.cli.inspection import check_inputs

    return check_inputs(jobs, room)


@cli.command(
    name="what-if",
    short_help="Plan the week on other rhythms, or with a row approved later.",
    epilog=EXAMPLE + "nest what-if jobs.csv --room room.toml",
)
@jobs_argument
@room_option
@click.option("--days", "rhythms", multiple=True, callback=week_days, metavar="mon,thu",
              help="A further rhythm: batches on these days only; give it once for each.")
@click.option("--slip", callback=row_slip, metavar="JOB[/SEPARATION]",
              help="Ask instead what it costs if this job or separation is approved later.")
@click.option("--by", "slip_days", type=click.FloatRange(0, 365, min_open=True), default=1.0, show_default=True,
              metavar="DAYS", help="By how many days it slips.")
@first_option
@click.option("--seed", type=click.IntRange(0, MOST_SEED), default=0, show_default=True, metavar="N",
              help="Start of the random choices.")
@click.option("--work-limit", type=click.IntRange(1, MOST_WORK), metavar="N",
              help="How long to search for each case, in 1,000 attempts to place one piece.")
@click.option("--effort", type=click.Choice(["quick", "normal", "thorough"]), help="How long to search for each case.")
@click.option("--cores", type=click.IntRange(1, MOST_CORES), metavar="N", help="Use at most N cores.")
@click.option("--csv", "as_csv", is_flag=True, help="Print a CSV table.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def what_if(jobs: Path, room: Path, **asked: Any) -> int:
    """Plan JOBS with a batch every day, twice a week and once a week, and say which to choose and why.

    The room needs a [calendar]. With --slip the week is planned as it is and with that job approved later. Nothing is
    written.
    """
    from nest.cli.what_if import WhatIf
    from nest.cli.what_if import what_if as ask

    return ask(WhatIf(jobs=jobs, room=room, **asked))


@cli.command(
    short_help="Check a plan by every rule.",
    epilog=EXAMPLE + "nest verify out/plan.json",
)
@click.argument("plan", type=PATH)
@click.option("--jobs", type=PATH, metavar="JOBS", help="Check against this jobs file; --room goes with it.")
@click.option("--room", type=PATH, metavar="ROOM", help="Check against this room file; --jobs goes with it.")
@reserve_option
def verify(plan: Path, jobs: Path | None, room: Path | None, use_reserve: bool) -> int:
    """Check PLAN (a plan.json) by every rule, independently of the code that made it.

    It is checked against inputs.json beside it, where the plan's own inputs are kept, or against --jobs and --room.
    """
    from nest.cli.verify import verify_plan

    if (jobs is None) != (room is None):
        raise click.UsageError("--jobs and --room go together")
    week = None if jobs is None or room is None else (jobs, room)
    return verify_plan(plan, week, use_reserve=use_reserve)


@cli.command(
    short_help="Print every row's cut size and wrap check.",
    epilog=EXAMPLE + "nest pieces jobs.csv --room room.toml",
)
@jobs_argument
@room_option
@click.option("--csv", "as_csv", is_flag=True, help="Print a CSV table at full precision.")
def pieces(jobs: Path, room: Path, as_csv: bool) -> int:
    """Print the piece each row of JOBS becomes: image, shortening, cut size, whether it goes round its cylinder."""
    from nest.cli.inspection import print_pieces

    return print_pieces(jobs, room, as_csv=as_csv)


@cli.command(
    short_help="Write labels for a plan's pieces and plates.",
    epilog=EXAMPLE + "nest labels out --grid 3x8",
)
@click.argument("plan", type=PATH)
@click.option("--what", type=click.Choice(["all", "pieces", "plates"]), default="all", show_default=True,
              help="Which labels.")
@label_options
@click.option("--out", type=PATH, metavar="DIR", help="Folder for the labels; else that of the plan.")
@click.option("--svg", is_flag=True, help="Also write an SVG drawing for each page.")
def labels(plan: Path, out: Path | None, **layout: Any) -> int:
    """Write labels for the pieces and plates of PLAN (its folder or plan.json) to print at 100 %.

    A page is a grid of equal labels. The arrow on a label runs from lead to tail.
    """  # fmt: skip
    from nest.cli.labels import LabelRequest, write_labels

    return write_labels(plan, out, LabelRequest(**layout))


@cli.command(
    short_help="Compare two plans: yield, cost, sheets, what moved.",
    epilog=EXAMPLE + "nest compare out/plan.json out2/plan.json --html compare.html",
)
@click.argument("first", type=PATH)
@click.argument("second", type=PATH)
@click.option("--html", type=PATH, metavar="FILE", help="Also write the comparison as a page.")
def compare(first: Path, second: Path, html: Path | None) -> int:
    """Compare the plans FIRST and SECOND (a plan's folder or its plan.json) and say what moved."""
    from nest.cli.comparison import compare_plans

    return compare_plans(first, second, html)


@cli.command(
    name="print",
    short_help="Print guides to PDF, cutting lines to DXF.",
    epilog=EXAMPLE + "nest print out/plan.json --pdf out/guides.pdf",
)
@click.argument("plan", type=PATH)
@click.option("--pdf", type=PATH, metavar="FILE", help="Write the guides to this PDF file; needs the extra 'pdf'.")
@click.option("--dxf", type=PATH, metavar="DIR", help="Write cutting lines for a knife table to this folder; needs the "
                                                      "extra 'dxf'.")  # fmt: skip
@click.option("--size", type=click.Choice(["fit", "tiles", "full"]), default="fit", show_default=True,
              help="PDF: each page reduced to fit the room's paper; so too, with what is cut along at full size on "
                   "several sheets behind it; or full size on large pages.")  # fmt: skip
@click.option("--view", "views", type=click.Choice(["sheet", "raw", "load", "finish"]), multiple=True,
              help="PDF: only this view; may be given several times.")  # fmt: skip
@click.option("--sheet", "sheets", metavar="ID", multiple=True, help="Only this sheet; may be given several times.")
@click.option("--side", type=click.Choice(["print", "base", "both"]), help="Seen from this side; default: the room's.")
def print_guides(plan: Path, pdf: Path | None, dxf: Path | None, **choices: Any) -> int:
    """Print the guides of PLAN (a plan.json) at exactly 100 %, and the cutting lines for a knife table.

    The room and the rows are read from inputs.json beside the plan.
    """
    from nest.cli.printing import Printing, print_plan

    if pdf is None and dxf is None:
        raise click.UsageError("give --pdf FILE, --dxf DIR or both")
    return print_plan(Printing(plan=plan, pdf=pdf, dxf=dxf, **choices))


@cli.command(
    short_help="Plan again while some sheets stay as they are.",
    epilog=EXAMPLE + "nest replan out --jobs jobs.csv --released S01,S02",
)
@plan_argument
@click.option("--jobs", type=PATH, required=True, metavar="JOBS", help="The jobs as they are now (CSV or XLSX).")
@revision_options
@click.option("--pin", callback=sheet_ids, metavar="S01,…", help="Sheets that stay as they are though not released.")
@click.option("--per-move", type=float, callback=amount, metavar="AMOUNT",
              help="What a piece that moves has to save, in the room's currency.  [default: 2.00]")
@reserve_option
def replan(plan: Path, jobs: Path, pin: frozenset[str], **options: Any) -> int:
    """Revise PLAN (a plan.json or its folder) for the rows of JOBS as they are now.

    Released and pinned sheets stay exactly as they are. On the others pieces stay where they lie; new and changed ones
    go into free areas, then rests, then further sheets, and pieces move only where that saves enough. The revised plan
    replaces the earlier one, unless --out names another folder.
    """
    from nest.cli.revising import ReplanRequest, replan_week

    return replan_week(ReplanRequest(plan=plan, jobs=jobs, pinned=pin, **options))


@cli.command(
    short_help="Make damaged pieces again.",
    epilog=EXAMPLE + "nest remake out --piece 2403/White --reason scratch",
)
@plan_argument
@click.option("--piece", "pieces", multiple=True, required=True, metavar="JOB/SEPARATION[/PART][#COPY]",
              help="A damaged piece; give it once for each.")
@click.option("--reason", type=click.Choice(REASONS), required=True, help="Where it was damaged.")
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), metavar="DATE",
              help="When it was damaged, such as 2027-03-01.  [default: today]")
@revision_options
def remake(plan: Path, pieces: tuple[str, ...], reason: str, day: datetime | None, **options: Any) -> int:
    """Make damaged pieces of PLAN (a plan.json or its folder) again and note them in remakes.csv beside it.

    The sheet of a damaged piece has been made, so it counts as released. The new piece goes into a free area of a
    sheet that is not, else into an offcut or a sheet, last of all into the reserve. Nothing else moves.
    """
    from nest.cli.revising import RemakeRequest, remake_pieces

    return remake_pieces(RemakeRequest(plan=plan, pieces=pieces, reason=reason, day=day, **options))


@cli.command(
    short_help="Tell how many pieces were made again, why, and what it cost.",
    epilog=EXAMPLE + "nest remakes out",
)
@click.argument("folders", type=PATH, nargs=-1, required=True, metavar="FOLDER...")
@click.option("--csv", "as_csv", is_flag=True, help="Print a CSV table.")
def remakes(folders: tuple[Path, ...], as_csv: bool) -> int:
    """Tell the rate of remakes and their cost by ISO week and reason, from the plan folders given."""
    from nest.cli.revising import print_remakes

    return print_remakes(folders, as_csv=as_csv)


@cli.command(
    short_help="Simulate what coming weeks draw from the store.",
    epilog=EXAMPLE + "nest forecast past/weeks --room past/room.toml --out forecast",
)
@click.argument("history", type=PATH, nargs=-1, required=True, metavar="HISTORY...")
@room_option
@forecast_options
def forecast(history: tuple[Path, ...], **options: Any) -> int:
    """Simulate coming weeks from past ones (HISTORY): how many sheets of each size they draw, and how sure that is.

    HISTORY names jobs files, folders of plans, or folders that hold either. With --stock only released plans count,
    in the week they were released, and the offcuts on the ledger's rack are there to begin with.

    Ctrl-C keeps the paths that are finished.
    """
    from nest.cli.forecasting import ForecastRequest
    from nest.cli.forecasting import forecast as run

    return run(ForecastRequest(history=history, **options))


@cli.command(
    short_help="Tell what a job's plates cost and are sold for.",
    epilog=EXAMPLE + "nest quote --room room.toml --material QF170 --across 310 --around 271 --teeth 96 --colours 4",
)
@click.argument("jobs", type=PATH, required=False)
@room_option
@quote_options
@json_option
def quote(jobs: Path | None, room: Path, as_json: bool, job_yield: float | None, yield_from: Path | None,
          **job: str | None) -> int:  # fmt: skip
    """Tell what the jobs of JOBS (CSV or XLSX) cost and are sold for, or a job given by its options.

    Cut area of each piece, share of sheets at the yield given, cost of the job planned alone on new sheets, and the
    selling price by the rates of the room file: the larger of the minimum and the rate times the cut area.
    """
    from nest.cli.quoting import quote as run

    given = {f"--{name.replace('_', '-')}": value for name, value in job.items() if value is not None}
    if (jobs is None) == (not given):
        raise click.UsageError("give either JOBS, or a job by --material, --across, --around and what else it has")
    if job_yield is not None and yield_from is not None:
        raise click.UsageError("give --yield or --yield-from, not both")
    return run(jobs, room, given, job_yield, yield_from, as_json=as_json)


@cli.command(
    short_help="Time each plate of a batch through the room; charts and cards.",
    epilog=EXAMPLE + "nest timetable out --start 2027-03-01 --out out",
)
@plan_argument
@click.option("--batch", metavar="ID", help="Only this batch of the plan's calendar.  [default: all that have plates]")
@click.option("--start", callback=iso_moment, metavar="WHEN",
              help="When the batch begins, such as 2027-03-01 (then at 06:00) or 2027-03-01T13:30.  [default: the "
                   "batch's own start; without a calendar no day is told]")
@click.option("--out", type=PATH, metavar="DIR", help="Also write table, charts and plate cards to this folder.")
@click.option("--effort", type=click.Choice(["quick", "normal", "thorough"]), default="normal", show_default=True,
              help="How long to search: a fifth of the usual work, the usual, five times as much.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document, and errors as one too.")
def timetable(plan: Path, **options: Any) -> int:
    """Time the plates of PLAN (a plan.json or its folder) through the room's line, batch by batch.

    Plates are grouped into drum loads; then every plate gets its time at every station, so that the last is ready to
    mount as early as can be, with a proven bound. The room's [line] says which steps there are. Needs the extra
    'timetable'.
    """
    from nest.cli.timetable import TimetableRequest, print_timetable

    return print_timetable(TimetableRequest(plan=plan, **options))


cli.add_command(buy)
cli.add_command(sizes)
cli.add_command(stock)
cli.add_command(release)
