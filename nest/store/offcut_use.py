"""Whether keeping offcuts pays: which were used, after how long and at what gain, and what to set in the room file.

Every offcut that was ever kept has one fate: used in a plan, lost (scrapped, expired, missed at a stock-take) or still
on the rack. The gain of a used one is the raw price of the area that plans made plates of (its area less the rests kept
of it again), less the handling that keeping it cost; a lost one has cost its handling. The raw price is that of the lot
the offcut comes from. This counts a square metre of an offcut as a square metre not bought, which sheets of whole sizes
allow in the long run only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from statistics import median
from typing import TYPE_CHECKING

from nest.domain.stock_reports import OffcutUse, Proposal
from nest.units import area_m2, to_mm

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.store.ledger import Ledger

LEAST_FATES = 12
"""Fewer decided fates than this are no ground for a proposal."""
SIDE_STEP_MM, AREA_STEP_M2, VALUE_STEP = 25.0, 0.02, 0.05


class Fate(StrEnum):
    """What became of an offcut."""

    USED = "used"
    LOST = "lost"
    RACK = "rack"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """An offcut that was kept: its size, when it was made and when its fate was decided, and what that brought.

    ``worth_cents`` is its area at the raw price; ``used_cents`` that of the area plates were made of.
    """

    id: str
    side_mm: float
    area_m2: float
    made: date
    end: date | None
    fate: Fate
    worth_cents: float
    used_cents: float

    def gain_cents(self, handling: float) -> float:
        """Return what keeping it brought; ``handling`` is what keeping one costs, in cents."""
        return self.used_cents - handling


def offcuts_kept(ledger: Ledger) -> tuple[Kept, ...]:
    """Return every offcut that stands as booked, with its fate."""
    with ledger.snapshot():
        offcuts = {
            ident: (across, around, date.fromisoformat(made), lot, offcut, booking)
            for ident, across, around, made, lot, offcut, booking in ledger.rows(
                "SELECT id, across, around, made, parent_lot, parent_offcut, booking FROM offcut "
                "WHERE booking IN (SELECT id FROM standing)"
            )
        }
        prices = {
            ident: price / area_m2(across, around)
            for ident, price, across, around in ledger.rows("SELECT id, price, across, around FROM lot")
        }
        values = {
            ident: value / area_m2(across, around)
            for ident, value, across, around in ledger.rows("SELECT id, value, across, around FROM offcut")
        }
        ends = _ends(ledger)

    def price_of(ident: str) -> float:
        lot, parent = offcuts[ident][3], offcuts[ident][4]
        if lot is not None:
            return float(prices[lot])
        # of an offcut whose lot is not known its own value is the best guess
        return float(values[ident]) if parent is None or parent not in offcuts else price_of(parent)

    again: dict[tuple[str, int], float] = {}
    for across, around, _, _, parent, booking in offcuts.values():
        if parent is not None:
            again[parent, booking] = again.get((parent, booking), 0.0) + area_m2(across, around)
    return tuple(
        _kept(ident, offcuts[ident][0], offcuts[ident][1], offcuts[ident][2], price_of(ident), ends.get(ident), again)
        for ident in offcuts
    )


def _ends(ledger: Ledger) -> dict[str, tuple[str, str, int]]:
    """Return how each offcut that is gone left the rack: the kind of movement, its day and its booking."""
    ends: dict[str, tuple[str, str, int]] = {}
    for ident, change, kind, day, booking in ledger.rows(
        "SELECT m.offcut, m.change, m.kind, b.day, b.id FROM movement m JOIN standing b ON b.id = m.booking "
        "WHERE m.offcut NOT NULL AND b.act <> 'undo' ORDER BY m.id"
    ):
        if change < 0:
            ends[ident] = kind, day, booking
        else:
            ends.pop(ident, None)
    return ends


def _kept(ident: str, across: int, around: int, made: date, price: float, end: tuple[str, str, int] | None,
          again: dict[tuple[str, int], float]) -> Kept:  # fmt: skip
    area = area_m2(across, around)
    fate = Fate.RACK if end is None else Fate.USED if end[0] == "draw" else Fate.LOST
    used = area - again.get((ident, end[2]), 0.0) if end is not None and fate is Fate.USED else 0.0
    return Kept(
        id=ident, side_mm=to_mm(min(across, around)), area_m2=area, made=made,
        end=None if end is None else date.fromisoformat(end[1]), fate=fate, worth_cents=area * price,
        used_cents=max(0.0, used) * price,
    )  # fmt: skip


def offcut_use(all_kept: Sequence[Kept], day: date, handling: float) -> OffcutUse:
    """Return the report and the proposals.

    Parameters
    ----------
    all_kept
        Every offcut ever kept, from `offcuts_kept`.
    day
        The day of the report.
    handling
        What keeping one offcut costs, in cents.
    """
    used = [one for one in all_kept if one.fate is Fate.USED and one.end is not None]
    lost = [one for one in all_kept if one.fate is Fate.LOST]
    days = sorted((one.end - one.made).days for one in used if one.end is not None)
    decided = [*used, *lost]
    # what lies longer than nearly all that were ever used is counted as lost, or nothing but success would be decided
    late = days[math.ceil(0.9 * len(days)) - 1] if len(days) >= LEAST_FATES else None
    if late is not None:
        decided += [one for one in all_kept if one.fate is Fate.RACK and (day - one.made).days > late]
    return OffcutUse(
        kept=len(all_kept), used=len(used), lost=len(lost), rack=len(all_kept) - len(used) - len(lost),
        days=median(days) if days else None, longest_days=days[-1] if days else None,
        gain_cents=math.fsum(one.gain_cents(handling) for one in decided),
        used_cents=math.fsum(one.used_cents for one in decided),
        worth_cents=math.fsum(one.worth_cents for one in decided),
        proposal=_proposal(decided, used, handling),
    )  # fmt: skip


def _proposal(decided: Sequence[Kept], used: Sequence[Kept], handling: float) -> Proposal:
    if len(decided) < LEAST_FATES:
        return Proposal(offcut_value=None, min_side_mm=None, min_area_m2=None, rack_limit=None)
    worth = math.fsum(one.worth_cents for one in decided)
    share = math.fsum(one.used_cents for one in decided) / worth if worth else 0.0
    return Proposal(
        offcut_value=round(round(min(1.0, share) / VALUE_STEP) * VALUE_STEP, 2),
        min_side_mm=best_least(decided, lambda one: one.side_mm, SIDE_STEP_MM, handling),
        min_area_m2=round(best_least(decided, lambda one: one.area_m2, AREA_STEP_M2, handling), 2),
        rack_limit=most_at_once(used),
    )


def best_least(decided: Sequence[Kept], measure: Callable[[Kept], float], step: float, handling: float) -> float:
    """Return the least size from which keeping would have brought most: the sum of gains from it upward is largest.

    Sizes are multiples of ``step`` from that of the smallest offcut up; of equal sums the smaller size is taken.
    """
    start = math.floor(min(measure(one) for one in decided) / step + 1e-9)
    stop = math.floor(max(measure(one) for one in decided) / step + 1e-9) + 1
    sums = {
        n: math.fsum(one.gain_cents(handling) for one in decided if measure(one) >= n * step - 1e-9)
        for n in range(start, stop + 1)
    }
    return max(sums, key=lambda n: (round(sums[n], 6), -n)) * step


def most_at_once(used: Sequence[Kept]) -> int:
    """Return how many of the offcuts that were used later lay on the rack at the same time, at most."""
    events = sorted([(one.made, 1) for one in used] + [(one.end, -1) for one in used if one.end is not None])
    most = now = 0
    for _, change in events:
        now += change
        most = max(most, now)
    return most
