"""What the engine is asked, in the packing field's words: items in units, bin types, limits, rates.

Lengths are integers of 0.0001 mm, areas are their squares, money is in the currency. One problem holds one material;
problems of different materials are independent of each other.
"""

from __future__ import annotations

from dataclasses import dataclass

NEVER = 1e12
"""Money that stands for a batch in which a unit cannot be made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One rectangle to place. ``axes`` is a bit mask: 1 as given, 2 turned by a quarter."""

    row: int
    w: int
    h: int
    axes: int
    apart: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """Items placed whole or not at all on one plate; most units hold one item.

    ``group``: only units of one group share a plate. ``alone``: shares its plate with its own job only. ``level``
    is the index into the problem's keep-out levels up to which the unit may go. ``axis_set`` and ``lot_set`` name the
    set that binds it to one axis or one lot over all bins, -1 for none. ``bins`` are the bin types that serve it.
    ``early`` grows with an earlier due date, 0 to 1. ``window`` is its row in the problem's ``late``.
    """

    items: tuple[Item, ...]
    group: int
    job: int
    alone: bool
    level: int
    axis_set: int
    lot_set: int
    bins: tuple[int, ...]
    early: float
    window: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """A type of raw rectangle: size, price, credit per area of what is left, how many there are, lot index or -1."""

    name: str
    w: int
    h: int
    price: float
    rate: float
    stock: int
    lot: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Keep-out of the lead edge and of the other edges where all items of a plate have at least ``border``."""

    border: int
    lead: int
    side: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Machine limits and raw-cut rules; ``max_short``/``max_long`` bound the shorter and longer side."""

    gap: int
    max_across: int
    max_around: int
    min_across: int
    min_around: int
    max_short: int
    max_long: int
    min_short: int
    min_long: int
    strip: int
    full_side: int
    min_side: int
    parts: int
    keep: int
    free_cutting: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Money per plate, per plate area, per raw cut and per kept rest; ``min_area`` is the least rest worth keeping."""

    plate: float
    process: float
    cut: float
    handling: float
    min_area: float
    zero_credit: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One material's packing problem. ``levels`` ascend in border (so descend in keep-out).

    A plate is made in one of several batches: ``late`` (windows, batches) is what a unit costs there beyond its best
    batch, ``NEVER`` where it cannot be made then; ``batch_prices`` (batches,) is what a plate costs there besides. Both
    are empty where batches do not matter.
    """

    units: tuple[Unit, ...]
    bins: tuple[Bin, ...]
    levels: tuple[Level, ...]
    limits: Limits
    rates: Rates
    axis_sets: int
    lot_sets: int
    lots: int
    late: tuple[tuple[float, ...], ...] = ()
    batch_prices: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One item on a plate: its position from the bin's corner, without gap, and the axis it lies along."""

    unit: int
    item: int
    x: int
    y: int
    axis: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateLayout:
    """A plate in a bin: box, lead edge (0 at y0, 1 at x0), keep-out level it was made for, its items."""

    x: int
    y: int
    w: int
    h: int
    lead: int
    level: int
    placed: tuple[Placed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestLayout:
    """What raw cutting leaves of a bin."""

    x: int
    y: int
    w: int
    h: int
    kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BinLayout:
    """A filled bin: its plates, rests, raw cuts in order (x1, y1, x2, y2) and the cost the engine counts for it.

    The cost holds what its plates cost in the best batch for each, if batches matter.
    ``seed`` is the random state its fill began with, 0 where it was not filled at random.
    """

    bin: int
    cost: float
    plates: tuple[PlateLayout, ...]
    rests: tuple[RestLayout, ...]
    cuts: tuple[tuple[int, int, int, int], ...]
    seed: int = 0

    @property
    def units(self) -> frozenset[int]:
        """Units it holds."""
        return frozenset(placed.unit for plate in self.plates for placed in plate.placed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """What the engine found for one problem: filled bins, units left over, proven bound and how much work it took.

    ``axes`` holds the axis of each axis set, ``lots`` the lot of each lot set.
    """

    bins: tuple[BinLayout, ...]
    left: tuple[int, ...]
    axes: tuple[int, ...]
    lots: tuple[int, ...]
    bound: float
    proof: str
    work: int
