"""What `nest stock count` and `nest stock import` do: lists that come in."""

from __future__ import annotations

import hashlib
import sys
from datetime import date
from typing import TYPE_CHECKING

import click

from nest.cli.stock_changes import done_text, option
from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, tell
from nest.domain.stock import Act
from nest.intake import stock_values as values
from nest.intake.stock_tables import read_counts, read_stock_list
from nest.output.stock_text import money_words
from nest.output.text_columns import aligned_table
from nest.output.words import counted as in_words
from nest.store import actions
from nest.store.count import CountReport, book_count, compare

if TYPE_CHECKING:
    from pathlib import Path


def report_text(report: CountReport, currency: str) -> str:
    """Return the differences of a stock-take, one a line, and what they are worth together."""
    agree = in_words(report.agree, "line")
    text = f"STOCK-TAKE: {in_words(len(report.lines), 'difference')}, {agree} as in the ledger\n"
    rows = [
        (one.ref or "new", one.words, str(one.book), str(one.counted), f"{one.counted - one.book:+d}",
         money_words(one.cents), one.place or "-")
        for one in report.lines
    ]  # fmt: skip
    if rows:
        text += aligned_table(("id", "material", "ledger", "counted", "change", "value", "place"), rows, (2, 3, 4, 5))
        text += f"together {money_words(sum(one.cents for one in report.lines))} {currency}\n"
    return text + "".join(f"{ref} lies at {place}\n" for ref, place in report.moved)


def take_stock(path: Path, counted: Path, *, whole: bool, yes: bool, reason: str, on: date | None,
               dry_run: bool) -> int:  # fmt: skip
    """Compare a counted list with the ledger and book the differences once confirmed; return the exit code.

    Raises
    ------
    click.UsageError
        If there is nobody to ask and neither ``yes`` nor ``dry_run`` was given; nothing is booked.
    """
    day = on or date.today()
    why = option("--reason", reason, values.words) or f"stock-take {counted.name}"
    with open_ledger(path) as ledger:
        counts = read_counts(counted, ledger.unit, day)
        report = compare(ledger.stock(), counts, whole=whole)
        show(report_text(report, ledger.currency))
        if not (report.lines or report.moved):
            return 0
        if not (yes or dry_run) and not _confirmed():
            tell("nothing booked")
            return 0
        done = book_count(ledger, report, why, day, keep=not dry_run)
        show(done_text([done] if done is not None else [], dry_run=dry_run))
    return 0


def _confirmed() -> bool:
    if not sys.stdin.isatty():
        raise click.UsageError(
            "nothing booked: there is no terminal to ask on; read the report, then repeat with --yes"
        )
    return click.confirm("Book these differences?", err=True)


def import_list(path: Path, file: Path, *, on: date | None, dry_run: bool) -> int:
    """Take in a list of lots and offcuts; return the exit code."""
    day = on or date.today()
    with open_ledger(path) as ledger:
        listed = read_stock_list(file, ledger.unit, day)
        key = "import:" + hashlib.sha256(file.read_bytes()).hexdigest()
        done = actions.take_in(
            ledger, listed.deliveries, listed.offcuts, day, act=Act.IMPORT, reason=file.name, key=key, keep=not dry_run
        )
        show(done_text([done], dry_run=dry_run))
    return 0
