"""What to take from the store and what goes back; what the buyer finds there afterwards, and what expires soon.

'Soon' counts from the latest due date of the rows, never from today: the same input gives the same page.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from nest.domain.plan import SourceKind
from nest.output.words import size_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan, PlannedSheet
    from nest.domain.room import Room, Sheet

EXPIRY_DAYS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One line of the pick list: how many of which stock line, and for which sheets of the plan."""

    count: int
    kind: str
    ref: str
    material: str
    size: str
    expiry: str
    sheets: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A rest that goes back to the store."""

    id: str
    material: str
    size: str
    lot: str
    expiry: str
    credit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsLeft:
    """One stock line of sheets after this plan; ``on_hand`` and ``left`` are None where any number can be had."""

    ref: str
    material: str
    size: str
    lot: str
    expiry: str
    on_hand: int | None
    drawn: int
    left: int | None
    reserve: int
    reserve_used: int
    per_box: int | None
    delivery_days: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutLeft:
    """An offcut in the store after this plan; ``new`` where this plan makes it."""

    ref: str
    material: str
    size: str
    lot: str
    expiry: str
    value: float
    new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Expiry:
    """Stock left over that expires soon: how much, and how far from the last due date."""

    ref: str
    material: str
    lot: str
    expiry: str
    count: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreAfter:
    """The store as the plan leaves it; ``last_due`` is None where no row states a due date."""

    sheets: tuple[SheetsLeft, ...]
    offcuts: tuple[OffcutLeft, ...]
    last_due: date | None
    expiries: tuple[Expiry, ...]


def pick_list(plan: Plan, room: Room, places: Mapping[str, str]) -> dict[tuple[str, str], tuple[Take, ...]]:
    """Return what to take from the store by place and lot, each ``""`` where it is not known.

    ``places`` says where each stock line lies, by its id.
    """
    groups: dict[tuple[str, ...], list[PlannedSheet]] = defaultdict(list)
    for sheet in plan.sheets:
        ref = sheet.source.ref
        key = (places.get(ref, ""), sheet.lot or "", sheet.material, sheet.source.kind.value, ref, sheet.expiry or "")
        groups[key].append(sheet)
    out: dict[tuple[str, str], list[Take]] = defaultdict(list)
    for (place, lot, material, kind, ref, expiry), sheets in sorted(groups.items(), key=_unknown_last):
        size = size_words(sheets[0].across_mm, sheets[0].around_mm, room.unit)
        out[place, lot].append(
            Take(count=len(sheets), kind=kind, ref=ref, material=material, size=size, expiry=expiry,
                 sheets=tuple(sheet.id for sheet in sheets))
        )  # fmt: skip
    return {where: tuple(lines) for where, lines in out.items()}


def _unknown_last(item: tuple[tuple[str, ...], object]) -> tuple[object, ...]:
    place, lot, material, kind, ref, expiry = item[0]
    return (place == "", place, lot == "", lot, material, kind == SourceKind.OFFCUT.value, ref, expiry)


def put_back(plan: Plan, room: Room) -> tuple[Kept, ...]:
    """Return the rests that go back to the store, in the plan's order."""
    return tuple(
        Kept(id=rest.id, material=sheet.material, size=size_words(rest.rect.w, rest.rect.h, room.unit),
             lot=sheet.lot or "", expiry=sheet.expiry or "", credit=rest.credit)
        for sheet in plan.sheets for rest in sheet.rests if rest.kept
    )  # fmt: skip


def store_after(plan: Plan, room: Room, rows: Sequence[Row]) -> StoreAfter:
    """Return what is left in the store once the plan's sheets are drawn and its rests are back."""
    drawn = Counter((sheet.source.kind, sheet.source.ref) for sheet in plan.sheets)
    last = max((row.due.date() for row in rows if row.due is not None), default=None)
    sheets = tuple(_sheets_left(sheet, drawn[SourceKind.SHEET, sheet.id], room) for sheet in room.sheets)
    old = [
        OffcutLeft(ref=o.id, material=o.material, size=size_words(o.across_mm, o.around_mm, room.unit),
                   lot=o.lot or "", expiry="" if o.expiry is None else str(o.expiry), value=o.value, new=False)
        for o in room.offcuts if not drawn[SourceKind.OFFCUT, o.id]
    ]  # fmt: skip
    new = [
        OffcutLeft(ref=k.id, material=k.material, size=k.size, lot=k.lot, expiry=k.expiry, value=k.credit, new=True)
        for k in put_back(plan, room)
    ]
    offcuts = (*old, *new)
    return StoreAfter(sheets=sheets, offcuts=offcuts, last_due=last, expiries=_expiries(sheets, offcuts, last))


def _sheets_left(sheet: Sheet, drawn: int, room: Room) -> SheetsLeft:
    left = None if sheet.on_hand is None else sheet.on_hand - drawn
    return SheetsLeft(
        ref=sheet.id, material=sheet.material, size=size_words(sheet.across_mm, sheet.around_mm, room.unit),
        lot=sheet.lot or "", expiry="" if sheet.expiry is None else str(sheet.expiry), on_hand=sheet.on_hand,
        drawn=drawn, left=left, reserve=sheet.keep_back,
        reserve_used=0 if left is None else min(sheet.keep_back, max(0, sheet.keep_back - left)),
        per_box=sheet.per_box, delivery_days=sheet.delivery_days,
    )  # fmt: skip


def _expiries(
    sheets: Sequence[SheetsLeft], offcuts: Sequence[OffcutLeft], last: date | None
) -> tuple[Expiry, ...]:
    if last is None:
        return ()
    lines = [(s.ref, s.material, s.lot, s.expiry, "any number" if s.left is None else str(s.left))
             for s in sheets if s.left is None or s.left > 0]  # fmt: skip
    lines += [(o.ref, o.material, o.lot, o.expiry, "1") for o in offcuts]
    until = last + timedelta(days=EXPIRY_DAYS)
    return tuple(
        Expiry(ref=ref, material=material, lot=lot, expiry=expiry, count=count,
               when=_when((date.fromisoformat(expiry) - last).days))
        for ref, material, lot, expiry, count in sorted(lines, key=lambda line: (line[3], line[0]))
        if expiry and date.fromisoformat(expiry) <= until
    )  # fmt: skip


def _when(days: int) -> str:
    if days == 0:
        return "on the last due date"
    unit = "day" if abs(days) == 1 else "days"
    return f"{days} {unit} after the last due date" if days > 0 else f"{-days} {unit} before the last due date"
