"""Whether keeping offcuts pays: which were used, after how long and at what gain, and what to set in the room file.

Every offcut that was ever kept has one fate: used in a plan, lost (scrapped, expired, missed at a stock-take) or still
on the rack. What a used one saved is the cost of its pieces if they had been made as usual, less the work on it:

    saved = piece area × usual cost per area − (plates + processing + cuts) + credits of rests kept of it again

The usual cost per area is that of all sheets released whole from lots of the material: price, plates, processing and
cuts, less credits, by the area of their pieces. Keeping an offcut cost its credit (so much more the plan that kept it
was ready to pay for its sheets) and its handling; the gain is what was saved less both. That is on the careful side: a
rest that was left over anyway cost its handling only. (Own method.)
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

    ``worth_cents`` is its area at the raw price, ``credit_cents`` its book value when new, ``saved_cents`` what using
    it saved.
    """

    id: str
    side_mm: float
    area_m2: float
    made: date
    end: date | None
    fate: Fate
    worth_cents: float
    credit_cents: float
    saved_cents: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """A sheet made from an offcut: area of its pieces, cost of its work, credits of the rests kept again."""

    booking: int
    area_m2: float
    work_cents: float
    credit_cents: float


def offcuts_kept(ledger: Ledger) -> tuple[Kept, ...]:
    """Return every offcut that stands as booked, with its fate."""
    with ledger.snapshot():
        usual, uses = _releases(ledger)
        ends, prices = _ends(ledger), _raw_prices(ledger)
        rows = ledger.rows(
            "SELECT id, material, across, around, made, value FROM offcut WHERE booking IN (SELECT id FROM standing)"
        )
    out = []
    for ident, material, across, around, made, value in rows:
        end = ends.get(ident)
        area = area_m2(across, around)
        worth = area * prices[ident]
        fate = Fate.RACK if end is None else Fate.USED if end[0] == "draw" else Fate.LOST
        use = uses.get(ident) if fate is Fate.USED else None
        saved = 0.0
        if use is not None:
            # before anything was made from a whole sheet there is no usual cost: the raw price stands in
            usually = use.area_m2 * usual[material] - use.work_cents if material in usual else worth
            saved = usually + use.credit_cents
        out.append(
            Kept(
                id=ident, side_mm=to_mm(min(across, around)), area_m2=area, made=date.fromisoformat(made),
                end=None if end is None else date.fromisoformat(end[1]), fate=fate, worth_cents=worth,
                credit_cents=float(value), saved_cents=saved,
            )
        )  # fmt: skip
    return tuple(out)


def _releases(ledger: Ledger) -> tuple[dict[str, float], dict[str, Used]]:
    """Return the usual cost per m2 of pieces by material, and what was made of each offcut."""
    money: dict[str, float] = {}
    areas: dict[str, float] = {}
    uses: dict[str, Used] = {}
    for booking, area, work, material, price, offcut, credit in ledger.rows(
        "SELECT r.booking, r.area, r.work, l.material, l.price, m.offcut, "
        "(SELECT coalesce(sum(value), 0) FROM offcut o WHERE o.booking = r.booking) "
        "FROM released r JOIN movement m ON m.booking = r.booking AND m.kind = 'draw' LEFT JOIN lot l ON l.id = m.lot "
        "WHERE r.booking IN (SELECT id FROM standing) ORDER BY r.booking"
    ):
        if offcut is not None:
            uses[offcut] = Used(booking=booking, area_m2=area / 1e6, work_cents=work, credit_cents=credit)
        else:
            money[material] = money.get(material, 0.0) + price + work - credit
            areas[material] = areas.get(material, 0.0) + area / 1e6
    return {material: money[material] / area for material, area in areas.items() if area > 0}, uses


def _raw_prices(ledger: Ledger) -> dict[str, float]:
    """Return the raw price per m2 behind each offcut: that of the lot it comes from, else its own value."""
    lots = {
        ident: price / area_m2(across, around)
        for ident, price, across, around in ledger.rows("SELECT id, price, across, around FROM lot")
    }
    prices: dict[str, float] = {}
    # a parent is always booked before what was cut from it
    for ident, across, around, value, lot, parent in ledger.rows(
        "SELECT id, across, around, value, parent_lot, parent_offcut FROM offcut ORDER BY rowid"
    ):
        own = value / area_m2(across, around)
        prices[ident] = lots[lot] if lot is not None else prices.get(parent, own)
    return prices


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
        rack_credit_cents=math.fsum(one.credit_cents for one in all_kept if one.fate is Fate.RACK),
        days=median(days) if days else None, longest_days=days[-1] if days else None,
        saved_cents=math.fsum(one.saved_cents for one in decided),
        credit_cents=math.fsum(one.credit_cents for one in decided),
        handling_cents=handling * len(decided),
        worth_cents=math.fsum(one.worth_cents for one in decided),
        proposal=_proposal(decided, used, handling),
    )  # fmt: skip


def _proposal(decided: Sequence[Kept], used: Sequence[Kept], handling: float) -> Proposal | None:
    if len(decided) < LEAST_FATES:
        return None
    worth = math.fsum(one.worth_cents for one in decided)
    share = math.fsum(one.saved_cents for one in decided) / worth if worth else 0.0
    side, by_side = best_least(decided, lambda one: one.side_mm, SIDE_STEP_MM, handling)
    area, by_area = best_least(decided, lambda one: one.area_m2, AREA_STEP_M2, handling)
    return Proposal(
        keep=max(by_side, by_area) > 0 and share > 0,
        offcut_value=round(round(min(1.0, max(0.0, share)) / VALUE_STEP) * VALUE_STEP, 2),
        min_side_mm=side, min_area_m2=round(area, 2), rack_limit=most_at_once(used),
    )  # fmt: skip


def best_least(decided: Sequence[Kept], measure: Callable[[Kept], float], step: float,
               handling: float) -> tuple[float, float]:  # fmt: skip
    """Return the least size from which keeping would have saved most after handling, and how much that is.

    Sizes are multiples of ``step`` from that of the smallest offcut up; of equal sums the smaller size is taken.
    Credits do not count here: which sizes come back is one question, what they are worth beforehand another.
    """
    start = math.floor(min(measure(one) for one in decided) / step + 1e-9)
    stop = math.floor(max(measure(one) for one in decided) / step + 1e-9) + 1
    sums = {
        n: math.fsum(one.saved_cents - handling for one in decided if measure(one) >= n * step - 1e-9)
        for n in range(start, stop + 1)
    }
    best = max(sums, key=lambda n: (round(sums[n], 6), -n))
    return best * step, sums[best]


def most_at_once(used: Sequence[Kept]) -> int:
    """Return how many of the offcuts that were used later lay on the rack at the same time, at most."""
    events = sorted([(one.made, 1) for one in used] + [(one.end, -1) for one in used if one.end is not None])
    most = now = 0
    for _, change in events:
        now += change
        most = max(most, now)
    return most
