"""What the room has: machine limits, materials, stock and rates, lengths in mm, areas in m2."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from nest.domain.calendar import Calendar  # noqa: TC001 - the records are built from their type hints
from nest.domain.job import Turn
from nest.domain.line import USUAL_ROOM_LINE, BackTime, Line, StepTimes

if TYPE_CHECKING:
    from datetime import date


THIN_MM = 2.84
"""Plates up to this thickness count as thin (common practice)."""
THIN_HOURS, THICK_HOURS = 4.0, 20.0
USUAL_COUNTS = {"dryer": 10}
"""Equal machines of stations that do not say how many: a dryer has ten drawers (from memory), others are one."""


class Cutting(StrEnum):
    """How finished plates are parted into pieces."""

    GUILLOTINE = "guillotine"
    FREE = "free"


class Unit(StrEnum):
    """Unit of every length in the two input files."""

    MM = "mm"
    INCH = "in"


class Datum(StrEnum):
    """Corner that guides measure from, as one looks at the drawing."""

    BOTTOM_LEFT = "bottom-left"
    BOTTOM_RIGHT = "bottom-right"
    TOP_LEFT = "top-left"
    TOP_RIGHT = "top-right"


class Ruler(StrEnum):
    """Which way figures run on a drawing from the base side.

    ``AS_SEEN``: from the datum corner of every drawing. ``PRINT_SIDE``: from the same real edges as on the print side,
    so the other way round.
    """

    AS_SEEN = "as-seen"
    PRINT_SIDE = "print-side"


class Paper(StrEnum):
    """Paper that guides are laid out for: ISO 216, and letter and tabloid (ANSI/ASME Y14.1 sizes A and B)."""

    A4 = "a4"
    A3 = "a3"
    LETTER = "letter"
    TABLOID = "tabloid"


class Sides(StrEnum):
    """Sides of the sheet that guides are drawn from."""

    PRINT = "print"
    BASE = "base"
    BOTH = "both"


class Service(StrEnum):
    """What a service level is the share of: order cycles without a shortage, or demand served from stock."""

    CYCLE = "cycle"
    FILL_RATE = "fill-rate"


class OrderPolicy(StrEnum):
    """How orders are made: filled up to a level at every review, or lots of least cost below an order point."""

    FILL_UP = "fill-up"
    ORDER_POINT = "order-point"


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """How sheets are bought; the plan never depends on it.

    Days of reviewing are working days, those of shelf life calendar days from the delivery (None: they do not expire).
    ``holding_per_year`` is the share of its price that keeping a sheet for a year costs.
    """

    policy: OrderPolicy = OrderPolicy.FILL_UP
    service: Service = Service.CYCLE
    level: float = 0.95
    review_days: int = 5
    order_cost: float = 0.0
    holding_per_year: float = 0.0
    shelf_life_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreak:
    """Price of each sheet of an order of at least ``sheets``."""

    sheets: int
    price: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Guides:
    """How guides are drawn and measured; the plan never depends on it.

    ``unit`` is None for the room's. ``fractions`` is the smallest fraction of an inch on the ruler (16 for 1/16), 0 for
    decimals.
    """

    datum: Datum = Datum.BOTTOM_LEFT
    ruler: Ruler = Ruler.AS_SEEN
    unit: Unit | None = None
    fractions: int = 0
    paper: Paper = Paper.A3
    sides: Sides = Sides.BOTH


@dataclass(frozen=True, slots=True, kw_only=True)
class Imager:
    """Drum and holds of the laser imager, mm; how plates of one load lie on it and how long a load takes.

    ``resolution`` (ppi) is that of rows without one. ``slow_rpm`` is the drum speed of thick plates and of loads that
    cover little of the drum; None where the drum never runs slower.
    """

    max_across_mm: float
    max_around_mm: float
    min_across_mm: float = 0.0
    min_around_mm: float = 0.0
    clamp_mm: float = 0.0
    drum_tape_mm: float = 0.0
    trim_mm: float = 0.0
    rpm: float | None = None
    beams: int | None = None
    border_under_hold: bool = False
    resolution: float = 2540.0
    load_gap_mm: float = 15.0
    load_minutes: float = 5.0
    share_turn: bool = True
    slow_rpm: float | None = None
    slow_cover: float = 0.5
    slow_thickness_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A machine every plate passes in either turn, mm; ``max_*`` is None where unlimited.

    There are ``count`` equal ones. Each takes ``places`` plates at once, no more than its bed ``max_a`` by ``max_b``
    has area for. Plates of a station that ``start_together`` go in and come out together, as under a bank of lamps.
    """

    name: str
    max_a_mm: float | None = None
    max_b_mm: float | None = None
    min_a_mm: float = 0.0
    min_b_mm: float = 0.0
    bar_mm: float = 0.0
    count: int = 1
    places: int = 1
    start_together: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One plate material, mm; a None field takes the room's value.

    Either ``k_mm`` (measured K) or ``base_mm`` is given. ``base_mm`` is None only where ``k_mm`` is given.
    ``elapsed_hours`` is the usual time from the end of a batch until its plates are ready to mount. ``relief`` is the
    usual one (room's unit), ``back_exposures`` the seconds for each relief, ``times`` the steps whose times differ.
    """

    name: str
    thickness_mm: float
    base_mm: float | None = None
    k_mm: float | None = None
    gap_mm: float | None = None
    border_mm: float | None = None
    trim_mm: float | None = None
    bevel_deg: float | None = None
    elapsed_hours: float | None = None
    relief: float | None = None
    back_exposures: tuple[BackTime, ...] = ()
    times: dict[str, StepTimes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A stocked sheet size of one lot; ``on_hand`` is None where unlimited.

    What only the buyer needs: ``delivery_days`` and their standard deviation ``delivery_spread_days`` are working days,
    ``min_order`` counts sheets, ``shelf_life_days`` None is the room's.
    """

    id: str
    material: str
    across_mm: float
    around_mm: float
    price: float
    on_hand: int | None = None
    keep_back: int = 0
    per_box: int | None = None
    delivery_days: int | None = None
    delivery_spread_days: float = 0.0
    min_order: int = 0
    shelf_life_days: int | None = None
    price_breaks: tuple[PriceBreak, ...] = ()
    lot: str | None = None
    expiry: date | None = None
    received: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """One stored offcut; ``relief`` (room's unit) is set where it is already back-exposed to that floor."""

    id: str
    material: str
    across_mm: float
    around_mm: float
    value: float
    relief: float | None = None
    lot: str | None = None
    expiry: date | None = None
    received: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """Rates in the room's currency; areas in m2, lengths in mm."""

    plate: float = 0.0
    process_per_m2: float = 0.0
    cut: float = 0.0
    offcut_value: float = 0.0
    offcut_handling: float = 0.0
    offcut_full_side_mm: float = 0.0
    offcut_min_side_mm: float = 0.0
    offcut_min_area_m2: float = 0.0
    offcuts_per_sheet: int = 2
    raw_min_strip_mm: float = 0.0
    raw_parts_max: int = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Selling:
    """What a piece is sold for: at a rate by its cut area, at least a minimum."""

    rate_per_m2: float = 0.0
    minimum: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The whole room file."""

    unit: Unit = Unit.MM
    currency: str = "EUR"
    cutting: Cutting = Cutting.GUILLOTINE
    gap_mm: float = 0.0
    border_mm: float = 0.0
    bevel_deg: float = 0.0
    turn: Turn = Turn.SET
    group_by: tuple[str, ...] = ("relief", "resolution")
    seam_mm: float = 2.0
    pitch_mm: float | None = None
    imager: Imager
    stations: tuple[Station, ...] = ()
    materials: dict[str, Material]
    sheets: tuple[Sheet, ...] = ()
    offcuts: tuple[Offcut, ...] = ()
    costs: Costs = field(default_factory=Costs)
    guides: Guides = field(default_factory=Guides)
    calendar: Calendar | None = None
    buying: Buying = field(default_factory=Buying)
    selling: Selling | None = None
    line: Line = USUAL_ROOM_LINE

    def gap_of(self, material: str) -> float:
        """Return the least distance in mm between two pieces of this material."""
        own = self.materials[material].gap_mm
        return self.gap_mm if own is None else own

    def border_of(self, material: str) -> float:
        """Return the usual floor border in mm of this material."""
        own = self.materials[material].border_mm
        return self.border_mm if own is None else own

    def trim_of(self, material: str) -> float:
        """Return the rim in mm that is cut off a processed plate of this material."""
        own = self.materials[material].trim_mm
        return self.imager.trim_mm if own is None else own

    def bevel_of(self, material: str) -> float:
        """Return the bevel angle of this material in degrees from the vertical."""
        own = self.materials[material].bevel_deg
        return self.bevel_deg if own is None else own

    def station(self, name: str) -> Station:
        """Return a station by its name; one that the room does not describe takes one plate at a time."""
        described = next((station for station in self.stations if station.name == name), None)
        return described or Station(name=name, count=USUAL_COUNTS.get(name, 1))

    def elapsed_of(self, material: str) -> float:
        """Return the hours from the end of a batch until plates of this material are ready to mount.

        Where the room does not say: thin plates 4 h, thick ones 8 h and a night (common practice).
        """
        own = self.materials[material]
        if own.elapsed_hours is not None:
            return own.elapsed_hours
        return THIN_HOURS if own.thickness_mm <= THIN_MM else THICK_HOURS
