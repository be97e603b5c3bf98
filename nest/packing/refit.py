"""Put units into a solution that is there already: free areas first, then rests, then new bins.

Bins that stand are given: they take nothing and give nothing up, but the axes and lots of their sets hold for all.
The other bins are open: units may join their plates and get plates of their own in their rests, what lies there stays.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.arrays import data_of
from nest.packing.bench import Bench
from nest.packing.bound_units import part_with, set_choices, tied, tied_part
from nest.packing.complete import Completion, priced, swap_earlier_in
from nest.packing.control import Silent, Stop, Voice
from nest.packing.decompose import PART_ROUNDS, Decomposed, renumbered
from nest.packing.insert import Inserter
from nest.packing.kernels.plate import credit
from nest.packing.means import Means, Methods
from nest.packing.search import Search
from nest.packing.solve import MOST_AT_ONCE, axis_choices
from nest.packing.team import Team
from nest.packing.trim import trimmed

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from nest.packing.fits import Fit
    from nest.packing.problem import BinLayout, Problem, RestLayout, Unit
    from nest.packing.solve import Demand

NEW = -1
"""Name of a bin that was not there before."""
Spot = tuple[int, int, int]
"""A plate: the name of its bin and its corner x, y."""
FIRST_STREAM = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A filled bin that does not stand and the number of the earlier bin it is, or ``NEW``."""

    layout: BinLayout
    name: int = NEW


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """Bins that do not stand, and the units that found no place in them."""

    bins: tuple[Named, ...]
    left: tuple[int, ...]

    @property
    def cost(self) -> float:
        """Cost of the bins."""
        return sum(bin_.layout.cost for bin_ in self.bins)


