"""Which sizes to stock: sets of sizes tried on the same simulated weeks.

Each material on its own, since materials share nothing. Every set is given the same weeks (common random numbers), so
that a difference between two sets is one of sizes and not of luck; its error is that of the mean of the paths'
differences, with Student's t (common random numbers: Law, Simulation Modeling and Analysis, 5th ed. 2015, chapter 11;
from memory). Each path is rolled through the store by the room's policy, which gives orders, holding and what expires.

Weeks are nested by the short search alone, which loses some per cent, and the more the more sizes it may choose from.
How much it loses shows where a set comes out dearer than a part of it (`MaterialSizes.flaw`).

Up to `MOST_SIZES` sizes every set is tried. Beyond that sets grow by the size that saves most, and after each step
single sizes are exchanged for others while that saves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.checks import NONE
from nest.buying.holding import size_key
from nest.buying.paths import simulate
from nest.buying.proposal import by_policy, rule_at, size_of
from nest.buying.rolling import Opening, roll
from nest.domain.size_sets import Difference, MaterialSizes, SetFigures, Step

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.buying.crew import Crew
    from nest.buying.demand import Demand, SizeKey
    from nest.buying.past import History, Wishes
    from nest.domain.room import Room, Sheet

MOST_SIZES = 4
YEAR_WEEKS = 52
NOTHING_LEFT = 1e-6
"""Share of area below which nothing is left: areas are sums of rounded ones."""

Chosen = frozenset["SizeKey"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tried:
    """A set that was simulated: its figures, and its cost a year by path (paths,)."""

    figures: SetFigures
    costs: np.ndarray


class Trial:
    """Tries sets of sizes of one material, each once."""

    def __init__(
        self, history: History, room: Room, sheets: Sequence[Sheet], wishes: Wishes, means: Crew
    ) -> None:  # fmt: skip
        """Take the terms of every size that may be stocked."""
        self.material = sheets[0].material
        self.room, self.wishes = room, wishes
        # progress goes on from set to set
        self.means = replace(means, told=lambda done, _: means.told(len(self.done) * wishes.paths + done, 0))
        self.sheets = {size_key(sheet): sheet for sheet in sheets}
        self.history = replace(
            history,
            weeks=tuple(
                replace(week, rows=tuple(row for row in week.rows if row.material == self.material))
                for week in history.weeks
            ),
        )
        self.done: dict[Chosen, Tried] = {}
        self.area = 0.0

    def cost(self, chosen: Chosen) -> float | None:
        """Return what a set costs a year: endless where it leaves pieces over, None after an interrupt."""
        if chosen not in self.done:
            own = tuple(self.sheets[key] for key in sorted(chosen))
            offcuts = tuple(o for o in self.room.offcuts if o.material == self.material)
            demand = simulate(
                self.history, replace(self.room, sheets=own, offcuts=offcuts), self.wishes, self.means, NONE
            )  # fmt: skip
            if demand.paths < demand.wanted_paths:
                return None
            self.area = max(self.area, float(demand.pieces_m2.sum()))
            self.done[chosen] = self._figures(demand)
        found = self.done[chosen]
        return found.figures.cost if found.figures.whole else math.inf

    def _figures(self, demand: Demand) -> Tried:
        """Return the figures of a simulated set."""
        year = YEAR_WEEKS / demand.weeks
        plans = demand.cost.sum(axis=1) * year
        ordering, holding, expired = (np.zeros(demand.paths) for _ in range(3))
        gone = 0.0
        for at, key in enumerate(demand.sizes):
            size = size_of(demand, at, self.sheets[key], self.room.buying, demand.first_week)
            full = Opening(lots=((math.ceil(rule_at(size, 0).level), size.supply.life),))
            course = roll(size.windows.days, full, size.supply, by_policy(size), size.draws())
            terms, orders = size.terms, course.ordered
            saved = orders * (terms.price - np.vectorize(terms.price_of, otypes=[float])(orders))
            ordering += ((orders > 0).sum(axis=1) * terms.order_cost - saved.sum(axis=1)) * year
            holding += course.on_hand.sum(axis=1) * terms.price * terms.holding * year
            expired += course.expired.sum(axis=1) * terms.price * year
            gone += float(course.expired.sum()) / demand.paths * year
        pieces, drawn = float(demand.pieces_m2.sum()), float(demand.drawn_m2.sum())
        left = 1 - pieces / self.area if self.area else 0.0
        figures = SetFigures(
            sizes=tuple(key.label for key in demand.sizes), plans=float(plans.mean()),
            ordering=float(ordering.mean()), holding=float(holding.mean()), expired=float(expired.mean()),
            sheets=float(demand.sheets.sum()) / demand.paths * year, expired_sheets=gone,
            gross=pieces / drawn if drawn else 0.0, unplaced=left if left > NOTHING_LEFT else 0.0,
        )  # fmt: skip
        return Tried(figures=figures, costs=plans + ordering + holding + expired)


def sets_needed(sizes: int) -> int:
    """Return how many sets of so many sizes are tried, for progress: beyond `MOST_SIZES` about so many.

    Examples
    --------
    >>> [sets_needed(sizes) for sizes in (1, 2, 3, 4, 6)]
    [1, 3, 7, 15, 36]
    """
    return 2**sizes - 1 if sizes <= MOST_SIZES else sizes * sizes


def material_sizes(history: History, room: Room, sheets: Sequence[Sheet], wishes: Wishes, means: Crew, *,
                   offered: Iterable[str] = ()) -> MaterialSizes:
    """Return what sets of sizes of one material cost.

    Parameters
    ----------
    history
        The past weeks.
    room
        Its policy, rates and offcuts; its own sheets do not count.
    sheets
        The sizes that may be stocked, with their terms: one entry each, all of one material.
    wishes
        How many paths of how many weeks; figures are brought to a year of 52 weeks.
    means
        Who does the work; it hears of every path of every set.
    offered
        Names of those that are not stocked yet.
    """  # fmt: skip
    trial = Trial(history, room, sheets, wishes, means)
    keys = tuple(sorted(trial.sheets))
    whole = len(keys) <= MOST_SIZES
    # the whole catalogue comes first: by it is known what can be placed at all
    finished = trial.cost(frozenset(keys)) is not None and (_all_sets(trial, keys) if whole else _growing(trial, keys))
    return MaterialSizes(
        material=trial.material, steps=_steps(trial), offered=tuple(offered), exhaustive=whole,
        tried=tuple(sorted((one.figures for one in trial.done.values()), key=lambda f: (not f.whole, f.cost))),
        interrupted=not finished, paths=wishes.paths, weeks=wishes.weeks, currency=room.currency,
    )  # fmt: skip


def _all_sets(trial: Trial, keys: Sequence[SizeKey]) -> bool:
    """Try every set; False after an interrupt."""
    sets = (frozenset(one) for count in range(1, len(keys)) for one in combinations(keys, count))
    return all(trial.cost(one) is not None for one in sets)


def _growing(trial: Trial, keys: Sequence[SizeKey]) -> bool:
    """Try sets that grow by one size at a time, with exchanges; False after an interrupt."""
    best: Chosen = frozenset()
    for _ in range(len(keys) - 1):
        grown = _best_of(trial, [best | {key} for key in keys if key not in best])
        while grown is not None:
            exchanged = [(grown - {out}) | {key} for out in sorted(grown) for key in keys if key not in grown]
            better = _best_of(trial, [*exchanged, grown])
            if better is None or better == grown:
                grown = better
                break
            grown = better
        if grown is None:
            return False
        best = grown
    return True


def _best_of(trial: Trial, sets: Sequence[Chosen]) -> Chosen | None:
    """Return the cheapest of sets, the last of equals; None after an interrupt."""
    costs = []
    for one in sets:
        cost = trial.cost(one)
        if cost is None:
            return None
        costs.append(cost)
    return min(zip(costs, range(0, -len(sets), -1), sets, strict=True), key=lambda found: found[:2])[2]


def _steps(trial: Trial) -> tuple[Step, ...]:
    """Return the best and second best set of each number of sizes, with the savings from step to step."""
    steps: list[Step] = []
    last: Tried | None = None
    for count in range(1, len(trial.sheets) + 1):
        ranked = sorted(
            (one for one in trial.done.values() if len(one.figures.sizes) == count and one.figures.whole),
            key=lambda one: one.figures.cost,
        )
        if not ranked:
            continue
        best, second = ranked[0], ranked[1] if len(ranked) > 1 else None
        steps.append(
            Step(
                best=best.figures,
                saves=None if last is None else difference(last.costs, best.costs),
                second=None if second is None else second.figures,
                behind=None if second is None else difference(second.costs, best.costs),
            )
        )
        last = best
    return tuple(steps)


def difference(one: np.ndarray, other: np.ndarray) -> Difference:
    """Return by how much one cost is above another, path by path, with half its 95 % interval t × sd / sqrt(n).

    Examples
    --------
    >>> difference(np.array([3.0, 5.0, 7.0]), np.array([1.0, 2.0, 3.0]))
    Difference(more=3.0, within=2.48...)
    """
    apart = one - other
    n = len(apart)
    if n < 2:
        return Difference(more=float(apart.mean()), within=math.inf)
    error = float(apart.std(ddof=1)) / math.sqrt(n)
    return Difference(more=float(apart.mean()), within=student(n - 1) * error)


T_975 = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
         2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045,
         2.042)  # fmt: skip
"""Student's t at 97.5 % for 1 to 30 degrees of freedom, as statistical tables have it."""


def student(freedom: int) -> float:
    """Return Student's t at 97.5 %; beyond 30 degrees of freedom by 1.96 + 2.5 / freedom, within 0.002."""
    return T_975[freedom - 1] if freedom <= len(T_975) else 1.96 + 2.5 / freedom
