"""What to buy: for each size the order proposed today, why, and how the store fares with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from nest.domain.room import Buying, Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """Sheets of one size as the buyer counts them.

    ``kept_back`` are reserved for remakes, ``expiring`` will expire unused before the order after this one can come,
    ``committed`` are drawn by plans that are not released yet.
    """

    on_hand: int = 0
    kept_back: int = 0
    expiring: int = 0
    on_order: int = 0
    committed: int = 0

    @property
    def position(self) -> int:
        """What can be counted on: on hand and on order, less what is not free."""
        return self.on_hand - self.kept_back - self.expiring + self.on_order - self.committed


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """Demand until what is ordered at the next review has come: what an order today has to last for.

    ``low`` to ``high`` holds 95 of 100 simulated futures. ``enough`` is the stock that gives the service wanted,
    ``until`` the day that delivery comes.
    """

    days: int
    until: date
    low: int
    high: int
    enough: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """How the store fares if it is bought for like this, over the weeks simulated; means over the paths.

    ``short`` is the share of futures with a shortage on some day, ``served`` the share of sheets that were there when
    wanted. Money is the room's currency.
    """

    orders: float
    sheets: float
    bought: float
    ordering: float
    stock: float
    holding: float
    expired: float
    expired_value: float
    short: float
    served: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What to buy of one size today, and why.

    ``cost`` is of the sheets, without the cost of ordering. Risks are shares of the simulated futures: a shortage until
    ``cover.until`` with the order, without it, and already before it can come. The next order falls due on
    ``next_order``, in four futures of five between ``next_from`` and ``next_to``; None where it is later than the
    weeks simulated. ``notes`` are sentences on what changed the order.
    """

    size: str
    material: str
    across_mm: float
    around_mm: float
    sheets: int
    per_box: int
    price: float
    cost: float
    comes: date
    cover: Cover
    stand: Stand
    risk_with: float
    risk_without: float
    risk_before: float
    next_order: date | None
    next_from: date | None
    next_to: date | None
    outlook: Outlook
    notes: tuple[str, ...] = ()

    @property
    def boxes(self) -> int:
        """How many boxes the order is."""
        return self.sheets // self.per_box


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposals:
    """All sizes on one day. ``basis`` are sentences on what the simulated weeks stand on."""

    day: date
    unit: Unit
    currency: str
    buying: Buying
    sizes: tuple[Proposal, ...]
    paths: int
    weeks: int
    first_week: date
    basis: tuple[str, ...] = ()
