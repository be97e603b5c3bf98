"""Open filled bins again where that saves enough: what their units cost elsewhere, against how many of them move.

A set of open bins is emptied, its units are put with the new ones into the others' free areas, rests and new bins
(``refit``). The set that saves most, less an amount for each unit that comes to lie elsewhere, is taken. Sets grow one
bin at a time from the best single one, so few bins are opened; last, all of them are tried together, from where they
are. Method: destroy and repair (Schrimpf et al. 2000, doi 10.1006/jcph.1999.6413) with a price on each change.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.packing.refit import NEW, Named, Placing, named

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.problem import BinLayout, Problem
    from nest.packing.refit import Refit

Place = tuple[int, int, int, int, int]
"""Row of an item, name of its bin, x, y, axis."""
MOST_SINGLE, MOST_GROWN, MOST_OPENED = 8, 3, 3
"""Trials with one bin, trials to grow a set by one more, bins opened at most (all of them aside)."""
MOST_ANEW = 1000
"""Units that are tried all together at most; a search of more takes longer than a revision may."""
TRIAL_SHARE, WHOLE_SHARE = 0.5, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What a move has to save, and how much work to spend."""

    per_move: float
    work: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A placing with the units that moved for it."""

    placing: Placing
    moves: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopened:
    """The placing taken, and what placing everything anew would give (None where it was not tried)."""

    taken: Choice
    anew: Choice | None


def places(problem: Problem, bins: Sequence[Named]) -> Counter[Place]:
    """Return where the items of filled bins lie; equal items of one row are one and the same."""
    return Counter(
        (problem.units[p.unit].items[p.item].row, bin_.name, p.x, p.y, p.axis)
        for bin_ in bins
        for plate in bin_.layout.plates
        for p in plate.placed
    )


def moves(problem: Problem, before: Sequence[Named], after: Sequence[Named]) -> int:
    """Return how many items lie elsewhere than before."""
    return sum((places(problem, before) - places(problem, after)).values())


def same(one: BinLayout, other: BinLayout) -> bool:
    """Return whether two filled bins hold the same, whatever they were made from."""
    return (
        set(one.plates) == set(other.plates)
        and set(one.rests) == set(other.rests)
        and sorted(one.cuts) == sorted(other.cuts)
    )


class Reopening:
    """Looks for sets of open bins that are worth emptying."""

    def __init__(self, refit: Refit, before: Sequence[Named], units: Sequence[int], terms: Terms) -> None:
        """Take the open bins as they are and the must units that have no place yet."""
        self.refit, self.before, self.units, self.terms = refit, tuple(before), tuple(units), terms
        self.must = frozenset(refit.demand.must)

    def choice(self, placing: Placing) -> Choice:
        """Return a placing with its bins named and its moves counted."""
        bins = self.renamed(placing.bins)
        return Choice(
            placing=Placing(bins=bins, left=placing.left),
            moves=moves(self.refit.problem, self.before, bins),
        )

    def renamed(self, bins: Sequence[Named]) -> tuple[Named, ...]:
        """Return bins in which new ones take the name of an earlier bin of their type that is gone, most alike first.

        One that holds the earlier bin's must units as they were is that bin, its fill units with it.
        """
        kept = {b.name for b in bins}
        gone = {b.name: b.layout for b in self.before if b.name not in kept}
        pairs = sorted(
            (-len(old.units & bin_.layout.units), name, at)
            for at, bin_ in enumerate(bins)
            if bin_.name == NEW
            for name, old in gone.items()
            if old.bin == bin_.layout.bin
        )
        out = list(bins)
        for _, name, at in pairs:
            if name in gone and out[at].name == NEW:
                old = gone.pop(name)
                out[at] = Named(layout=old if same(self.must_only(old), out[at].layout) else out[at].layout, name=name)
        return tuple(out)

    def worth(self, choice: Choice, first: Choice) -> tuple[float, float, float]:
        """Return what choices compare by, the least first: unplaced area and earliness, cost and moves in money."""
        area, early, cost = self.refit.rank(choice.placing)
        return (area, early, round(cost + self.terms.per_move * (choice.moves - first.moves), 6))

    def opened(self, indices: Sequence[int], work: int) -> Choice:
        """Return what comes of emptying some of the open bins."""
        others = [b for at, b in enumerate(self.before) if at not in indices]
        units = [u for at in indices for u in sorted(self.before[at].layout.units) if u in self.must]
        return self.choice(self.refit.place(others, [*self.units, *units], work))

    def promising(self, extra: float) -> list[int]:
        """Return the bins that may be worth emptying, most money for each unit that may move first."""
        rated = []
        for at, bin_ in enumerate(self.before):
            most = bin_.layout.cost + extra
            count = len(bin_.layout.units)
            if most > self.terms.per_move * count:
                rated.append((-most / count, at))
        return [at for _, at in sorted(rated)][:MOST_SINGLE]

    def run(self, first: Placing) -> Reopened:
        """Return the best choice beside ``first``, the placing with nothing opened."""
        start = self.choice(first)
        best, work = start, self.terms.work
        extra = max(0.0, first.cost - sum(b.layout.cost for b in self.before)) + self.lost(first)
        singles = self.promising(extra)
        each = int(TRIAL_SHARE * work / max(1, len(singles) + MOST_GROWN * (MOST_OPENED - 1)))
        opened: tuple[int, ...] = ()
        for at in singles:
            tried = self.opened((at,), each)
            if self.worth(tried, start) < self.worth(best, start):
                best, opened = tried, (at,)
        while 0 < len(opened) < MOST_OPENED:
            grown = [(*opened, at) for at in singles if at not in opened][:MOST_GROWN]
            found = [(self.worth(tried, start), n, tried) for n, one in enumerate(grown)
                     if (tried := self.opened(one, each))]  # fmt: skip
            if not found or min(found)[0] >= self.worth(best, start):
                break
            _, n, best = min(found, key=lambda f: f[:2])
            opened = grown[n]
        anew = self.anew(best.placing, int(WHOLE_SHARE * work))
        if anew is not None and self.worth(anew, start) < self.worth(best, start):
            best = anew
        return Reopened(taken=best, anew=anew)

    def lost(self, first: Placing) -> float:
        """Return a high price on what is left over, so that bins are opened for it."""
        return 1e9 if first.left else 0.0

    def anew(self, placing: Placing, work: int) -> Choice | None:
        """Return all open bins searched together, starting from a placing; None where they hold too many units."""
        layouts = [b.layout for b in placing.bins]
        units = sorted({u for layout in layouts for u in layout.units if u in self.must} | set(placing.left))
        if len(units) > MOST_ANEW:
            return None
        start = [self.must_only(layout) for layout in layouts]
        found, left = self.refit.searched(units, (), work, start)
        made = self.refit.last_places(Placing(bins=named(found), left=tuple(left)))
        return self.choice(made)

    def must_only(self, layout: BinLayout) -> BinLayout:
        """Return a bin without its fill units, which take no part in the search."""
        plates = tuple(
            replace(plate, placed=tuple(p for p in plate.placed if p.unit in self.must)) for plate in layout.plates
        )
        return replace(layout, plates=plates)
