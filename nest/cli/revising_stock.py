"""Revisions of a plan that draws from the ledger: its released sheets, the stock as it is now, the note, remakes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.cli.stock_view import StockView, open_ledger, view_of
from nest.domain.stock import Remake, RemakeReason
from nest.output.stock_note import NAME, dump_note, load_note, text_name
from nest.store.release import check_ledger, drawn_under, released
from nest.store.remakes import book_remake
from nest.store.room import as_if_not_drawn, note_of, renewed_note

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date
    from pathlib import Path

    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.domain.stock import StockNote
    from nest.revise.remakes_file import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerSide:
    """What the ledger says of a plan: its note, its released sheets, what they drew, and the store as it is now."""

    path: Path
    note: StockNote
    released: frozenset[str]
    drawn: Mapping[str, int]
    view: StockView


def ledger_side(path: Path, plan_file: Path, room: Room, day: date | None, *, quiet: bool) -> LedgerSide:
    """Return what the ledger says of the plan in a file.

    Raises
    ------
    InputError
        If the plan has no note beside it, or another plan's.
    StockError
        If the ledger cannot be read, or is not the one that the plan draws from.
    """
    note = load_note(plan_file.with_name(NAME), plan_file.read_text(encoding="utf-8"))
    with open_ledger(path) as ledger:
        check_ledger(ledger, note)
        out, drawn = frozenset(released(ledger, note.plan)), drawn_under(ledger, note.plan)
    return LedgerSide(path=path, note=note, released=out, drawn=drawn, view=view_of(path, room, day, quiet=quiet))


def revised_note(side: LedgerSide, plan: Plan, text: str, *, use_reserve: bool) -> dict[str, str]:
    """Return the note of a revised plan; what is released stays released under it."""
    stock = as_if_not_drawn(side.view.stock, side.drawn)
    new = note_of(plan, text_name(text), stock, side.view.room, side.view.day, use_reserve=use_reserve)
    return {NAME: dump_note(renewed_note(side.note, new))}


def book_remakes(side: LedgerSide, entries: Iterable[Entry], *, keep: bool) -> None:
    """Book pieces made again, each by itself; with ``keep`` false only see whether that could be done.

    Raises
    ------
    StockError
        If one is booked already.
    """
    with open_ledger(side.path) as ledger:
        for one in entries:
            job, separation, part = one.key
            made = Remake(
                job=job, separation=separation, part=part, reason=RemakeReason(one.reason.value), pieces=1,
                cents=max(0, round(100 * one.cost)), sheet=one.sheet,
            )  # fmt: skip
            key = f"{side.note.plan}:{job}/{separation}/{part}#{one.copy}"
            book_remake(ledger, made, one.date, key=key, keep=keep)
