"""A plan's view of the ledger: the room with the ledger's lots and offcuts in place of those of its file.

Lots of one size are planned at one price, so that which of them is drawn is decided by date alone: the room file's
price of that size (what a replacement costs), else what the lot that came in last cost.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from nest.domain.plan import SourceKind
from nest.domain.room import Offcut, Sheet
from nest.domain.stock import Drawn, Lot, Reserve, StockNote
from nest.errors import StockError
from nest.store.value import value_cents
from nest.units import to_units

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.domain.stock import RackOffcut, Stock

Size = tuple[str, int, int]


def size_of(one: Sheet | Lot | Offcut | Reserve) -> Size:
    """Return material, across and around in 0.0001 mm."""
    return one.material, to_units(one.across_mm), to_units(one.around_mm)


def usable(expiry: date | None, day: date) -> bool:
    """Whether material with a use-by date may still be used on a day."""
    return expiry is None or expiry >= day


def first_expired(lot: Lot) -> tuple[bool, date, date, str]:
    """Return the order in which equal lots are drawn: earliest expiry first, then oldest."""
    return lot.expiry is None, lot.expiry or date.max, lot.received, lot.id


def stocked_room(room: Room, stock: Stock, day: date) -> Room:
    """Return the room with the sheets and offcuts that may be drawn from the ledger on a day.

    The room file's own ``sheets`` serve as the list of sizes: price, reserve, box and delivery time. The reserve of a
    size is kept of its lots that last longest. What is past its use-by date, or of a material the room does not have,
    is left out.

    Raises
    ------
    StockError
        If the ledger is kept in another unit or currency than the room file.
    """
    for what, ours, theirs in (("unit", stock.unit, room.unit), ("currency", stock.currency, room.currency)):
        if ours != theirs:
            raise StockError(f"the ledger is kept in {what} {ours}, the room file in {theirs}; they must be the same")
    lots = [lot for lot in stock.lots if lot.on_hand and usable(lot.expiry, day) and lot.material in room.materials]
    by_size: dict[Size, list[Lot]] = defaultdict(list)
    for lot in sorted(lots, key=first_expired):
        by_size[size_of(lot)].append(lot)
    sheets = [sheet for group in by_size.values() for sheet in _sheets(group, room.sheets)]
    offcuts = [
        Offcut(
            id=o.id, material=o.material, across_mm=o.across_mm, around_mm=o.around_mm,
            value=value_cents(o, day, stock.curve) / 100, relief=o.relief, lot=o.lot, expiry=o.expiry, received=o.made,
        )
        for o in sorted(stock.offcuts, key=lambda o: o.id)
        if o.on_rack and usable(o.expiry, day) and o.material in room.materials
    ]  # fmt: skip
    return replace(room, sheets=tuple(sorted(sheets, key=lambda s: s.id)), offcuts=tuple(offcuts))


def as_if_not_drawn(stock: Stock, own: Mapping[str, int]) -> Stock:
    """Return a stock with what one plan has drawn put back: what a change of that plan may go on using.

    Parameters
    ----------
    stock
        The ledger's content.
    own
        How many the plan's released sheets drew of each lot and offcut, from `nest.store.release.drawn_under`.
    """
    lots = tuple(replace(lot, on_hand=lot.on_hand + own.get(lot.id, 0)) for lot in stock.lots)
    offcuts = tuple(replace(o, on_rack=o.on_rack or o.id in own) for o in stock.offcuts)
    return replace(stock, lots=lots, offcuts=offcuts)


def renewed_note(old: StockNote, new: StockNote) -> StockNote:
    """Return the note of a plan that was made from an earlier one: sheets released under that one stay released."""
    return replace(new, plan=old.plan)


def _sheets(lots: Sequence[Lot], listed: Sequence[Sheet]) -> list[Sheet]:
    """Return the lots of one size, in the order they are drawn, as the room's sheets."""
    known = [sheet for sheet in listed if size_of(sheet) == size_of(lots[0])]
    newest = max(lots, key=lambda lot: (lot.received, lot.id))
    price = max((sheet.price for sheet in known), default=newest.price_cents / 100)
    back = sum(sheet.keep_back for sheet in known)
    terms = known[0] if known else None
    out = []
    for lot in reversed(lots):
        kept = min(back, lot.on_hand)
        back -= kept
        out.append(
            Sheet(
                id=lot.id, material=lot.material, across_mm=lot.across_mm, around_mm=lot.around_mm, price=price,
                on_hand=lot.on_hand, keep_back=kept, per_box=lot.per_box or next((s.per_box for s in known), None),
                delivery_days=None if terms is None else terms.delivery_days,
                delivery_spread_days=0.0 if terms is None else terms.delivery_spread_days,
                min_order=0 if terms is None else terms.min_order,
                shelf_life_days=None if terms is None else terms.shelf_life_days,
                price_breaks=() if terms is None else terms.price_breaks,
                lot=lot.lot, expiry=lot.expiry, received=lot.received,
            )
        )  # fmt: skip
    return out


def note_of(plan: Plan, text: str, stock: Stock, room: Room, day: date, *, use_reserve: bool) -> StockNote:
    """Return what a plan relies on: the ledger, its revision, and each lot and offcut the plan draws as it stood.

    Parameters
    ----------
    plan
        Made on ``room``.
    text
        SHA-256 of the plan file.
    stock
        The ledger's content that ``room`` was made of.
    room
        As `stocked_room` returned it.
    day
        The day of planning.
    use_reserve
        Whether the plan may draw the reserve.
    """
    counts: dict[tuple[SourceKind, str], int] = defaultdict(int)
    for sheet in plan.sheets:
        counts[sheet.source.kind, sheet.source.ref] += 1
    lots, offcuts = {lot.id: lot for lot in stock.lots}, {o.id: o for o in stock.offcuts}
    drawn = []
    for (kind, ref), count in sorted(counts.items()):
        one = offcuts[ref] if kind is SourceKind.OFFCUT else lots[ref]
        drawn.append(drawn_of(kind, one, count))
    backs: dict[Size, int] = defaultdict(int)
    for entry in room.sheets:
        backs[size_of(entry)] += entry.keep_back
    sizes = {size_of(lots[d.ref]): lots[d.ref] for d in drawn if d.kind is SourceKind.SHEET}
    reserve = () if use_reserve else tuple(
        Reserve(material=lot.material, across_mm=lot.across_mm, around_mm=lot.around_mm, sheets=backs[size])
        for size, lot in sorted(sizes.items()) if backs[size]
    )  # fmt: skip
    # the same jobs on the same lots give the same plan again another week: the revision tells the two apart
    name = hashlib.sha256(f"{stock.ledger} {stock.revision} {day} {text}".encode()).hexdigest()
    return StockNote(
        ledger=stock.ledger, revision=stock.revision, day=day, plan=name, text=text, drawn=tuple(drawn), reserve=reserve
    )


def drawn_of(kind: SourceKind, one: Lot | RackOffcut, count: int) -> Drawn:
    """Return how a lot or an offcut stands, as a plan's note keeps it."""
    cents, relief = (one.price_cents, None) if isinstance(one, Lot) else (one.value_cents, one.relief)
    return Drawn(
        kind=kind, ref=one.id, count=count, across_mm=one.across_mm, around_mm=one.around_mm, cents=cents, lot=one.lot,
        expiry=one.expiry, relief=relief,
    )  # fmt: skip
