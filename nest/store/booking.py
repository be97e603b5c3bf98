"""Writing one booking: who did what, the movements it makes, and ids for what is new."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.stock import Act, Move, MoveKind
from nest.errors import StockError
from nest.store.trouble import NOTHING
from nest.units import UNITS_PER_MM, plain, to_units

if TYPE_CHECKING:
    from datetime import date

    from nest.domain.stock import Delivery, Found
    from nest.store.ledger import Ledger

MOST = 10**12
"""Above any length (0.0001 mm), sum of cents or count that a plate room has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What one booking did: its number, its movements, and the lots or offcuts that are new."""

    booking: int
    act: Act
    reason: str
    moves: tuple[Move, ...]
    fresh: tuple[str, ...] = ()
    told: tuple[str, ...] = ()


class Entry:
    """A booking under way; inside `Ledger.atomic` only. ``moves`` are the movements made so far."""

    def __init__(self, ledger: Ledger, act: Act, day: date, *, reason: str = "", key: str | None = None,
                 undoes: int | None = None) -> None:  # fmt: skip
        self.ledger = ledger
        self.act, self.day, self.reason = act, day, one_line(reason, "a reason")
        if key is not None:
            self._refuse_twice(key)
        self.moves: list[Move] = []
        self.fresh: list[str] = []
        self.told: list[str] = []
        self.id = ledger.insert(
            "booking", act=act.value, day=day.isoformat(), reason=self.reason, key=key, undoes=undoes
        )

    def done(self) -> Done:
        """Return what the booking did."""
        return Done(
            booking=self.id, act=self.act, reason=self.reason, moves=tuple(self.moves), fresh=tuple(self.fresh),
            told=tuple(self.told),
        )  # fmt: skip

    def _refuse_twice(self, key: str) -> None:
        found = self.ledger.rows("SELECT id, day FROM standing WHERE key = ?", (key,))
        if found:
            number, day = found[0]
            raise StockError(f"{self.ledger.path}: booked already, as booking {number} on {day}; {NOTHING}")

    def move(self, kind: MoveKind, ref: str, change: int, *, sheet: str | None = None) -> None:
        """Change the balance of a lot or an offcut.

        Raises
        ------
        StockError
            If there is no such lot or offcut, or its balance would go below zero.
        """
        column = kind_of(self.ledger, ref)
        self._check_balance(column, ref, change)
        self.ledger.insert("movement", booking=self.id, kind=kind.value, change=change, sheet=sheet, **{column: ref})
        self.moves.append(Move(kind=kind, ref=ref, change=change, sheet=sheet))

    def _check_balance(self, column: str, ref: str, change: int) -> None:
        have = self.ledger.rows(f"SELECT coalesce(sum(change), 0) FROM movement WHERE {column} = ?", (ref,))[0][0]
        if have + change < 0:
            what = "is not on the rack" if column == "offcut" else f"holds {have}, {-change} asked for"
            raise StockError(f"{ref}: {what}; see nest stock list; {NOTHING}")
        if column == "offcut" and have + change > 1:
            raise StockError(f"{ref}: is on the rack already; {NOTHING}")

    def receive(self, delivery: Delivery, kind: MoveKind = MoveKind.RECEIPT) -> str:
        """Book a delivery as a lot of its own and return the lot's id."""
        ident = delivery.id or next_id(self.ledger, "lot")
        refuse_taken(self.ledger, ident)
        self.fresh.append(ident)
        self.ledger.insert(
            "lot", id=ident, booking=self.id, material=name(delivery.material, "a material"),
            across=size(delivery.across_mm), around=size(delivery.around_mm), price=amount(delivery.price_cents),
            received=delivery.received.isoformat(), lot=one_line(delivery.lot or "", "a lot") or None,
            expiry=None if delivery.expiry is None else delivery.expiry.isoformat(), per_box=delivery.per_box,
            delivery=one_line(delivery.delivery, "a delivery"),
        )  # fmt: skip
        if delivery.sheets:
            self.move(kind, ident, delivery.sheets)
        self.place(ident, delivery.place)
        return ident

    def book_offcut(self, found: Found, kind: MoveKind = MoveKind.OFFCUT) -> str:
        """Put an offcut on the rack and return its id."""
        ident = found.id or next_id(self.ledger, "offcut")
        refuse_taken(self.ledger, ident)
        self.fresh.append(ident)
        parents: dict[str, str | None] = {"parent_lot": None, "parent_offcut": None}
        if found.parent is not None:
            parents[f"parent_{kind_of(self.ledger, found.parent)}"] = found.parent
        self.ledger.insert(
            "offcut", id=ident, booking=self.id, material=name(found.material, "a material"),
            across=size(found.across_mm), around=size(found.around_mm), value=amount(found.value_cents),
            made=found.made.isoformat(), lot=one_line(found.lot or "", "a lot") or None,
            expiry=None if found.expiry is None else found.expiry.isoformat(),
            sheet=one_line(found.sheet or "", "a sheet") or None, **parents,
        )  # fmt: skip
        self.move(kind, ident, 1, sheet=found.sheet)
        self.place(ident, found.place)
        if found.relief is not None:
            self.expose(ident, found.relief, found.exposed)
        return ident

    def place(self, ref: str, place: str) -> None:
        """State where a lot or an offcut lies; an empty place changes nothing."""
        if place.strip():
            column = kind_of(self.ledger, ref)
            where = name(place, "a place")
            self.ledger.insert("placing", booking=self.id, place=where, **{column: ref})
            self.told.append(f"{ref} lies at {where}")

    def expose(self, ref: str, relief: float, day: date | None) -> None:
        """State that an offcut was back-exposed to a relief (the ledger's unit), and when."""
        self.ledger.insert(
            "exposure", booking=self.id, offcut=ref, relief=round(relief * UNITS_PER_MM),
            day=None if day is None else day.isoformat(),
        )  # fmt: skip
        self.told.append(f"{ref} is back-exposed to relief {plain(relief)}")


