"""The store as a plan leaves it: what it drew is gone, rests it keeps are offcuts."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from nest.domain.plan import SourceKind
from nest.domain.room import Offcut

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room


def rest_name(sheet: str, rest: str) -> str:
    """Return the id under which a kept rest of a sheet goes into the store."""
    return f"{sheet}: {rest}"


def store_after(room: Room, sheets: Iterable[PlannedSheet], name: str) -> Room:
    """Return the room with what sheets drew taken out and their kept rests put in; ``name`` tells them from others.

    A kept rest's value is its credit; it has its sheet's lot and expiry.
    """
    sheets = list(sheets)
    drawn = Counter((sheet.source.kind, sheet.source.ref) for sheet in sheets)
    left = tuple(
        one if one.on_hand is None else replace(one, on_hand=one.on_hand - drawn[SourceKind.SHEET, one.id])
        for one in room.sheets
    )
    entries = {(SourceKind.SHEET, one.id): one.expiry for one in room.sheets}
    entries |= {(SourceKind.OFFCUT, one.id): one.expiry for one in room.offcuts}
    offcuts = tuple(one for one in room.offcuts if not drawn[SourceKind.OFFCUT, one.id])
    new = tuple(
        _offcut(sheet, at, name, entries[sheet.source.kind, sheet.source.ref])
        for sheet in sheets
        for at, rest in enumerate(sheet.rests)
        if rest.kept
    )
    return replace(room, sheets=left, offcuts=(*offcuts, *new))


def _offcut(sheet: PlannedSheet, at: int, name: str, expiry: date | None) -> Offcut:
    rest = sheet.rests[at]
    return Offcut(
        id=rest_name(f"{name} {sheet.id}", rest.id),
        material=sheet.material,
        across_mm=rest.rect.w,
        around_mm=rest.rect.h,
        value=rest.credit,
        lot=sheet.lot,
        expiry=expiry,
    )
