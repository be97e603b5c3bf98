"""What the commands that only look at the store do."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, show_exact
from nest.intake.room import read_room
from nest.output.offcut_use_text import offcut_use_text
from nest.output.remake_text import remakes_text
from nest.output.room_file import room_with_stock
from nest.output.stock_csv import movements_csv, stock_csv
from nest.output.stock_text import bookings_text, stock_list, stock_value
from nest.store.history import history_of
from nest.store.offcut_use import offcut_use, offcuts_kept
from nest.store.remakes import remake_weeks
from nest.store.room import stocked_room
from nest.store.value import value_cents

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.stock import Stock


def values_on(stock: Stock, day: date) -> dict[str, int]:
    """Return what each offcut is worth on a day, in cents, by id."""
    return {offcut.id: value_cents(offcut, day, stock.curve) for offcut in stock.offcuts}


def list_stock(path: Path, by: str, material: str | None, on: date | None) -> int:
    """Print what is there; return the exit code."""
    day = on or date.today()
    with open_ledger(path) as ledger:
        stock = ledger.stock()
    show(stock_list(stock, day, values_on(stock, day), material=material, by=by))
    return 0


def print_value(path: Path, on: date | None) -> int:
    """Print what the store is worth; return the exit code."""
    day = on or date.today()
    with open_ledger(path) as ledger:
        stock = ledger.stock()
    show(stock_value(stock, day, values_on(stock, day)))
    return 0


def print_history(path: Path, ref: str | None) -> int:
    """Print bookings; return the exit code."""
    with open_ledger(path) as ledger:
        found = history_of(ledger, ref)
    show(bookings_text(found.bookings, found.refs) or "no bookings yet\n")
    return 0


def export_stock(path: Path, *, moves: bool, as_room: Path | None, on: date | None) -> int:
    """Print the store as CSV, or as a room file; return the exit code."""
    with open_ledger(path) as ledger:
        stock = ledger.stock()
        bookings = ledger.bookings() if moves else ()
    if as_room is not None:
        room = stocked_room(read_room(as_room).room, stock, on or date.today())
        show_exact(room_with_stock(as_room.read_text(encoding="utf-8-sig"), room))
    elif moves:
        prices = {lot.id: lot.price_cents for lot in stock.lots} | {o.id: o.value_cents for o in stock.offcuts}
        show_exact(movements_csv(bookings, prices))
    else:
        show_exact(stock_csv(stock))
    return 0


def back_up(path: Path, target: Path) -> int:
    """Copy the ledger; return the exit code."""
    with open_ledger(path) as ledger:
        ledger.backup(target)
        show(f"{target}: the ledger up to booking {ledger.revision()}, checked\n")
    return 0


def print_remakes(path: Path) -> int:
    """Print remakes by week; return the exit code."""
    with open_ledger(path) as ledger:
        weeks, currency = remake_weeks(ledger), ledger.currency
    show(remakes_text(weeks, currency))
    return 0


def print_offcut_use(path: Path, room: Path | None, on: date | None) -> int:
    """Print how offcuts came back and what to set; return the exit code."""
    costs = None if room is None else read_room(room).room.costs
    with open_ledger(path) as ledger:
        stock, kept = ledger.stock(), offcuts_kept(ledger)
    use = offcut_use(kept, on or date.today(), 0.0 if costs is None else 100 * costs.offcut_handling)
    show(offcut_use_text(use, stock.unit, stock.currency, costs, stock.rack_limit))
    return 0