def kind_of(ledger: Ledger, ref: str) -> str:
    """Return ``lot`` or ``offcut``, whichever has the id.

    Raises
    ------
    StockError
        If neither has.
    """
    for table in ("lot", "offcut"):
        if ledger.rows(f"SELECT 1 FROM {table} WHERE id = ?", (ref,)):
            return table
    raise StockError(f"{ref}: no lot or offcut of the ledger has this id; see nest stock list")


def next_id(ledger: Ledger, table: str) -> str:
    """Return the id after the highest that was ever given out: L-0001 for lots, F-0001 for offcuts."""
    letter = "L" if table == "lot" else "F"
    highest = ledger.rows(
        f"SELECT max(CAST(substr(id, 3) AS INTEGER)) FROM {table} WHERE id GLOB '{letter}-[0-9]*' "
        "AND substr(id, 3) NOT GLOB '*[^0-9]*' AND length(id) <= 11"
    )[0][0]
    return f"{letter}-{(highest or 0) + 1:04d}"


def refuse_taken(ledger: Ledger, ident: str) -> None:
    """Check that an id is new.

    Raises
    ------
    StockError
        If a lot or an offcut has it.
    """
    if ledger.rows("SELECT 1 FROM lot WHERE id = :id UNION ALL SELECT 1 FROM offcut WHERE id = :id", {"id": ident}):
        raise StockError(f"{ident}: the ledger has this id already; {NOTHING}")


def size(mm: float) -> int:
    """Return a length in 0.0001 mm.

    Raises
    ------
    StockError
        If it is no size of a sheet.
    """
    units = to_units(mm)
    if not 0 < units < MOST:
        raise StockError(f"a size must be above 0, got {mm} mm; {NOTHING}")
    return units


def amount(cents: int) -> int:
    """Return an amount of money as given.

    Raises
    ------
    StockError
        If it is negative or beyond any price.
    """
    if not 0 <= cents < MOST:
        raise StockError(f"an amount must be 0 or more, got {cents} cents; {NOTHING}")
    return cents


def name(text: str, what: str) -> str:
    """Return a text that may not be empty.

    Raises
    ------
    StockError
        If it is empty or not one line.
    """
    if not text.strip():
        raise StockError(f"{what} must be named; {NOTHING}")
    return one_line(text, what)


def one_line(text: str, what: str) -> str:
    """Return a text without white space at its ends.

    Raises
    ------
    StockError
        If it is more than one line or holds control characters.
    """
    text = text.strip()
    if any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text):
        raise StockError(f"{what} must be one line of text without control characters; {NOTHING}")
    return text
