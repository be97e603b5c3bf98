"""What the commands that change the store do: read the options, book, say what was booked."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from nest.cli.stock_view import open_ledger
from nest.cli.streams import show, tell
from nest.domain.room import Unit
from nest.domain.stock import Act, Delivery, Found, Remake, RemakeReason
from nest.errors import StockError
from nest.intake import stock_values as values
from nest.intake.faults import quoted
from nest.intake.fields import FieldFault
from nest.intake.room import read_room
from nest.output.stock_text import moves_text
from nest.output.words import counted, one_line
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.opening import create, network_warning
from nest.store.remakes import book_remake

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from nest.domain.room import Room
    from nest.intake.typed_numbers import Reading
    from nest.store.booking import Done

Value = TypeVar("Value")
NOTHING = "nothing booked: dry run\n"
NO_ORDER = "none"
"""Instead of an order's id: what comes in belongs to none."""


def done_text(all_done: Iterable[Done], *, dry_run: bool) -> str:
    """Return what was booked, booking by booking, or what would be."""
    text = ""
    for done in all_done:
        reason = f": {one_line(done.reason)}" if done.reason else ""
        text += f"{'would book' if dry_run else 'booking'} {done.booking}, {done.act.value}{reason}\n"
        text += moves_text(done.moves) + "".join(f"  {words}\n" for words in done.told)
    return text + (NOTHING if dry_run else "")


def option(name: str, text: str, parse: Callable[[str], Value]) -> Value:
    """Return the value of an option.

    Raises
    ------
    click.UsageError
        If it is wrong, with the rule, the value got and what to do.
    """
    try:
        return parse(text)
    except FieldFault as fault:
        raise click.UsageError(f"{name}: {fault.rule}; got {quoted(text)}; {fault.remedy}") from None


def start_ledger(path: Path, room: Path | None, unit: str | None, currency: str | None, on: date | None,
                 dry_run: bool) -> int:  # fmt: skip
    """Make a ledger, empty or with what a room file lists; return the exit code."""
    if room is not None and (unit or currency):
        raise click.UsageError("--room states unit and currency: leave --unit and --currency out")
    given = None if room is None else read_room(room).room
    made_unit = Unit(unit or "mm") if given is None else given.unit
    made_currency = option("--currency", currency or "EUR", values.words) if given is None else given.currency
    done: list[Done] = []

    def fill(draft: Path) -> None:
        if given is not None:
            with Ledger(draft) as ledger:
                done.append(_take_over(ledger, given, on or date.today()))

    if dry_run:
        if path.exists():
            raise StockError(
                f"{path}: exists already; give a path of its own to a new ledger; nothing has been changed"
            )
        with tempfile.TemporaryDirectory() as folder:
            create(Path(folder) / path.name, made_unit, made_currency, fill)
        show(done_text(done, dry_run=True))
        return 0
    warning = network_warning(path)
    if warning is not None:
        tell(f"warning: {warning}")
    create(path, made_unit, made_currency, fill)
    show(done_text(done, dry_run=False) + f"{path}: a new ledger, lengths in {made_unit}, prices in {made_currency}\n")
    return 0


def _take_over(ledger: Ledger, room: Room, day: date) -> Done:
    endless = [sheet.id for sheet in room.sheets if sheet.on_hand is None]
    if endless:
        tell(f"left out, since the room file states no number on hand: {', '.join(endless)}; receive them by count")
    deliveries = [
        Delivery(
            material=s.material, across_mm=s.across_mm, around_mm=s.around_mm, sheets=s.on_hand,
            price_cents=round(s.price * 100), received=s.received or day, lot=s.lot, expiry=s.expiry, per_box=s.per_box,
        )
        for s in room.sheets if s.on_hand
    ]  # fmt: skip
    offcuts = [
        Found(
            id=o.id, material=o.material, across_mm=o.across_mm, around_mm=o.around_mm,
            value_cents=round(o.value * 100), made=o.received or day, lot=o.lot, expiry=o.expiry, relief=o.relief,
        )
        for o in room.offcuts
    ]  # fmt: skip
    return actions.take_in(
        ledger, deliveries, offcuts, day, act=Act.START, reason="taken over from the room file", key=None
    )


def counted_sheets(
    boxes: str | None, per_box: str | None, sheets: str | None, reading: Reading
) -> tuple[int, int | None]:
    """Return how many sheets boxes and single sheets are, and how many a box holds."""
    if boxes is None and sheets is None:
        raise click.UsageError("say how many: --boxes with --per-box, or --sheets")
    if boxes is not None and per_box is None:
        raise click.UsageError("--boxes needs --per-box")

    def number(name: str, text: str | None, least: int) -> int | None:
        return None if text is None else option(name, text, lambda t: values.count(t, reading, least=least))

    box = number("--per-box", per_box, 1)
    return (number("--boxes", boxes, 0) or 0) * (box or 0) + (number("--sheets", sheets, 0) or 0), box


