"""What is there of a size: lots, orders on the way, the reserve; from a room file or from the ledger."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.buying.demand import SizeKey
from nest.buying.rolling import Opening
from nest.domain.plan import SourceKind
from nest.domain.workdays import workdays_between

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from nest.domain.plan import Plan
    from nest.domain.room import Room, Sheet
    from nest.domain.stock import Lot, OpenOrder, Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Lots:
    """Sheets of one lot and the last day they may be used (None: no limit)."""

    sheets: int
    expiry: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Sheets on order and the day they are to come."""

    sheets: int
    due: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """What is there of one size. ``committed`` is drawn by plans that are not released."""

    lots: tuple[Lots, ...] = ()
    orders: tuple[Due, ...] = ()
    kept_back: int = 0
    committed: int = 0

    def usable(self, day: date) -> tuple[Lots, ...]:
        """Return the lots that may be used on a day, first expired first."""
        there = [lot for lot in self.lots if lot.sheets and (lot.expiry is None or lot.expiry >= day)]
        return tuple(sorted(there, key=lambda lot: (lot.expiry is None, lot.expiry)))

    @property
    def on_order(self) -> int:
        """Sheets on order."""
        return sum(order.sheets for order in self.orders)

    def opening(self, day: date) -> Opening:
        """Return the store on a day in working days: the reserve is taken off the lots that last longest.

        Orders that are late are taken to come on the next working day.
        """
        back, lots = self.kept_back, []
        for lot in reversed(self.usable(day)):
            kept = min(back, lot.sheets)
            back -= kept
            unusable = None if lot.expiry is None else workdays_between(day, lot.expiry) + (lot.expiry.weekday() < 5)
            lots.append((lot.sheets - kept, unusable))
        due = tuple((one.sheets, max(1 if one.due < day else 0, workdays_between(day, one.due))) for one in self.orders)
        return Opening(lots=tuple(reversed(lots)), due=due, committed=self.committed)


def size_key(one: Sheet | Lot | OpenOrder) -> SizeKey:
    """Return the size of a sheet, a lot or an order, as simulated demand names it."""
    return SizeKey(material=one.material, across_mm=one.across_mm, around_mm=one.around_mm)


def kept_back(room: Room) -> dict[SizeKey, int]:
    """Return the reserve of each size of a room."""
    out: dict[SizeKey, int] = {}
    for sheet in room.sheets:
        out[size_key(sheet)] = out.get(size_key(sheet), 0) + sheet.keep_back
    return out


def from_room(room: Room) -> dict[SizeKey, Holding]:
    """Return what a room file says is there; a size without a number on hand counts as none."""
    lots: dict[SizeKey, list[Lots]] = {}
    for sheet in room.sheets:
        lots.setdefault(size_key(sheet), []).append(Lots(sheets=sheet.on_hand or 0, expiry=sheet.expiry))
    backs = kept_back(room)
    return {key: Holding(lots=tuple(own), kept_back=backs[key]) for key, own in lots.items()}


def from_stock(stock: Stock, room: Room) -> dict[SizeKey, Holding]:
    """Return what the ledger says is there and on order; the reserve is the room file's."""
    lots: dict[SizeKey, list[Lots]] = {key: [] for key in kept_back(room)}
    orders: dict[SizeKey, list[Due]] = {}
    for lot in stock.lots:
        lots.setdefault(size_key(lot), []).append(Lots(sheets=lot.on_hand, expiry=lot.expiry))
    for order in stock.orders:
        orders.setdefault(size_key(order), []).append(Due(sheets=order.open, due=order.due))
    backs = kept_back(room)
    return {
        key: Holding(lots=tuple(lots.get(key, ())), orders=tuple(orders.get(key, ())), kept_back=backs.get(key, 0))
        for key in {**lots, **orders}
    }


def drawn_of(plans: Iterable[tuple[Plan, Mapping[str, int]]]) -> Counter[SizeKey]:
    """Return how many sheets of each size plans draw whose sheets are not released yet.

    Each plan comes with its sheets that are released. Offcuts count for nothing.
    """
    return Counter(
        SizeKey(material=sheet.material, across_mm=sheet.across_mm, around_mm=sheet.around_mm)
        for plan, released in plans
        for sheet in plan.sheets
        if sheet.source.kind is SourceKind.SHEET and sheet.id not in released
    )
