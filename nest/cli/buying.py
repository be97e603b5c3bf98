"""What `nest buy` does: simulated demand, the store and the room's terms in, what to order out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from shlex import quote
from typing import TYPE_CHECKING

from nest.buying.demand_file import NAME, load_demand
from nest.buying.holding import Holding, drawn_of, from_room, from_stock, size_key
from nest.buying.proposal import propose
from nest.cli.plan_folder import plan_file
from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, show_exact, tell
from nest.domain.room import Unit
from nest.domain.workdays import PER_WEEK, workdays_between
from nest.errors import Fault, InputError, StockError
from nest.intake.room import read_room
from nest.output.plan_file import load_plan
from nest.output.proposal_text import proposals_csv, proposals_json, proposals_text
from nest.output.stock_note import NAME as NOTE
from nest.output.stock_note import load_note
from nest.store.release import released
from nest.units import MM_PER_INCH, plain

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Sequence
    from pathlib import Path

    from nest.buying.demand import Demand, SizeKey
    from nest.domain.proposal import Proposal, Proposals
    from nest.domain.room import Room, Sheet
    from nest.store.ledger import Ledger


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyRequest:
    """Options of `nest buy`."""

    forecast: Path
    room: Path
    stock: Path | None
    plans: tuple[Path, ...]
    on: date | None
    as_csv: bool
    as_json: bool


def buy(request: BuyRequest) -> int:
    """Say what to buy today; return the exit code.

    Raises
    ------
    InputError
        If a file is wrong, or they do not belong together.
    StockError
        If the ledger cannot be read or does not suit the room.
    """
    file = request.forecast / NAME if request.forecast.is_dir() else request.forecast
    room = read_room(request.room).room
    demand = load_demand(file)
    day = request.on or date.today()
    sheets = _terms(room, demand, request.room, file)
    _check_weeks(demand, sheets, room, day, file)
    holdings = _holdings(request, room, demand)
    found = propose(demand, room, sheets, holdings, day, planned=bool(request.plans))
    if request.as_json:
        show_exact(proposals_json(found))
    elif request.as_csv:
        show_exact(proposals_csv(found))
    else:
        show(proposals_text(found) + _next(found, request))
    _warn(demand, room, found, request)
    return 0


def _terms(room: Room, demand: Demand, path: Path, file: Path) -> dict[SizeKey, Sheet]:
    """Return the entry of the room file that has each simulated size's terms: the first of its lots."""
    listed: dict[SizeKey, Sheet] = {}
    for sheet in room.sheets:
        listed.setdefault(size_key(sheet), sheet)
    missing = [key for key in demand.sizes if key not in listed]
    if missing:
        raise InputError(tuple(
            Fault(file=str(path), where="sheets", rule=f"must list {key.label}, which {file} has demand for",
                  remedy="add its [[sheets]], or forecast again with this room file")
            for key in missing
        ))  # fmt: skip
    return listed


def _check_weeks(demand: Demand, sheets: dict[SizeKey, Sheet], room: Room, day: date, file: Path) -> None:
    """See that the forecast begins early enough and lasts until the order after today's has come."""
    start = workdays_between(demand.first_week, day)
    need = max(room.buying.review_days + (sheets[key].delivery_days or 0) for key in demand.sizes)
    left = PER_WEEK * demand.weeks - max(start, 0)
    weeks = -(-(need + max(start, 0)) // PER_WEEK)
    if demand.paths < 1 or left < need:
        rule = f"must last until the order after today's has come: {need} working days from {day}"
        raise InputError((Fault(file=str(file), rule=rule, got=f"{max(left, 0)} working days",
                                remedy=f"forecast anew, at least {weeks} weeks (nest forecast --weeks)"),))  # fmt: skip


def _holdings(request: BuyRequest, room: Room, demand: Demand) -> dict[SizeKey, Holding]:
    """Return what is there of each size, with what plans commit."""
    if request.stock is None:
        unknown = [sheet.id for sheet in room.sheets if sheet.on_hand is None and size_key(sheet) in demand.sizes]
        if unknown:
            raise InputError(tuple(
                Fault(file=str(request.room), where="sheets", rule=f"{ident} must say how many are on hand",
                      remedy="add on_hand, or give --stock LEDGER")
                for ident in unknown
            ))  # fmt: skip
        there, drawn = from_room(room), drawn_of((load_plan(plan_file(path)), {}) for path in request.plans)
    else:
        with open_ledger(request.stock) as ledger:
            stock = ledger.stock()
            drawn = _unreleased(request.plans, ledger)
        for what, ours, theirs in (("unit", stock.unit, room.unit), ("currency", stock.currency, room.currency)):
            if ours != theirs:
                raise StockError(f"the ledger is kept in {what} {ours}, the room file in {theirs}; they must agree")
        there = from_stock(stock, room)
    return {
        key: Holding(lots=own.lots, orders=own.orders, kept_back=own.kept_back, committed=drawn[key])
        for key in demand.sizes
        for own in (there.get(key, Holding()),)
    }


def _unreleased(plans: Sequence[Path], ledger: Ledger) -> Counter[SizeKey]:
    """Return how many sheets of each size plans draw that the ledger does not show as released."""
    read = []
    for path in plans:
        file = plan_file(path)
        note = file.with_name(NOTE)
        known = released(ledger, load_note(note, file.read_text(encoding="utf-8")).plan) if note.exists() else {}
        read.append((load_plan(file), known))
    return drawn_of(read)


def _next(found: Proposals, request: BuyRequest) -> str:
    buy = [one for one in found.sizes if one.sheets]
    if not buy or request.stock is None:
        return ""
    ledger = quote(str(request.stock))
    lines = [f"  nest stock order {ledger} {_order(one, found.unit)} --on {found.day}\n" for one in buy]
    return "\nWHEN YOU HAVE ORDERED, note it, so that it counts as on order:\n" + "".join(lines)


def _order(one: Proposal, unit: Unit) -> str:
    """Return the options that note an order."""
    per = MM_PER_INCH if unit is Unit.INCH else 1.0
    across, around = plain(one.across_mm / per), plain(one.around_mm / per)
    many = f"--boxes {one.boxes} --per-box {one.per_box}" if one.per_box > 1 else f"--sheets {one.sheets}"
    return (
        f"--material {quote(one.material)} --across {across} --around {around} {many} --price {plain(one.price)} "
        f"--due {one.comes}"
    )


def _warn(demand: Demand, room: Room, found: Proposals, request: BuyRequest) -> None:
    """Tell what makes the proposal less sure than it looks."""
    for key in {size_key(sheet) for sheet in room.sheets} - set(demand.sizes):
        tell(f"warning: {key.label} has no simulated demand and is left out; forecast again with this room file")
    silent = sorted({sheet.id for sheet in room.sheets if sheet.delivery_days is None})
    if silent:
        tell(f"warning: no delivery_days in the room file, taken as coming at once: {', '.join(silent)}")
    start = workdays_between(found.first_week, found.day)
    if start < -PER_WEEK:
        tell(f"warning: the forecast begins on {found.first_week}: no demand is counted before that")
    if start >= 4 * PER_WEEK:
        tell(f"warning: the forecast is {start // PER_WEEK} weeks old; nest forecast makes a new one")
    if demand.paths < demand.wanted_paths:
        tell(f"warning: the forecast was interrupted after {demand.paths} of {demand.wanted_paths} futures")
    if request.plans:
        tell("note: the plans' sheets stand in for the simulated demand of this week")
