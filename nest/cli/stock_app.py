"""The store's commands: `nest stock …` and `nest release`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from nest.cli.options import PATH, day_option

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

EXAMPLE = "\b\nExample:\n  "
ledger_argument = click.argument("ledger", type=PATH)
dry_option = click.option("--dry-run", is_flag=True, help="Show the movements and book nothing.")
reason_option = click.option("--reason", default="", metavar="TEXT", help="Why, in words.")


@click.group(
    short_help="The store: receive, list, count, scrap, history, value.",
    epilog=EXAMPLE + "nest stock list store.db",
)
def stock() -> None:
    """Keep the store in a ledger: what came in, what was drawn, what lies on the rack, and what it is worth.

    Nothing in it is ever changed or removed: every balance is the sum of its movements, and a mistake is taken back by
    new ones.
    """


@stock.command(short_help="Make a new ledger.", epilog=EXAMPLE + "nest stock start store.db --room room.toml")
@ledger_argument
@click.option("--room", type=PATH, metavar="ROOM", help="Take unit, currency and all stock over from this room file.")
@click.option("--unit", type=click.Choice(["mm", "in"]), help="Unit of lengths.  [default: mm]")
@click.option("--currency", metavar="TEXT", help="Currency of prices.  [default: EUR]")
@day_option
@dry_option
def start(ledger: Path, **options: Any) -> int:
    """Make the new ledger LEDGER, empty or with the stock that a room file lists."""
    from nest.cli.stock_changes import start_ledger

    return start_ledger(ledger, **options)


@stock.command(
    short_help="Book sheets that came in.",
    epilog=EXAMPLE + "nest stock receive store.db --material QF170 --across 900 --around 1200 --boxes 2 --per-box 10 "
    "--price 86.40 --lot A6-140 --expiry 2028-01-31 --delivery D-5512",
)
@ledger_argument
@click.option("--material", required=True, metavar="NAME", help="As the room file names it.")
@click.option("--across", required=True, metavar="LENGTH", help="Size across, in the ledger's unit.")
@click.option("--around", required=True, metavar="LENGTH", help="Size around, in the ledger's unit.")
@click.option("--price", required=True, metavar="AMOUNT", help="Price of one sheet.")
@click.option("--boxes", metavar="N", help="Full boxes; --per-box goes with it.")
@click.option("--per-box", metavar="N", help="Sheets in a box.")
@click.option("--sheets", metavar="N", help="Single sheets, beside the boxes or instead of them.")
@click.option("--lot", metavar="TEXT", help="Lot as printed on the box.")
@click.option("--expiry", metavar="DAY", help="Use-by date as printed on the box.")
@click.option("--place", metavar="TEXT", help="Where they lie.")
@click.option("--delivery", metavar="TEXT", help="Number of the delivery note: the same line of it is booked once.")
@click.option("--order", metavar="ORDER", help="The order they belong to, or none.  "
              "[default: open orders of the size, earliest due first]")
@day_option
@dry_option
def receive(ledger: Path, **options: Any) -> int:
    """Book boxes or sheets that came in, as a lot of their own. The same receipt twice is refused.

    What is on order of their size (nest stock order) becomes less by as many.
    """
    from nest.cli.stock_changes import receive_sheets

    return receive_sheets(ledger, **options)


@stock.command(
    short_help="Note sheets that were ordered.",
    epilog=EXAMPLE + "nest stock order store.db --material QF170 --across 900 --around 1200 --boxes 2 --per-box 10 "
    "--due 2027-03-08",
)
@ledger_argument
@click.option("--material", required=True, metavar="NAME", help="As the room file names it.")
@click.option("--across", required=True, metavar="LENGTH", help="Size across, in the ledger's unit.")
@click.option("--around", required=True, metavar="LENGTH", help="Size around, in the ledger's unit.")
@click.option("--due", required=True, metavar="DAY", help="When they are to come.")
@click.option("--boxes", metavar="N", help="Full boxes; --per-box goes with it.")
@click.option("--per-box", metavar="N", help="Sheets in a box.")
@click.option("--sheets", metavar="N", help="Single sheets, beside the boxes or instead of them.")
@click.option("--price", metavar="AMOUNT", help="Price of one sheet, where it is known.")
@reason_option
@day_option
@dry_option
def order(ledger: Path, **options: Any) -> int:
    """Note sheets that were ordered: nest buy counts them as on order until nest stock receive books them.

    What will not come any more is taken off with nest stock cancel.
    """
    from nest.cli.stock_orders import order_sheets

    return order_sheets(ledger, **options)


@stock.command(short_help="Note that the rest of an order will not come.",
               epilog=EXAMPLE + "nest stock cancel store.db P-0001 --reason 'sold out'")  # fmt: skip
@ledger_argument
@click.argument("order")
@reason_option
@day_option
@dry_option
def cancel(ledger: Path, order: str, **options: Any) -> int:
    """Note that what is still to come of ORDER will not come."""
    from nest.cli.stock_orders import cancel_order

    return cancel_order(ledger, order, **options)


@stock.command("list", short_help="What is there, by size, lot or age; offcuts with their place.",
               epilog=EXAMPLE + "nest stock list store.db --by size")  # fmt: skip
@ledger_argument
@click.option("--by", type=click.Choice(["size", "lot", "age"]), default="lot", show_default=True,
              help="One line a size, or one a lot; by size, or oldest first.")  # fmt: skip
@click.option("--material", metavar="NAME", help="Only this material.")
@day_option
def list_(ledger: Path, by: str, material: str | None, on: date | None) -> int:
    """List the sheets and offcuts of LEDGER."""
    from nest.cli.stock_views import list_stock

    return list_stock(ledger, by, material, on)


@stock.command(short_help="What the store is worth.", epilog=EXAMPLE + "nest stock value store.db")
@ledger_argument
@day_option
def value(ledger: Path, on: date | None) -> int:
    """Print what the store is worth by material: sheets at what they cost, offcuts at their value on the day."""
    from nest.cli.stock_views import print_value

    return print_value(ledger, on)


@stock.command(short_help="All movements, or those of one lot, offcut or sheet.",
               epilog=EXAMPLE + "nest stock history store.db F-0031")  # fmt: skip
@ledger_argument
@click.argument("ref", required=False)
def history(ledger: Path, ref: str | None) -> int:
    """Print every booking with its movements, or those of REF: a lot, an offcut, a lot number, or a sheet of a plan.

    An offcut's history begins with the receipt of the lot it comes from.
    """
    from nest.cli.stock_views import print_history

    return print_history(ledger, ref)


@stock.command(short_help="Take sheets or an offcut out for good.",
               epilog=EXAMPLE + "nest stock scrap store.db L-0001 --sheets 1 --reason creased")  # fmt: skip
@ledger_argument
@click.argument("ref")
@click.option("--sheets", type=click.IntRange(min=1), default=1, show_default=True, metavar="N", help="How many.")
@reason_option
@day_option
@dry_option
def scrap(ledger: Path, ref: str, **options: Any) -> int:
    """Scrap sheets of the lot REF, or the offcut REF."""
    from nest.cli.stock_changes import scrap_stock

    return scrap_stock(ledger, ref, **options)


@stock.command(short_help="Write off what is past its use-by date.",
               epilog=EXAMPLE + "nest stock expire store.db --on 2027-10-01")  # fmt: skip
@ledger_argument
@day_option
@dry_option
def expire(ledger: Path, **options: Any) -> int:
    """Write off every lot and offcut whose use-by date is before the day."""
    from nest.cli.stock_changes import write_off

    return write_off(ledger, **options)


@stock.command(short_help="Say where a lot or an offcut lies.", epilog=EXAMPLE + "nest stock place store.db F-0031 R2")
@ledger_argument
@click.argument("ref")
@click.argument("where")
@day_option
@dry_option
def place(ledger: Path, ref: str, where: str, **options: Any) -> int:
    """State that the lot or offcut REF lies at WHERE from now on."""
    from nest.cli.stock_changes import put_in_place

    return put_in_place(ledger, ref, where, **options)


@stock.command(short_help="Say that an offcut was back-exposed.",
               epilog=EXAMPLE + "nest stock expose store.db F-0031 0.6")  # fmt: skip
@ledger_argument
@click.argument("ref")
@click.argument("relief")
@day_option
@dry_option
def expose(ledger: Path, ref: str, relief: str, **options: Any) -> int:
    """State that the offcut REF was back-exposed to RELIEF: from now on it serves only rows that state it."""
    from nest.cli.stock_changes import back_expose

    return back_expose(ledger, ref, relief, **options)


@stock.command("set", short_help="Set the value curve of offcuts, or the rack limit.",
               epilog=EXAMPLE + "nest stock set store.db rack_limit 40")  # fmt: skip
@ledger_argument
@click.argument("name", type=click.Choice(["full_days", "life_days", "expiry_days", "rack_limit"]))
@click.argument("figure", type=click.IntRange(0, 100_000))
@day_option
@dry_option
def set_(ledger: Path, name: str, figure: int, **options: Any) -> int:
    """Set how offcuts lose value, or how many the rack is meant to hold.

    An offcut keeps its value for full_days, then loses nine tenths of it until life_days; in the last expiry_days
    before its use-by date the rest falls with the days left.
    """
    from nest.cli.stock_changes import set_figure

    return set_figure(ledger, name, figure, **options)


@stock.command(short_help="Take a booking back by new movements.", epilog=EXAMPLE + "nest stock undo store.db 12")
@ledger_argument
@click.argument("booking", type=click.IntRange(min=1))
@day_option
@dry_option
def undo(ledger: Path, booking: int, **options: Any) -> int:
    """Take booking number BOOKING back (nest stock history shows the numbers)."""
    from nest.cli.stock_changes import undo_booking

    return undo_booking(ledger, booking, **options)


@stock.command(short_help="Stock-take: compare a counted list with the ledger, then book it.",
               epilog=EXAMPLE + "nest stock count store.db counted.csv --dry-run")  # fmt: skip
@ledger_argument
@click.argument("counted", type=PATH)
@click.option("--whole", is_flag=True, help="Everything was counted: what the list leaves out is not there.")
@click.option("--yes", is_flag=True, help="Book the differences without asking.")
@reason_option
@day_option
@dry_option
def count(ledger: Path, counted: Path, **options: Any) -> int:
    """Report how the counts of COUNTED (CSV or XLSX) differ from LEDGER, ask, and book the differences.

    COUNTED has the columns of nest stock export with `counted` filled in; lines left empty there were not counted.
    A line without an id is something found: it needs kind, material, across, around and price.
    """
    from nest.cli.stock_take import take_stock

    return take_stock(ledger, counted, **options)


@stock.command("import", short_help="Take in a list of lots and offcuts.",
               epilog=EXAMPLE + "nest stock import store.db stock.csv --dry-run")  # fmt: skip
@ledger_argument
@click.argument("file", type=PATH)
@day_option
@dry_option
def import_(ledger: Path, file: Path, **options: Any) -> int:
    """Take in the lots and offcuts of FILE: CSV or XLSX with the columns of nest stock export.

    The same file twice is refused.
    """
    from nest.cli.stock_take import import_list

    return import_list(ledger, file, **options)


@stock.command(short_help="Print the stock, or all movements, as CSV.",
               epilog=EXAMPLE + "nest stock export store.db > stock.csv")  # fmt: skip
@ledger_argument
@click.option("--moves", is_flag=True, help="Every movement instead of what is there.")
@click.option("--room", "as_room", type=PATH, metavar="ROOM",
              help="Print this room file with the ledger's stock in place of its own.")  # fmt: skip
@day_option
def export(ledger: Path, moves: bool, as_room: Path | None, on: date | None) -> int:
    """Print what is in LEDGER as CSV. Cells that a spreadsheet would run begin with an apostrophe."""
    from nest.cli.stock_views import export_stock

    return export_stock(ledger, moves=moves, as_room=as_room, on=on)


@stock.command(short_help="Copy the ledger to a file.", epilog=EXAMPLE + "nest stock backup store.db store-copy.db")
@ledger_argument
@click.argument("target", type=PATH)
def backup(ledger: Path, target: Path) -> int:
    """Copy LEDGER to the new file TARGET, while others may use it; the copy is checked before it gets its name."""
    from nest.cli.stock_views import back_up

    return back_up(ledger, target)


@stock.command(
    short_help="Write labels for offcuts.", epilog=EXAMPLE + "nest stock labels store.db F-0031 --out labels"
)
@ledger_argument
@click.argument("refs", nargs=-1)
@click.option("--out", type=PATH, default="labels", show_default=True, metavar="DIR", help="Folder for the labels.")
def labels(ledger: Path, refs: tuple[str, ...], out: Path) -> int:
    """Write an SVG label at real size for each of the offcuts REFS, or for all on the rack."""
    from nest.cli.stock_labels import write_labels

    return write_labels(ledger, refs, out)


@stock.command(short_help="How offcuts came back, and what to set.", epilog=EXAMPLE + "nest stock offcuts store.db")
@ledger_argument
@click.option(
    "--room", type=PATH, metavar="ROOM", help="Room file whose offcut figures the proposals are held against."
)
@day_option
def offcuts(ledger: Path, room: Path | None, on: date | None) -> int:
    """Report how many kept offcuts were used, when and at what gain, and propose figures for the room file."""
    from nest.cli.stock_views import print_offcut_use

    return print_offcut_use(ledger, room, on)


@stock.command(short_help="Book that a piece is made again.",
               epilog=EXAMPLE + "nest stock remake store.db --job 2401 --separation Cyan --reason scratch "
               "--cost 14.20")  # fmt: skip
@ledger_argument
@click.option("--job", required=True, metavar="TEXT", help="Job of the piece.")
@click.option("--separation", required=True, metavar="TEXT", help="Separation of the piece.")
@click.option("--part", default="", metavar="TEXT", help="Part of the separation.")
@click.option("--reason", required=True, help="What spoilt it.",
              type=click.Choice(["imaging", "wash", "scratch", "mounting", "customer"]))  # fmt: skip
@click.option("--pieces", type=click.IntRange(min=1), default=1, show_default=True, metavar="N", help="How many.")
@click.option("--cost", required=True, metavar="AMOUNT", help="What making it again costs.")
@day_option
@dry_option
def remake(ledger: Path, **options: Any) -> int:
    """Book that a piece is made again, for the weekly rate. The sheets it takes are booked by nest release."""
    from nest.cli.stock_changes import remake_piece

    return remake_piece(ledger, **options)


@stock.command(short_help="Pieces made again: rate and money by week.", epilog=EXAMPLE + "nest stock remakes store.db")
@ledger_argument
def remakes(ledger: Path) -> int:
    """Print the rate of pieces made again and what they cost, by week and reason."""
    from nest.cli.stock_views import print_remakes

    return print_remakes(ledger)


@click.command(
    short_help="Book what a plan draws from the store and puts back.",
    epilog=EXAMPLE + "nest release out/plan.json --stock store.db",
)
@click.argument("plan", type=PATH)
@click.option("--stock", "ledger", type=PATH, required=True, metavar="LEDGER", help="The ledger it was planned on.")
@click.option("--sheets", metavar="IDS", help="Only these sheets, such as S01,S03.")
@click.option("--as-cut", type=PATH, metavar="FILE", help="What was cut or drawn otherwise (CSV or XLSX).")
@click.option("--undo", is_flag=True, help="Take the release back by new movements.")
@day_option
@dry_option
def release(plan: Path, ledger: Path, **options: Any) -> int:
    """Book the sheets and offcuts that PLAN draws and the rests it keeps, all at once.

    Refused where the store has changed since in a way that matters, or a sheet is released already. Kept rests get
    their ids.
    """
    from nest.cli.release import release_plan

    return release_plan(plan, ledger, **options)
