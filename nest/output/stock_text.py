"""The store on the terminal: what is there, what it is worth, what moved, what a stock-take found."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from nest.output.text_columns import aligned_table
from nest.output.words import counted, length_words, one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from nest.domain.room import Unit
    from nest.domain.stock import Booked, Lot, Move, OpenOrder, RackOffcut, Stock

SORTS = ("size", "lot", "age")
_LOT_HEAD = ("id", "material", "across", "around", "lot", "received", "use by", "on hand", "price", "value", "place")
_LOT_NUMBERS = (2, 3, 7, 8, 9)
_OFFCUT_HEAD = ("id", "material", "across", "around", "lot", "use by", "state", "days", "new", "now", "place")
_OFFCUT_NUMBERS = (2, 3, 7, 8, 9)


def money_words(cents: int) -> str:
    """Return an amount of cents in the currency's unit."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def state_words(offcut: RackOffcut) -> str:
    """Return an offcut's state: untouched, or back-exposed to which relief and when."""
    if offcut.relief is None:
        return "untouched"
    when = "" if offcut.exposed is None else f" on {offcut.exposed}"
    return f"back-exposed to relief {offcut.relief:g}{when}"


def stock_list(stock: Stock, day: date, values: dict[str, int], *, material: str | None, by: str) -> str:
    """Return what is in the store on a day.

    Parameters
    ----------
    stock
        The ledger's content.
    day
        Use-by dates and ages are judged by it.
    values
        What each offcut is worth that day, in cents, by id.
    material
        Only this material; None for all.
    by
        ``size``: a line per size; ``lot`` or ``age``: a line per lot, by size or by date of receipt.
    """
    lots = [lot for lot in stock.lots if lot.on_hand and material in (None, lot.material)]
    offcuts = [o for o in stock.offcuts if o.on_rack and material in (None, o.material)]
    if by == "age":
        lots.sort(key=lambda lot: (lot.received, lot.id))
        offcuts.sort(key=lambda o: (o.made, o.id))
    sheets = _by_size(lots, stock.unit, day) if by == "size" else _by_lot(lots, stock.unit, day)
    rack = [
        (o.id, o.material, *_size(o, stock.unit), o.lot or "-", _use_by(o.expiry, day), state_words(o),
         str((day - o.made).days), money_words(o.value_cents), money_words(values[o.id]), o.place or "-")
        for o in offcuts
    ]  # fmt: skip
    limit = "" if stock.rack_limit is None else f", rack limit {stock.rack_limit}"
    total = sum(lot.on_hand for lot in lots)
    text = f"SHEETS: {counted(total, 'sheet')} in {counted(len(lots), 'lot')}\n"
    text += sheets + f"\nOFFCUTS: {len(rack)} on the rack{limit}\n"
    text += aligned_table(_OFFCUT_HEAD, rack, _OFFCUT_NUMBERS) if rack else ""
    orders = [one for one in stock.orders if material in (None, one.material)]
    text += f"\nON ORDER: {counted(sum(one.open for one in orders), 'sheet')}\n" if orders else ""
    text += _orders(orders, stock.unit, day) if orders else ""
    return text + f"lengths in {stock.unit}, money in {stock.currency}; booking {stock.revision}, {day}\n"


def _orders(orders: Iterable[OpenOrder], unit: Unit, day: date) -> str:
    lines = [
        (one.id, one.material, *_size(one, unit), str(one.ordered), f"{one.due}{' LATE' if one.due < day else ''}",
         str(one.open), str(one.sheets), "-" if one.price_cents is None else money_words(one.price_cents))
        for one in orders
    ]  # fmt: skip
    head = ("id", "material", "across", "around", "ordered", "due", "to come", "of", "price")
    return aligned_table(head, lines, (2, 3, 6, 7, 8))


