"""Releasing a plan: what its sheets draw and put back, booked sheet by sheet in one transaction; and taking it back.

A sheet is released once under its plan's name. Before anything is booked, what the plan relied on is compared with what
the ledger says now: only what touches the lots and offcuts drawn, or the reserve, matters.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from nest.domain.plan import CutStage
from nest.domain.stock import Act, Found, MoveKind
from nest.errors import StockError
from nest.store.actions import take_back
from nest.store.booking import Entry
from nest.store.room import drawn_of, size_of, usable
from nest.store.trouble import NOTHING
from nest.units import UNITS_PER_MM

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from nest.domain.plan import Plan, PlannedSheet
    from nest.domain.stock import Drawn, Lot, RackOffcut, Stock, StockNote
    from nest.store.booking import Done
    from nest.store.ledger import Ledger

NAME_CHARS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRelease:
    """What one sheet of a plan takes out of the store and puts back.

    ``area_mm2`` is that of its pieces, ``work_cents`` what its plates, their processing and its raw cuts cost.
    ``spoilt`` are lots or offcuts of which one more was taken and thrown away. ``other`` is set where the operator took
    another source than the plan says.
    """

    sheet: str
    source: str
    pieces: int
    rests: tuple[Found, ...]
    area_mm2: int = 0
    work_cents: int = 0
    spoilt: tuple[str, ...] = ()
    other: bool = False
    remark: str = ""


def planned_releases(plan: Plan, day: date, sheets: Collection[str] | None = None) -> tuple[SheetRelease, ...]:
    """Return what a plan's sheets draw and keep, in the plan's order.

    Raises
    ------
    StockError
        If a sheet asked for is not in the plan.
    """
    known = [sheet.id for sheet in plan.sheets]
    unknown = sorted({*(sheets or ())} - {*known})
    if unknown:
        raise StockError(f"the plan has no sheet {', '.join(unknown)}; it has {', '.join(known) or 'none'}")
    parts, totals = plan.totals.cost_parts, plan.totals
    plate = parts.plates / totals.plates if totals.plates else 0.0
    cut = parts.cuts / totals.raw_cuts if totals.raw_cuts else 0.0
    return tuple(_planned(sheet, day, plate, cut) for sheet in plan.sheets if sheets is None or sheet.id in sheets)


def _planned(sheet: PlannedSheet, day: date, plate_cost: float, cut_cost: float) -> SheetRelease:
    rests = tuple(
        Found(
            material=sheet.material, across_mm=rest.rect.w, around_mm=rest.rect.h,
            value_cents=round(rest.credit * 100), made=day, parent=sheet.source.ref, sheet=rest.id,
        )
        for rest in sheet.rests if rest.kept
    )  # fmt: skip
    pieces = [piece for plate in sheet.plates for piece in plate.pieces]
    cuts = sum(cut.stage is CutStage.RAW for cut in sheet.cuts)
    work = sum(plate.process + plate_cost for plate in sheet.plates) + cut_cost * cuts
    return SheetRelease(
        sheet=sheet.id, source=sheet.source.ref, pieces=len(pieces), rests=rests,
        area_mm2=round(sum(piece.rect.w * piece.rect.h for piece in pieces)), work_cents=round(100 * work),
    )  # fmt: skip


def release(ledger: Ledger, note: StockNote, sheets: Sequence[SheetRelease], day: date, *,
            keep: bool = True) -> tuple[Done, ...]:  # fmt: skip
    """Book the draws and kept rests of sheets, all of them or none.

    Parameters
    ----------
    ledger
        The ledger the plan was made from.
    note
        What the plan relied on.
    sheets
        What really was drawn and kept.
    day
        The day of the release.
    keep
        False to show what would be booked.

    Returns
    -------
    tuple of Done
        One booking per sheet; the offcuts' ids are in ``fresh``.

    Raises
    ------
    StockError
        If the ledger is another one, a sheet is released already, or the stock has changed in a way that matters.
    """
    with ledger.atomic(keep=keep):
        check_ledger(ledger, note)
        already = {**_same_text(ledger, note), **released(ledger, note.plan)}
        twice = [f"{one.sheet} (booking {already[one.sheet]})" for one in sheets if one.sheet in already]
        if twice:
            others = ",".join(one.sheet for one in sheets if one.sheet not in already)
            remedy = f"; release the others with --sheets {others}" if others else ""
            raise StockError(f"released already: {', '.join(twice)}{remedy}; {NOTHING}")
        found = changes(ledger.stock(), note, sheets, day)
        if found:
            lines = "".join(f"\n  {text}" for text in found)
            raise StockError(f"the store has changed since the plan was made:{lines}\n{NOTHING}")
        return tuple(_book(ledger, note, one, day) for one in sheets)


def _same_text(ledger: Ledger, note: StockNote) -> dict[str, int]:
    """Return the sheets that stand released from the very same plan, made anew before that release was booked.

    A plan made after it is another matter: the same jobs come again, and the store it saw had the first ones drawn.
    """
    return dict(
        ledger.rows(
            "SELECT sheet, booking FROM released WHERE text = ? AND booking > ? "
            "AND booking IN (SELECT id FROM standing) ORDER BY booking",
            (note.text, note.revision),
        )
    )


def check_ledger(ledger: Ledger, note: StockNote) -> None:
    """See that a ledger is the one a plan was made from.

    Raises
    ------
    StockError
        If it is another one, or older than the plan.
    """
    if ledger.id != note.ledger:
        raise StockError(f"{ledger.path}: the plan was made from another ledger; give that one; {NOTHING}")
    if ledger.revision() < note.revision:
        raise StockError(
            f"{ledger.path}: is older than the plan (booking {ledger.revision()}, planned at {note.revision}): was a "
            f"backup put back? plan again; {NOTHING}"
        )


def _book(ledger: Ledger, note: StockNote, one: SheetRelease, day: date) -> Done:
    name = f"{note.plan[:NAME_CHARS]}:{one.sheet}"
    key = f"release:{note.plan}:{one.sheet}"
    entry = Entry(ledger, Act.RELEASE, day, reason=f"{name} {one.remark}".strip(), key=key)
    for ref in one.spoilt:
        entry.move(MoveKind.SCRAP, ref, -1, sheet=name)
    entry.move(MoveKind.DRAW, one.source, -1, sheet=name)
    lot, expiry, relief, exposed = source_facts(ledger, one.source)
    for rest in one.rests:
        entry.book_offcut(
            replace(rest, parent=one.source, sheet=f"{note.plan[:NAME_CHARS]}:{rest.sheet or one.sheet}", lot=lot,
                    expiry=expiry, relief=relief, exposed=exposed)
        )  # fmt: skip
    ledger.insert("released", booking=entry.id, plan=note.plan, text=note.text, sheet=one.sheet, pieces=one.pieces,
        area=one.area_mm2, work=one.work_cents,
    )
    return entry.done()


def source_facts(ledger: Ledger, ref: str) -> tuple[str | None, date | None, float | None, date | None]:
    """Return lot, expiry, relief and day of back-exposure of a lot or offcut: what its rests have too."""
    for query in (
        "SELECT lot, expiry, relief, exposed FROM offcut_now WHERE id = ?",
        "SELECT lot, expiry, NULL, NULL FROM lot WHERE id = ?",
    ):
        for lot, expiry, relief, exposed in ledger.rows(query, (ref,)):
            return (
                lot,
                None if expiry is None else date.fromisoformat(expiry),
                None if relief is None else round(relief / UNITS_PER_MM, 4),
                None if exposed is None else date.fromisoformat(exposed),
            )
    raise StockError(f"{ref}: no lot or offcut of the ledger has this id; {NOTHING}")


def released(ledger: Ledger, plan: str) -> dict[str, int]:
    """Return the sheets of a plan that are released and stand, with their bookings."""
    return dict(
        ledger.rows(
            "SELECT sheet, booking FROM released WHERE plan = ? AND booking IN (SELECT id FROM standing) "
            "ORDER BY booking",
            (plan,),
        )
    )


def drawn_under(ledger: Ledger, plan: str) -> Counter[str]:
    """Return how many of each lot and offcut the released sheets of a plan drew, spoilt ones left out."""
    return Counter(
        ref
        for (ref,) in ledger.rows(
            "SELECT coalesce(m.lot, m.offcut) FROM released r JOIN movement m ON m.booking = r.booking "
            "WHERE m.kind = 'draw' AND r.plan = ? AND r.booking IN (SELECT id FROM standing)",
            (plan,),
        )
    )


def undo_release(ledger: Ledger, plan: str, sheets: Collection[str] | None, day: date, *,
                 keep: bool = True) -> tuple[Done, ...]:  # fmt: skip
    """Take a release back as new movements, the last sheet first.

    Raises
    ------
    StockError
        If a sheet is not released, or an offcut of it has been used since.
    """
    with ledger.atomic(keep=keep):
        standing = released(ledger, plan)
        missing = sorted({*(sheets or ())} - {*standing})
        if missing or not standing:
            what = ", ".join(missing) if missing else "no sheet of this plan"
            raise StockError(f"{what}: not released, so there is nothing to take back; {NOTHING}")
        chosen = [number for sheet, number in standing.items() if sheets is None or sheet in sheets]
        return tuple(take_back(ledger, number, day) for number in sorted(chosen, reverse=True))


def changes(stock: Stock, note: StockNote, sheets: Sequence[SheetRelease], day: date) -> list[str]:
    """Return what has changed in the store since planning that matters for releasing sheets, in words."""
    need: Counter[str] = Counter()
    for one in sheets:
        need.update((one.source, *one.spoilt))
    planned = {drawn.ref: drawn for drawn in note.drawn}
    lots, offcuts = {lot.id: lot for lot in stock.lots}, {o.id: o for o in stock.offcuts}
    found = []
    for ref, count in sorted(need.items()):
        if ref not in lots and ref not in offcuts:
            found.append(f"{ref}: no lot or offcut of the ledger has this id")
            continue
        found += _differences(lots[ref] if ref in lots else offcuts[ref], planned.get(ref), day)
        have = lots[ref].on_hand if ref in lots else int(offcuts[ref].on_rack)
        if have < count:
            gone = "is not on the rack any more" if ref in offcuts else f"holds {have}, {count} are drawn"
            found.append(f"{ref}: {gone}")
    return found + _reserve_taken(stock, note, need, day)


def _differences(one: Lot | RackOffcut, drawn: Drawn | None, day: date) -> list[str]:
    """Return how a lot or offcut differs from what the plan relied on; None where it was not planned."""
    found = []
    if not usable(one.expiry, day):
        found.append(f"{one.id}: its use-by date {one.expiry} has passed")
    if drawn is None:
        return found
    now = drawn_of(drawn.kind, one, drawn.count)
    for what, field in (
        ("size", "across_mm"),
        ("size", "around_mm"),
        ("price", "cents"),
        ("lot", "lot"),
        ("use-by date", "expiry"),
    ):
        if getattr(now, field) != getattr(drawn, field):
            found.append(f"{one.id}: its {what} was {getattr(drawn, field)} and is {getattr(now, field)}")
    if now.relief != drawn.relief:
        state = "has been back-exposed since" if drawn.relief is None else "is another relief now"
        found.append(f"{one.id}: {state}")
    return found


def _reserve_taken(stock: Stock, note: StockNote, need: Counter[str], day: date) -> list[str]:
    """Return which reserve the draws would break into, where the plan had to leave it."""
    found = []
    for reserve in note.reserve:
        lots = [lot for lot in stock.lots if size_of(lot) == size_of(reserve) and usable(lot.expiry, day)]
        drawn = sum(need[lot.id] for lot in lots)
        left = sum(lot.on_hand for lot in lots) - drawn
        if drawn and 0 <= left < reserve.sheets:
            size = f"{reserve.material} across {reserve.across_mm:g} / around {reserve.around_mm:g} mm"
            found.append(f"{size}: {left} would be left, the reserve is {reserve.sheets}")
    return found


def release_days(ledger: Ledger) -> dict[tuple[str, str], date]:
    """Return the day each sheet was released, by the name of its plan and the sheet's id, without what was undone."""
    return {
        (plan, sheet): date.fromisoformat(day)
        for plan, sheet, day in ledger.rows(
            "SELECT released.plan, released.sheet, standing.day FROM released "
            "JOIN standing ON standing.id = released.booking ORDER BY standing.id"
        )
    }
