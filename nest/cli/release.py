"""What `nest release` does: book what a plan draws and keeps, or take that back."""

from __future__ import annotations

from datetime import date
from shlex import quote
from typing import TYPE_CHECKING

import click

from nest.cli.folder import PLAN
from nest.cli.stock_changes import done_text
from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, tell
from nest.errors import StockError
from nest.intake.stock_tables import read_cuts
from nest.output.inputs_file import NAME as INPUTS
from nest.output.inputs_file import load_inputs
from nest.output.plan_file import load_plan
from nest.output.stock_note import NAME, load_note
from nest.output.words import counted
from nest.store.as_cut import as_really_cut
from nest.store.release import planned_releases, release, undo_release
from nest.store.value import value_cents

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.stock import Stock
    from nest.store.booking import Done


def release_plan(path: Path, ledger_path: Path, *, sheets: str | None, as_cut: Path | None, undo: bool,
                 on: date | None, dry_run: bool) -> int:  # fmt: skip
    """Release a plan or take its release back; return the exit code.

    Raises
    ------
    InputError
        If the plan, its note or the as-cut file is wrong.
    StockError
        If the ledger forbids it; nothing has been changed.
    """
    if undo and as_cut is not None:
        raise click.UsageError("--undo takes back what was booked: leave --as-cut out")
    path = path / PLAN if path.is_dir() else path
    plan = load_plan(path)
    note = load_note(path.with_name(NAME), path.read_text(encoding="utf-8"))
    day = on or date.today()
    chosen = None if sheets is None else [word for word in (one.strip() for one in sheets.split(",")) if word]
    with open_ledger(ledger_path) as ledger:
        if undo:
            done = undo_release(ledger, note.plan, chosen, day, keep=not dry_run)
        else:
            out = planned_releases(plan, day, chosen)
            if as_cut is not None:
                inputs = load_inputs(path.with_name(INPUTS))
                cuts = read_cuts(as_cut, ledger.unit)
                out = as_really_cut(out, cuts, plan, inputs.room.costs, ledger.stock(), day, str(as_cut))
            try:
                done = release(ledger, note, out, day, keep=not dry_run)
            except StockError as fault:
                raise StockError(f"{fault}{_offer(fault, path, ledger_path)}") from fault
        full = None if undo or dry_run else rack_words(ledger.stock(), day, ledger_path)
    show(done_text(done, dry_run=dry_run) if done else "the plan draws nothing: nothing to book\n")
    _tell_labels(done, ledger_path, dry_run=dry_run)
    if full is not None:
        tell(full)
    return 0


def rack_words(stock: Stock, day: date, ledger: Path) -> str | None:
    """Return what to do where the rack holds more than its limit: scrap what is worth least."""
    rack = sorted((o for o in stock.offcuts if o.on_rack), key=lambda o: (value_cents(o, day, stock.curve), o.id))
    if stock.rack_limit is None or len(rack) <= stock.rack_limit:
        return None
    least = [offcut.id for offcut in rack[: len(rack) - stock.rack_limit]]
    return (
        f"the rack holds {counted(len(rack), 'offcut')}, its limit is {stock.rack_limit}; worth least: "
        f"{', '.join(least)}; for each: nest stock scrap {quote(str(ledger))} ID --reason 'rack limit'"
    )


def _offer(fault: StockError, path: Path, ledger: Path) -> str:
    if not str(fault).startswith("the store has changed"):
        return ""
    return (
        f"; plan again on the store as it is: nest plan JOBS --room ROOM --stock {quote(str(ledger))} "
        f"--out {quote(str(path.parent))}"
    )


def _tell_labels(done: tuple[Done, ...], ledger: Path, *, dry_run: bool) -> None:
    fresh = [ref for one in done for ref in one.fresh]
    if fresh and not dry_run:
        tell(f"labels for the new offcuts: nest stock labels {quote(str(ledger))} {' '.join(fresh)}")
