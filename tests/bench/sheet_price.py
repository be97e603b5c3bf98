"""What the cheapest sheet around one packed box costs, by the rules of the room: cut-downs, lead edges, credits.

Written from the rules, not from the engine, so that a general packing library is priced as a plate room would pay.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.packing.translate import keep_out_units, limits_of, rates_of, stock_of
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.domain.room import Room
    from nest.packing.problem import Bin

EQUAL_PARTS = (2, 3)
"""Equal parts offered of a sheet that no machine takes whole."""
CUT_SHARES = (0.35, 0.5, 0.65, 0.8)
"""Shares of a plate's side that cut-downs are offered at; a filled one is priced at what lies in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A sheet, or one of ``parts`` equal parts of it, at its share of price and cuts; ``bin`` is the sheet's index."""

    bin: int
    w: int
    h: int
    parts: int
    price: float
    rate: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a library may fill: the inside (w, h) of a plate of a region, keep-outs taken off.

    ``part`` marks a plate cut down on purpose, so that the library packs tight what leaves a rest worth keeping.
    """

    region: Region
    w: int
    h: int
    part: bool = False


class Pricer:
    """Prices boxes on the stock of one material, all plates with one pair of keep-outs."""

    def __init__(self, room: Room, material: str, least_border: int) -> None:
        self.limits, self.rates = limits_of(room, material), rates_of(room)
        self.lead, self.side = keep_out_units(room, material, least_border)
        lots = sorted({e.lot for stored in (room.sheets, room.offcuts) for e in stored if e.lot})
        self.stock, self.bins = stock_of(room, material, False, lots)
        self.regions = [region for at, b in enumerate(self.bins) for region in self.regions_of(at, b)]
        self._known: dict[tuple[Region, int, int], float | None] = {}

    def regions_of(self, at: int, b: Bin) -> Iterator[Region]:
        """Yield a sheet whole, and its equal parts where it is too large to load whole."""
        yield Region(bin=at, w=b.w, h=b.h, parts=1, price=b.price, rate=b.rate)
        if any(self.loadable(b.w, b.h, lead) for lead in (0, 1)):
            return
        for n in EQUAL_PARTS:
            price = (b.price + (n - 1) * self.rates.cut) / n
            for w, h in ((b.w // n, b.h), (b.w, b.h // n)):
                if min(w, h) >= self.limits.strip and n <= self.limits.parts:
                    yield Region(bin=at, w=w, h=h, parts=n, price=price, rate=b.rate)

    def loadable(self, w: int, h: int, lead: int) -> bool:
        """Return whether the machines take a plate with its lead edge along x (0) or along y (1)."""
        lim = self.limits
        across, around = (w, h) if lead == 0 else (h, w)
        return (
            lim.min_across <= across <= lim.max_across
            and lim.min_around <= around <= lim.max_around
            and lim.min_short <= min(w, h) <= lim.max_short
            and lim.min_long <= max(w, h) <= lim.max_long
        )

    def hold(self, lead: int) -> tuple[int, int]:
        """Return what keep-outs take off a plate's width and height."""
        return (2 * self.side, self.lead + self.side) if lead == 0 else (self.lead + self.side, 2 * self.side)

    def offers(self) -> list[Offer]:
        """Return the insides of plates of all regions in stock: the largest for each lead edge, then cut-downs."""
        out = []
        for region in self.regions:
            if self.bins[region.bin].stock < 1:
                continue
            for lead in (0, 1):
                if (size := self.largest(region, lead)) is not None:
                    w, h = (length - hold for length, hold in zip(size, self.hold(lead), strict=True))
                    if min(w, h) > 0:
                        out.append(Offer(region=region, w=w, h=h))
        cut = [
            Offer(region=o.region, w=round(o.w * a), h=round(o.h * b), part=True)
            for o in out for share in CUT_SHARES for a, b in ((share, 1.0), (1.0, share))
        ]  # fmt: skip
        return out + cut

    def largest(self, region: Region, lead: int) -> tuple[int, int] | None:
        """Return the largest plate of a region, cut down no more than machines ask for."""
        lim = self.limits
        top_w, top_h = (lim.max_across, lim.max_around) if lead == 0 else (lim.max_around, lim.max_across)
        sizes = []
        for most_w, most_h in ((lim.max_short, lim.max_long), (lim.max_long, lim.max_short)):
            w = self.cut_to(region.w, min(top_w, most_w))
            h = self.cut_to(region.h, min(top_h, most_h))
            if self.loadable(w, h, lead):
                sizes.append((w, h))
        return max(sizes, key=lambda s: (s[0] * s[1], s), default=None)

    def cut_to(self, length: int, most: int) -> int:
        """Return the longest length up to ``most`` that leaves no strip too narrow to cut."""
        return length if length <= most else min(most, length - self.limits.strip)

    def credit(self, rate: float, w: int, h: int) -> float:
        """Return what a rest earns, 0 where it is not worth keeping."""
        lim, short, area = self.limits, min(w, h), float(w) * h
        if short < lim.min_side or area < self.rates.min_area:
            return 0.0
        share = min(1.0, short / lim.full_side) if lim.full_side else 1.0
        return max(0.0, money(rate * area * share - self.rates.handling))

    def needs(self, w: int, h: int, lead: int) -> Iterator[tuple[int, int]]:
        """Yield the least plates around a box for one lead edge, grown to the machines' least sizes."""
        lim, (hold_w, hold_h) = self.limits, self.hold(lead)
        low_w, low_h = (lim.min_across, lim.min_around) if lead == 0 else (lim.min_around, lim.min_across)
        w, h = max(w + hold_w, low_w, lim.min_short), max(h + hold_h, low_h, lim.min_short)
        if max(w, h) >= lim.min_long:
            yield w, h
        else:
            yield lim.min_long, h
            yield w, lim.min_long

    def box_price(self, region: Region, w: int, h: int) -> float | None:
        """Return the least cost of a plate around a box in a region, None where it does not fit."""
        key = (region, w, h)
        if key not in self._known:
            costs = [
                self.plate_price(region, size, lead)
                for lead in (0, 1)
                for a, b in {(w, h), (h, w)}
                for need_w, need_h in self.needs(a, b, lead)
                if need_w <= region.w and need_h <= region.h
                for size in {(need_w, need_h), (region.w, need_h), (need_w, region.h), (region.w, region.h)}
            ]
            self._known[key] = min((cost for cost in costs if cost is not None), default=None)
        return self._known[key]

    def plate_price(self, region: Region, size: tuple[int, int], lead: int) -> float | None:
        """Return the cost of a region with one plate of a size in its corner, None where it cannot be made."""
        w, h = size
        lim, rates = self.limits, self.rates
        over_w, over_h = region.w - w, region.h - h
        if over_w < 0 or over_h < 0 or not self.loadable(w, h, lead):
            return None
        if (over_w or over_h or region.parts > 1) and min(w, h) < lim.strip:
            return None
        if 0 < over_w < lim.strip or 0 < over_h < lim.strip or (over_w > 0) + (over_h > 0) >= lim.parts:
            return None
        # either cut may come first: the first rest takes the whole side
        ways = ([(over_w, region.h), (w, over_h)], [(over_w, h), (region.w, over_h)])
        credit = max(
            sum(sorted((self.credit(region.rate, a, b) for a, b in rests if min(a, b) > 0), reverse=True)[: lim.keep])
            for rests in ways
        )
        cuts = rates.cut * ((over_w > 0) + (over_h > 0))
        return region.price + rates.plate + money(rates.process * w * h) + cuts - credit
