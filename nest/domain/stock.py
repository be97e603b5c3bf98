"""The store: lots of sheets, offcuts on the rack, and the movements that every balance is the sum of.

Lengths are mm, money is whole cents of the ledger's currency, days are dates without a time.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.domain.plan import SourceKind  # noqa: TC001 - the note is built from its type hints

if TYPE_CHECKING:
    from datetime import date

    from nest.domain.room import Unit


class MoveKind(StrEnum):
    """Why a balance changed."""

    RECEIPT = "receipt"
    DRAW = "draw"
    OFFCUT = "offcut"
    SCRAP = "scrap"
    RETURN = "return"
    COUNT = "count"
    EXPIRY = "expiry"


class Act(StrEnum):
    """What somebody did; one booking each."""

    START = "start"
    RECEIVE = "receive"
    RELEASE = "release"
    UNDO = "undo"
    SCRAP = "scrap"
    COUNT = "count"
    EXPIRE = "expire"
    IMPORT = "import"
    PLACE = "place"
    EXPOSE = "expose"
    SET = "set"
    REMAKE = "remake"
    ORDER = "order"
    CANCEL = "cancel"


class RemakeReason(StrEnum):
    """What spoilt a piece that is made again."""

    IMAGING = "imaging"
    WASH = "wash"
    SCRATCH = "scratch"
    MOUNTING = "mounting"
    CUSTOMER = "customer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """How the value of an offcut falls: days at full value, days until the least, days before expiry it wanes.

    See `nest.store.value` for the formula.
    """

    full_days: int = 30
    life_days: int = 360
    expiry_days: int = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """Sheets of one size and lot that come in together, before they have an id."""

    material: str
    across_mm: float
    around_mm: float
    sheets: int
    price_cents: int
    received: date
    lot: str | None = None
    expiry: date | None = None
    per_box: int | None = None
    place: str = ""
    delivery: str = ""
    id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """Sheets of one delivery, size and lot as the ledger knows them; ``on_hand`` is the sum of its movements."""

    id: str
    material: str
    across_mm: float
    around_mm: float
    price_cents: int
    received: date
    lot: str | None
    expiry: date | None
    per_box: int | None
    place: str
    delivery: str
    on_hand: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """An offcut to be booked, before it has an id; ``value_cents`` is its book value when new.

    ``parent`` is the id of the lot or offcut it was cut from, ``sheet`` the plan's sheet.
    """

    material: str
    across_mm: float
    around_mm: float
    value_cents: int
    made: date
    lot: str | None = None
    expiry: date | None = None
    relief: float | None = None
    exposed: date | None = None
    place: str = ""
    parent: str | None = None
    sheet: str | None = None
    id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RackOffcut:
    """An offcut as the ledger knows it; on the rack or gone.

    ``relief`` (the ledger's unit) is None while it is untouched with its film on; ``value_cents`` is the book value
    when new.
    """

    id: str
    material: str
    across_mm: float
    around_mm: float
    value_cents: int
    made: date
    lot: str | None
    expiry: date | None
    relief: float | None
    exposed: date | None
    place: str
    parent: str | None
    sheet: str | None
    on_rack: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One change of the balance of a lot or an offcut; ``sheet`` is the plan's sheet it belongs to."""

    kind: MoveKind
    ref: str
    change: int
    sheet: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Booked:
    """A booking as it stands in the ledger; ``said`` are facts it states beside movements, each with what it is of."""

    id: int
    act: Act
    day: date
    at: str
    reason: str
    undoes: int | None
    undone_by: int | None
    moves: tuple[Move, ...]
    said: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Sheets of one size that are ordered, before the order has an id; ``price_cents`` is None where not known."""

    material: str
    across_mm: float
    around_mm: float
    sheets: int
    due: date
    price_cents: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenOrder:
    """An order of which ``open`` sheets are still to come."""

    id: str
    material: str
    across_mm: float
    around_mm: float
    sheets: int
    open: int
    price_cents: int | None
    ordered: date
    due: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What the ledger holds at one revision. ``lots`` with none left and ``offcuts`` that are gone are in it too."""

    ledger: str
    revision: int
    unit: Unit
    currency: str
    lots: tuple[Lot, ...]
    offcuts: tuple[RackOffcut, ...]
    curve: Curve = field(default_factory=Curve)
    rack_limit: int | None = None
    orders: tuple[OpenOrder, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What a plan draws of one lot or offcut, and how that stood when it was planned."""

    kind: SourceKind
    ref: str
    count: int
    across_mm: float
    around_mm: float
    cents: int
    lot: str | None
    expiry: date | None
    relief: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reserve:
    """Sheets of one size that the plan had to leave in the store."""

    material: str
    across_mm: float
    around_mm: float
    sheets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StockNote:
    """Which ledger a plan was made from, and what it relies on.

    ``plan`` names the plan and everything made from it later: a sheet is released once under it. ``text`` is the
    SHA-256 of the plan file that the note belongs to.
    """

    ledger: str
    revision: int
    day: date
    plan: str
    text: str
    drawn: tuple[Drawn, ...]
    reserve: tuple[Reserve, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Remake:
    """Pieces made again: which, why, and what it costs."""

    job: str
    separation: str
    part: str
    reason: RemakeReason
    pieces: int
    cents: int
    sheet: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """One line of a stock-take: how many of a lot or offcut are there, and where where that is stated.

    ``fresh`` is set instead of ``ref`` for what was found without an id.
    """

    ref: str | None
    count: int
    place: str = ""
    fresh: Delivery | Found | None = None


class CutState(StrEnum):
    """What a line of an as-cut file says of a sheet or a rest."""

    KEPT = "kept"
    SCRAP = "scrap"
    DAMAGED = "damaged"
    DRAWN = "drawn"


@dataclass(frozen=True, slots=True, kw_only=True)
class AsCut:
    """One line of an as-cut file: what happened otherwise than planned.

    ``kept`` and ``scrap`` are said of a rest (``rest`` empty: one that the plan does not have), ``damaged`` of a sheet
    that was spoilt and taken again, ``drawn`` of a sheet that was taken from another ``source``.
    """

    sheet: str
    state: CutState
    rest: str = ""
    across_mm: float | None = None
    around_mm: float | None = None
    source: str = ""
    place: str = ""
    note: str = ""
    line: int = 0