def receive_sheets(path: Path, *, material: str, across: str, around: str, price: str, boxes: str | None,
                   per_box: str | None, sheets: str | None, lot: str | None, expiry: str | None, place: str | None,
                   delivery: str | None, order: str | None, on: date | None, dry_run: bool) -> int:  # fmt: skip
    """Book a delivery; return the exit code."""
    day = on or date.today()
    with open_ledger(path) as ledger:
        reading = values.reading_of(ledger.unit)
        total, box = counted_sheets(boxes, per_box, sheets, reading)
        made = Delivery(
            material=option("--material", material, values.words),
            across_mm=option("--across", across, lambda t: values.length(t, reading)),
            around_mm=option("--around", around, lambda t: values.length(t, reading)),
            sheets=total, price_cents=option("--price", price, lambda t: values.cents(t, reading)), received=day,
            lot=option("--lot", lot or "", values.words) or None,
            expiry=None if expiry is None else option("--expiry", expiry, values.day), per_box=box,
            place=option("--place", place or "", values.words),
            delivery=option("--delivery", delivery or "", values.words),
        )  # fmt: skip
        belongs = "" if order == NO_ORDER else order
        done = actions.receive(ledger, made, day, order=belongs, keep=not dry_run)
        show(done_text([done], dry_run=dry_run))
        known = {one.material for one in ledger.stock().lots} | {made.material}
        if made.expiry is not None and made.expiry < day:
            tell(f"warning: the use-by date {made.expiry} has passed: no plan will draw these sheets")
        if len(known) > 1 and not any(
            one.material == made.material and one.id not in done.fresh for one in ledger.stock().lots
        ):
            tell(f"note: {made.material} is a material the ledger did not have before")
    return 0


def scrap_stock(path: Path, ref: str, *, sheets: int, reason: str, on: date | None, dry_run: bool) -> int:
    """Scrap sheets or an offcut; return the exit code."""
    with open_ledger(path) as ledger:
        done = actions.scrap(
            ledger, ref, sheets, option("--reason", reason, values.words), on or date.today(), keep=not dry_run
        )
    return _shown(done, dry_run=dry_run)


def _shown(done: Done, *, dry_run: bool) -> int:
    show(done_text([done], dry_run=dry_run))
    return 0


def write_off(path: Path, *, on: date | None, dry_run: bool) -> int:
    """Write off what has expired; return the exit code."""
    day = on or date.today()
    with open_ledger(path) as ledger:
        done = actions.expire(ledger, day, keep=not dry_run)
    if done is None:
        show(f"nothing in the store has a use-by date before {day}\n")
        return 0
    return _shown(done, dry_run=dry_run)


def put_in_place(path: Path, ref: str, where: str, *, on: date | None, dry_run: bool) -> int:
    """State where something lies; return the exit code."""
    place = option("WHERE", where, values.words)
    if not place:
        raise click.UsageError("WHERE: must not be empty")
    with open_ledger(path) as ledger:
        done = actions.place(ledger, ref, place, on or date.today(), keep=not dry_run)
    return _shown(done, dry_run=dry_run)


def back_expose(path: Path, ref: str, relief: str, *, on: date | None, dry_run: bool) -> int:
    """State that an offcut was back-exposed; return the exit code."""
    with open_ledger(path) as ledger:
        depth = option("RELIEF", relief, lambda t: values.relief(t, values.reading_of(ledger.unit)))
        done = actions.expose(ledger, ref, depth, on or date.today(), keep=not dry_run)
    return _shown(done, dry_run=dry_run)


def set_figure(path: Path, name: str, figure: int, *, on: date | None, dry_run: bool) -> int:
    """Set a figure of the value curve or the rack limit; return the exit code."""
    with open_ledger(path) as ledger:
        done = actions.put_setting(ledger, name, figure, on or date.today(), keep=not dry_run)
    return _shown(done, dry_run=dry_run)


def undo_booking(path: Path, booking: int, *, on: date | None, dry_run: bool) -> int:
    """Take a booking back; return the exit code."""
    with open_ledger(path) as ledger:
        done = actions.undo(ledger, booking, on or date.today(), keep=not dry_run)
    return _shown(done, dry_run=dry_run)


def remake_piece(path: Path, *, job: str, separation: str, part: str, reason: str, pieces: int, cost: str,
                 on: date | None, dry_run: bool) -> int:  # fmt: skip
    """Book a remake; return the exit code."""
    with open_ledger(path) as ledger:
        made = Remake(
            job=option("--job", job, values.words), separation=option("--separation", separation, values.words),
            part=option("--part", part, values.words), reason=RemakeReason(reason), pieces=pieces,
            cents=option("--cost", cost, lambda t: values.cents(t, values.reading_of(ledger.unit))),
        )  # fmt: skip
        done = book_remake(ledger, made, on or date.today(), keep=not dry_run)
    show(done_text([done], dry_run=dry_run))
    if not dry_run:
        tell(f"{counted(pieces, 'piece')} noted; book the sheets of its plan with nest release")
    return 0
