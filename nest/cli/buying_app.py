"""The buyer's commands: `nest buy` and `nest sizes`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from nest.cli.options import PATH, day_option, room_option

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