class Refit:
    """Places units of one problem beside the bins that stand; owns the random streams it uses."""

    def __init__(
        self,
        problem: Problem,
        demand: Demand,
        fit: Fit,
        standing: Sequence[BinLayout],
        seed: int,
        stream: int,
        loose: Collection[Spot] = (),
    ) -> None:
        """Take what stands off the stock; ``seed`` and ``stream`` make the random states of all parts.

        ``loose`` names plates that lost items: those may be cut down.
        """
        stock = [b.stock for b in problem.bins]
        for layout in standing:
            stock[layout.bin] -= 1
        bins = tuple(replace(b, stock=max(0, n)) for b, n in zip(problem.bins, stock, strict=True))
        self.problem = replace(problem, bins=bins)
        self.demand, self.fit, self.standing, self.seed = demand, fit, tuple(standing), seed
        self.data = data_of(self.problem)
        self.area = [sum(item.w * item.h for item in unit.items) for unit in problem.units]
        self._stream = FIRST_STREAM + 1000 * stream
        rates = [
            (b.price + problem.rates.plate) / (0.85 * b.w * b.h) + problem.rates.process for b in self.problem.bins
        ]
        self._rate = min(rates, default=0.0)
        self._loose = frozenset(loose)

    def large_first(self, units: Iterable[int]) -> list[int]:
        """Return units in the order in which they look for a place: the largest first, then those due first."""
        return sorted(units, key=lambda u: (-self.area[u], -self.problem.units[u].early, u))

    def rank(self, placing: Placing) -> tuple[float, float, float]:
        """Return what placings compare by: unplaced area, earliness of what is unplaced, cost."""
        left = placing.left
        early = sum(self.area[u] * self.problem.units[u].early for u in left)
        return (float(sum(self.area[u] for u in left)), early, round(placing.cost, 6))

    def inserter(self, layouts: Sequence[BinLayout]) -> Inserter:
        """Return an inserter for open bins; the sets keep the axes and lots they have."""
        axes, lots = set_choices(self.problem, [*self.standing, *layouts])
        return Inserter(self.problem, layouts, self.demand.borders, self.demand.keep_out, axes, lots)

    def place(self, open_bins: Sequence[Named], units: Iterable[int], work: int) -> Placing:
        """Return the open bins with must units put in, and new bins for those that find no place there.

        ``work`` limits the search for new bins.
        """
        inserter = self.inserter([b.layout for b in open_bins])
        left = [u for u in self.large_first(units) if not inserter.insert(u)]
        names = [b.name for b in open_bins]
        inside = Placing(bins=self.trimmed(named(inserter.result(), names)), left=tuple(left))
        if not left:
            return inside
        ways = [self.in_new_bins(inside, work // 2)]
        rests = self.in_rests(inside)
        if len(rests.left) < len(left):
            ways.append(self.in_new_bins(rests, work // 2) if rests.left else rests)
        return self.last_places(min(ways, key=self.rank))

    def trimmed(self, bins: Sequence[Named]) -> tuple[Named, ...]:
        """Return open bins with the plates that lost items cut down where that saves something."""
        out = []
        for bin_ in bins:
            layout = bin_.layout
            for plate in bin_.layout.plates:
                if (bin_.name, plate.x, plate.y) in self._loose:
                    layout = trimmed(self.problem, self.data, self.demand, layout, plate)
            out.append(replace(bin_, layout=layout))
        return tuple(out)

    def in_new_bins(self, placing: Placing, work: int) -> Placing:
        """Return a placing with its left-over units searched for in bins still in stock."""
        layouts = [b.layout for b in placing.bins]
        found, left = self.searched(placing.left, layouts, work)
        return Placing(bins=(*placing.bins, *named(found)), left=tuple(left))

    def stock_beside(self, layouts: Iterable[BinLayout]) -> list[int]:
        """Return what is in stock beside some filled bins (and those that stand)."""
        stock = [b.stock for b in self.problem.bins]
        for layout in layouts:
            stock[layout.bin] -= 1
        return [max(0, n) for n in stock]

    def searched(
        self, units: Sequence[int], beside: Sequence[BinLayout], work: int, start: Sequence[BinLayout] = ()
    ) -> tuple[list[BinLayout], list[int]]:
        """Return bins for some units beside others, and the units left over; ``start`` are bins to improve on."""
        stock = [min(n, len(units)) for n in self.stock_beside(beside)]
        if not any(stock) or not units:
            return list(start), sorted(set(units) - {u for layout in start for u in layout.units})
        axes, lots = set_choices(self.problem, [*self.standing, *beside])
        small, fit = tied_part(self.problem, self.fit, units, stock, axes, lots)
        self._stream += 1
        everyone = range(len(units))
        choice, bendable = axis_choices(small, fit, everyone)
        stop, voice = Stop.after(max(1, work), None), Voice(Silent(), "")
        own = {u: n for n, u in enumerate(units)}
        begin = renumbered(start, own)
        first_axes, first_lots = set_choices(small, begin)
        for s, axis in first_axes.items():
            choice[s] = axis
        if len(units) > MOST_AT_ONCE and not start:
            with Team(1) as team:
                means = Means(seed=self.seed, team=team)
                best = Decomposed(small, everyone, choice, bendable, stop, self._stream, voice, means).run()
        else:
            search = Search(Bench(small, self.seed, self._stream), everyone, choice, bendable, stop, voice, Methods())
            search.begin(begin, np.array([first_lots.get(s, 0) for s in range(max(1, small.lot_sets))], np.int64))
            search.cycle(stop, PART_ROUNDS)
            best = search.best
        return renumbered(best.layouts, units), sorted(units[n] for n in best.left)

    def in_rests(self, placing: Placing) -> Placing:
        """Return a placing with left-over units on plates of their own in rests, wherever that saves most."""
        bins, left = list(placing.bins), list(placing.left)
        while left:
            best, saving = None, 1e-9
            axes, lots = set_choices(self.problem, [*self.standing, *(b.layout for b in bins)])
            units = {u: tied(self.problem.units[u], self.problem.bins, axes, lots) for u in left}
            for at, bin_ in enumerate(bins):
                for rest in bin_.layout.rests:
                    filled = self.rest_filled(bin_.layout, rest, units)
                    if filled is None:
                        continue
                    joined = filled.units - bin_.layout.units
                    gain = self._rate * sum(self.area[u] for u in joined) - (filled.cost - bin_.layout.cost)
                    if gain > saving:
                        best, saving = (at, filled), gain
            if best is None:
                break
            at, filled = best
            bins[at] = replace(bins[at], layout=filled)
            left = [u for u in left if u not in filled.units]
        return Placing(bins=tuple(bins), left=tuple(left))

    def rest_filled(
        self, layout: BinLayout, rest: RestLayout, units: Mapping[int, Unit]
    ) -> BinLayout | None:
        """Return a bin with plates for some of the units (tied by number) in one of its rests, None where none fits."""
        problem, lim = self.problem, self.problem.limits
        spare = lim.parts - len(layout.plates) - len(layout.rests)
        served = [u for u in units if layout.bin in units[u].bins and self.slim(u) <= min(rest.w, rest.h)]
        if spare < 0 or not served:
            return None
        whole = problem.bins[layout.bin]
        worth = float(credit(self.data.lim, self.data.rate, whole.rate, rest.w, rest.h)) if rest.kept else 0.0
        small = part_with(
            problem,
            (replace(units[u], bins=(0,)) for u in served),
            [replace(whole, w=rest.w, h=rest.h, price=max(0.0, worth), stock=1)],
        )
        keep = max(0, lim.keep - kept_beside(layout, rest))
        found = self.filled_once(replace(small, limits=replace(lim, parts=spare + 1, keep=keep)))
        return None if found is None else self.merged(layout, rest, renumbered([found], served)[0])

    def slim(self, unit: int) -> int:
        """Return the shortest side of the widest item of a unit: no narrower rectangle holds it."""
        return max(min(item.w, item.h) for item in self.problem.units[unit].items)

    def filled_once(self, small: Problem) -> BinLayout | None:
        """Return the one bin of a small problem filled with as much as goes in, or None."""
        self._stream += 1
        bench = Bench(small, self.seed, self._stream)
        outcome = bench.repack(
            range(len(small.units)), np.zeros(max(1, small.axis_sets), np.int64), range(small.axis_sets),
            np.full(max(1, small.lot_sets), max(0, small.bins[0].lot), np.int64), (), np.ones(1, np.int64),
            np.array([self._rate * sum(i.w * i.h for i in u.items) for u in small.units]), effort=0.05,
        )  # fmt: skip
        return outcome.layouts[0] if outcome.layouts else None

    def merged(self, layout: BinLayout, rest: RestLayout, inner: BinLayout) -> BinLayout:
        """Return a bin with a rest replaced by what a bin of its size was filled with."""
        x, y = rest.x, rest.y
        plates = tuple(
            replace(p, x=p.x + x, y=p.y + y, placed=tuple(replace(q, x=q.x + x, y=q.y + y) for q in p.placed))
            for p in inner.plates
        )
        rests = tuple(replace(r, x=r.x + x, y=r.y + y, kept=False) for r in inner.rests)
        cuts = tuple((x1 + x, y1 + y, x2 + x, y2 + y) for x1, y1, x2, y2 in inner.cuts)
        return priced(self.problem, self.data, replace(
            layout,
            plates=(*layout.plates, *plates),
            rests=(*(r for r in layout.rests if r != rest), *rests),
            cuts=(*layout.cuts, *cuts),
        ))  # fmt: skip

    def last_places(self, placing: Placing) -> Placing:
        """Return a placing in which nothing is left over that a free area, a rest or a bin in stock could hold."""
        layouts, left = [b.layout for b in placing.bins], self.large_first(placing.left)
        for _ in range(2):
            if not left:
                break
            inserter = self.inserter(layouts)
            left = [u for u in left if not inserter.insert(u)]
            completion = Completion(self.problem, self.data, inserter.result(), inserter.axes, inserter.lots)
            left = [u for u in left if not completion.add(u)]
            layouts = completion.layouts
        return Placing(bins=named(layouts, [b.name for b in placing.bins]), left=tuple(left))

    def finished(self, placing: Placing, fill: Iterable[int]) -> Placing:
        """Return a placing with earlier units in the place of equal later ones, and fill units in free areas."""
        layouts, left = [b.layout for b in placing.bins], list(placing.left)
        axes, _ = set_choices(self.problem, [*self.standing, *layouts])
        if left:
            swap_earlier_in(self.problem, layouts, left, axes)
        inserter = self.inserter(layouts)
        home = {p.unit: (b, i) for b, layout in enumerate(layouts) for i, plate in enumerate(layout.plates)
                for p in plate.placed}  # fmt: skip
        beside = self.demand.beside
        for u in sorted(fill, key=lambda u: (self.area[u], u)):
            only = None
            if u in beside:
                only = [home[beside[u]]] if beside[u] in home else []
            if not inserter.insert(u, only):
                left.append(u)
        return Placing(bins=named(inserter.result(), [b.name for b in placing.bins]), left=tuple(left))


def named(layouts: Iterable[BinLayout], names: Sequence[int] = ()) -> tuple[Named, ...]:
    """Return filled bins with their names; those beyond the names are new."""
    return tuple(
        Named(layout=layout, name=names[at] if at < len(names) else NEW) for at, layout in enumerate(layouts)
    )


def kept_beside(layout: BinLayout, rest: RestLayout) -> int:
    """Return how many rests of a bin are kept beside one of them."""
    return sum(other.kept for other in layout.rests if other != rest)