def _by_lot(lots: Iterable[Lot], unit: Unit, day: date) -> str:
    lines = [
        (lot.id, lot.material, *_size(lot, unit), lot.lot or "-", str(lot.received), _use_by(lot.expiry, day),
         str(lot.on_hand), money_words(lot.price_cents), money_words(lot.on_hand * lot.price_cents), lot.place or "-")
        for lot in lots
    ]  # fmt: skip
    return aligned_table(_LOT_HEAD, lines, _LOT_NUMBERS) if lines else ""


def _by_size(lots: Iterable[Lot], unit: Unit, day: date) -> str:
    groups: dict[tuple[str, str, str], list[Lot]] = defaultdict(list)
    for lot in lots:
        groups[lot.material, *_size(lot, unit)].append(lot)
    lines = []
    for key, group in groups.items():
        first = min((lot.expiry for lot in group if lot.expiry is not None), default=None)
        lines.append(
            (
                *key,
                str(len(group)),
                str(sum(lot.on_hand for lot in group)),
                _use_by(first, day),
                money_words(sum(lot.on_hand * lot.price_cents for lot in group)),
            )
        )
    head = ("material", "across", "around", "lots", "on hand", "first use by", "value")
    return aligned_table(head, lines, (1, 2, 3, 4, 6)) if lines else ""


def _size(one: Lot | RackOffcut | OpenOrder, unit: Unit) -> tuple[str, str]:
    return length_words(one.across_mm, unit), length_words(one.around_mm, unit)


def _use_by(expiry: date | None, day: date) -> str:
    if expiry is None:
        return "-"
    return f"{expiry} PASSED" if expiry < day else str(expiry)


def stock_value(stock: Stock, day: date, values: dict[str, int]) -> str:
    """Return what the store is worth on a day, by material: sheets at what they cost, offcuts new and now."""
    lines: dict[str, list[int]] = defaultdict(lambda: [0] * 7)
    for lot in stock.lots:
        worth = lot.on_hand * lot.price_cents
        past = lot.expiry is not None and lot.expiry < day
        line = lines[lot.material]
        line[0] += lot.on_hand
        line[1] += worth
        line[5 if past else 6] += worth
    for o in stock.offcuts:
        if o.on_rack:
            line = lines[o.material]
            line[2] += 1
            line[3] += o.value_cents
            line[4] += values[o.id]
            line[6] += values[o.id]
    total = [sum(column) for column in zip(*lines.values(), strict=True)] or [0] * 7
    head = ("material", "sheets", "cost", "offcuts", "new", "now", "past use by", "of use")
    rows = [(name, *_figures(line)) for name, line in [*sorted(lines.items()), ("all", total)]]
    foot = f"money in {stock.currency}; sheets at what they cost, offcuts at their value on {day}; "
    return aligned_table(head, rows, range(1, 8)) + foot + f"booking {stock.revision}\n"


def _figures(line: Sequence[int]) -> tuple[str, ...]:
    return tuple(str(value) if at in (0, 2) else money_words(value) for at, value in enumerate(line))


def moves_text(moves: Iterable[Move]) -> str:
    """Return movements, one a line: how many of what, and why."""
    lines = []
    for move in moves:
        sheet = f"  for {move.sheet}" if move.sheet else ""
        lines.append(f"  {move.change:+d}  {move.ref}  {move.kind.value}{sheet}\n")
    return "".join(lines)


def bookings_text(bookings: Iterable[Booked], refs: frozenset[str] | None = None) -> str:
    """Return bookings with their movements; ``refs`` leaves out movements of everything else."""
    text = ""
    for one in bookings:
        undone = f", taken back by booking {one.undone_by}" if one.undone_by else ""
        reason = f": {one_line(one.reason)}" if one.reason else ""
        text += f"{one.id}  {one.day}  {one.act.value}{reason}{undone}\n"
        text += moves_text(move for move in one.moves if refs is None or move.ref in refs)
        text += "".join(f"  {one_line(words)}\n" for ref, words in one.said if refs is None or ref in refs)
    return text
