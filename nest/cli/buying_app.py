"""The buyer's commands: `nest buy` and `nest sizes`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from nest.cli.options import MOST_CORES, MOST_SEED, MOST_WORK, PATH, day_option, room_option

if TYPE_CHECKING:
    from pathlib import Path

EXAMPLE = "\b\nExample:\n  "


@click.command(
    short_help="Say what to order today, why, and how sure it is.",
    epilog=EXAMPLE + "nest buy forecast --room room.toml --stock store.db",
)
@click.argument("forecast", type=PATH)
@room_option
@click.option("--stock", type=PATH, metavar="LEDGER",
              help="What is on hand and on order, from this ledger; else the room file's on_hand.")
@click.option("--plan", "plans", type=PATH, multiple=True, metavar="PLAN",
              help="A plan of this week: what it still draws is committed, and the forecast begins next week. "
                   "May be given several times.")
@day_option
@click.option("--csv", "as_csv", is_flag=True, help="Print a CSV table instead of words.")
@click.option("--json", "as_json", is_flag=True, help="Print a JSON document instead of words, and errors too.")
def buy(forecast: Path, as_csv: bool, as_json: bool, **options: Any) -> int:
    """Say what to order today of each sheet size, by the demand that nest forecast wrote to the folder FORECAST.

    The room file's [buying] says how often you order and how sure you want to be, its [[sheets]] boxes, delivery
    times, least orders, price breaks and shelf life.
    """  # fmt: skip
    from nest.cli.buying import BuyRequest
    from nest.cli.buying import buy as propose

    if as_csv and as_json:
        raise click.UsageError("give --csv or --json, not both")
    return propose(BuyRequest(forecast=forecast, as_csv=as_csv, as_json=as_json, **options))


@click.command(
    short_help="Say which sheet sizes are worth stocking.",
    epilog=EXAMPLE + "nest sizes past/weeks --room past/room.toml --offer offer.toml",
)
@click.argument("history", type=PATH, nargs=-1, required=True, metavar="HISTORY...")
@room_option
@click.option("--offer", type=PATH, metavar="FILE",
              help="Sizes that a supplier offers: a TOML file of [[sheets]] written like those of the room file.")
@click.option("--material", "materials", multiple=True, metavar="NAME",
              help="Only this material; may be given several times.")
@click.option("--paths", type=click.IntRange(2), default=12, show_default=True, metavar="N",
              help="How many times to simulate the weeks.")
@click.option("--weeks", type=click.IntRange(4, 520), default=52, show_default=True, metavar="N",
              help="Weeks of each; figures are brought to a year.")
@click.option("--seed", type=click.IntRange(0, MOST_SEED), default=0, show_default=True, metavar="N",
              help="Start of the random choices, the same for every set.")
@click.option("--work-limit", type=click.IntRange(1, MOST_WORK), metavar="N",
              help="How long to search for each week's plan.  [default: grows with the week]")
@click.option("--stock", type=PATH, metavar="LEDGER", help="Only plans count that this ledger shows as released.")
@click.option("--cores", type=click.IntRange(1, MOST_CORES), metavar="N", help="Use at most N cores.  [default: all]")
@click.option("--cluster", metavar="ADDRESS",
              help="Work on a cluster: its scheduler's address; needs the extra 'cluster'.")
@click.option("--csv", "as_csv", is_flag=True, help="Print a CSV table of every set that was tried.")
def sizes(history: tuple[Path, ...], **options: Any) -> int:
    """Say which sheet sizes are worth stocking: the best set of one, two, three ... sizes of each material.

    Every set is tried on the same weeks, simulated from past ones (HISTORY, as for nest forecast), with orders,
    holding and what expires by the room file's [buying]. Ctrl-C keeps the sets that are finished.
    """  # fmt: skip
    from nest.cli.size_sets import SizesRequest, compare_sizes

    return compare_sizes(SizesRequest(history=history, **options))
