"""A week through the general packing library, every rule it cannot keep waived in its favour.

Each group of pieces that may share a plate is packed for itself with the run's whole time. Waived: one axis for a set,
fixed and cross turns, rows that stay together, apart or alone, lots; every plate has the keep-outs of the piece of its
group that needs least; equal parts of a sheet too large to load whole are bought one by one. Kept: keep-outs, gap,
edge-to-edge cuts where the room cuts so, machine limits, stock, dates and reliefs that a sheet must serve. Each filled
bin is then priced as the cheapest cut-down of any sheet in stock around what lies in it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.job import Need
from nest.domain.room import Cutting
from nest.packing.translate import NO_LIMIT, serving
from nest.plates.groups import group_of
from nest.plates.pieces import piece_of
from nest.units import to_units
from tests.bench.library import Portfolio, Shape
from tests.bench.packing_check import disjoint, partable
from tests.bench.sheet_price import Pricer

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.room import Room
    from nest.plates.pieces import Piece
    from tests.bench.packing_check import Filled
    from tests.bench.sheet_price import Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class LibraryWeek:
    """The library's cost of a week, None where a group could not be packed; trials and seconds over all groups."""

    cost: float | None
    groups: int
    trials: int
    seconds: float


class Group:
    """Pieces that may share a plate, the stock that serves them, and the price of a packing of them."""

    def __init__(self, room: Room, pieces: Sequence[Piece], counts: dict[RowKey, int], drawn: dict[str, float]) -> None:
        """``drawn`` are the sheets and offcuts that other groups took, by id."""
        first = pieces[0].row
        self.pricer = Pricer(room, first.material, max(p.least_border for p in pieces))
        self.gap = to_units(room.gap_of(first.material))
        self.guillotine = room.cutting is Cutting.GUILLOTINE
        serves = set.intersection(*(set(serving(p.row, self.pricer.stock)) for p in pieces))
        bins = self.pricer.bins
        self.stock = {at: bins[at].stock - drawn.get(bins[at].name, 0.0) for at in serves}
        offers = self.pricer.offers()
        self.offers: list[Offer] = [o for o in offers if self.stock.get(o.region.bin, 0) * o.region.parts >= 1]
        # the library has no gap: pieces and bins grow by it
        self.sizes = [(p.w + self.gap, p.h + self.gap) for p in pieces for _ in range(counts[p.row.key])]
        self.drawn: dict[str, float] = {}

    def shapes(self) -> list[Shape]:
        """Return the offers as the library's bin types."""
        out = []
        for o in self.offers:
            have = self.stock[o.region.bin] * o.region.parts
            stock = None if have >= NO_LIMIT // 2 else int(have + 1e-9)
            w, h = o.w + self.gap, o.h + self.gap
            out.append(Shape(w=w, h=h, source=o.region.bin, stock=stock, price=o.region.price, part=o.part))
        return out

    def judge(self, filled: Sequence[Filled], below: float) -> float | None:
        """Return the cost of a packing on the cheapest sheets in stock, None where it breaks a rule or is no better."""
        left = dict(self.stock)
        for one in filled:
            region = self.offers[one.bin].region
            left[region.bin] -= 1 / region.parts
        if min(left.values()) < -1e-9:
            return None
        cost = 0.0
        for one in filled:
            own = self.offers[one.bin].region
            w = max(x + w for _, (x, _, w, _) in one.boxes) - self.gap
            h = max(y + h for _, (_, y, _, h) in one.boxes) - self.gap
            prices = [
                (price, at)
                for at, region in enumerate(self.pricer.regions)
                if (region.bin == own.bin and region.parts == own.parts) or left.get(region.bin, 0) * region.parts >= 1
                if (price := self.pricer.box_price(region, w, h)) is not None
            ]
            if not prices:
                return None
            price, at = min(prices)
            cost += price
            left[own.bin] += 1 / own.parts
            left[self.pricer.regions[at].bin] -= 1 / self.pricer.regions[at].parts
        if cost < below:
            boxes = [[box for _, box in one.boxes] for one in filled]
            # rests that grew together can leave a plate that no shear parts
            if not all(disjoint(b) and (not self.guillotine or partable(b)) for b in boxes):
                return None
            bins = self.pricer.bins
            self.drawn = {bins[at].name: self.stock[at] - left[at] for at in left}
        return cost


def library_week(rows: Sequence[Row], room: Room, left: dict[RowKey, int], seconds: float) -> LibraryWeek:
    """Return the library's cost of what a plan places: all must pieces but the copies ``left`` out by it."""
    counts = {row.key: row.copies - left.get(row.key, 0) for row in rows if row.need is Need.MUST}
    groups: dict[tuple[object, ...], list[Piece]] = defaultdict(list)
    for row in sorted(rows, key=lambda r: r.key):
        if counts.get(row.key, 0) > 0:
            groups[row.material, *group_of(row, room)].append(piece_of(row, room))
    order = sorted(groups.values(), key=lambda g: -sum(p.w * p.h * counts[p.row.key] for p in g))
    drawn: dict[str, float] = defaultdict(float)
    total: float | None = 0.0
    trials, spent = 0, 0.0
    for pieces in order:
        # where others left too little the group draws on the full stock: waived too
        for taken in (drawn, {}):
            group = Group(room, pieces, counts, taken)
            if not group.offers:
                continue
            portfolio = Portfolio(group.sizes, group.shapes(), guillotine=group.guillotine, rotation=True)
            best = portfolio.run(seconds, group.judge)
            trials, spent = trials + best.trials, spent + best.seconds
            if best.cost is not None:
                break
        else:
            return LibraryWeek(cost=None, groups=len(order), trials=trials, seconds=spent)
        total = None if total is None or best.cost is None else total + best.cost
        for name, count in group.drawn.items():
            drawn[name] += count
    return LibraryWeek(cost=total, groups=len(order), trials=trials, seconds=spent)
