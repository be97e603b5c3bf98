"""What the next best size would have cost: the pieces of each sheet packed anew on every other size in the store.

A small fixed amount of work for each sheet and size, so the answer is a price that can be had, not the least one. Sets
that also lie on other sheets keep their axis and lot; fill pieces, which draw no sheet, are left out.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

import numpy as np

from nest.domain.job import Need
from nest.domain.plan import OtherSize, SourceKind
from nest.packing.assemble import ordered_drafts
from nest.packing.bench import Bench
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.domain.plan import Plan
    from nest.packing.assemble import Draft
    from nest.packing.problem import Solution
    from nest.packing.translate import MaterialProblem

STREAM = 900
EFFORT = 0.4
"""Share of the usual trials of a repack."""
_Key = tuple[int, tuple[tuple[str, str, str], ...], tuple[int, ...], tuple[int, ...]]


def other_sizes(
    plan: Plan, solved: Sequence[tuple[MaterialProblem, Solution]], seed: int, late: Callable[[], bool] = lambda: False
) -> dict[str, tuple[OtherSize, ...]]:
    """Return, by id of each sheet, what its must pieces would cost on each other size still in the store.

    Parameters
    ----------
    plan
        The plan as assembled from ``solved``.
    solved
        Problem and solution of each material.
    seed
        Seed of the search; the same one gives the same answer.
    late
        Whether a time limit is over: sheets not asked by then have no answer.

    Returns
    -------
    dict of tuple of OtherSize
        Cheapest first; empty where no other size takes the pieces.
    """
    drafts: dict[str, list[tuple[str, Draft]]] = defaultdict(list)
    for sheet, draft in zip(plan.sheets, ordered_drafts(solved), strict=True):
        drafts[draft.material.material].append((sheet.id, draft))
    out: dict[str, tuple[OtherSize, ...]] = {}
    for stream, (material, solution) in enumerate(solved):
        if solution.bins:
            mine = drafts[material.material]
            drawn = Counter(draft.layout.bin for _, draft in mine)
            out |= _Repacker(material, solution, drawn, seed, stream).answers(mine, late)
    return out


class _Repacker:
    """Packs the units of one bin on other bin types of its problem."""

    def __init__(
        self, material: MaterialProblem, solution: Solution, drawn: Counter[int], seed: int, stream: int
    ) -> None:
        self._material, problem = material, material.problem
        self._bench = Bench(problem, seed, STREAM + stream)
        self._left = [max(0, min(b.stock, len(problem.units)) - drawn[i]) for i, b in enumerate(problem.bins)]
        self._value = self._bench.data.area * (min(b.price / (b.w * b.h) for b in problem.bins) * 1.3)
        self._axes = np.array([max(0, axis) for axis in solution.axes] or [0], np.int64)
        self._lots = np.array([max(0, lot) for lot in solution.lots] or [0], np.int64)
        placed = [u for layout in solution.bins for u in layout.units]
        self._axis_units = Counter(problem.units[u].axis_set for u in placed)
        self._lot_units = Counter(problem.units[u].lot_set for u in placed)
        self._known: dict[_Key, tuple[OtherSize, ...]] = {}

    def answers(
        self, drafts: Sequence[tuple[str, Draft]], late: Callable[[], bool]
    ) -> dict[str, tuple[OtherSize, ...]]:
        """Return the answer for each draft by its sheet's id, until it is late; sheets packed alike are asked once."""
        return {name: self._answer(draft) for name, draft in drafts if not late()}

    def _answer(self, draft: Draft) -> tuple[OtherSize, ...]:
        problem, members = self._material.problem, self._material.members
        units = [u for u in sorted(draft.layout.units) if members[u][0].row.need is Need.MUST]
        rows = tuple(sorted(piece.row.key for u in units for piece in members[u]))
        axes = Counter(problem.units[u].axis_set for u in draft.layout.units)
        lots = Counter(problem.units[u].lot_set for u in draft.layout.units)
        axis_free = tuple(sorted(s for s, count in axes.items() if s >= 0 and count == self._axis_units[s]))
        lot_free = tuple(sorted(s for s, count in lots.items() if s >= 0 and count == self._lot_units[s]))
        key = (draft.layout.bin, rows, axis_free, lot_free)
        if key not in self._known:
            self._known[key] = self._sizes(units, draft.layout.bin, axis_free, lot_free)
        return self._known[key]

    def _sizes(
        self, units: list[int], own: int, axis_free: tuple[int, ...], lot_free: tuple[int, ...]
    ) -> tuple[OtherSize, ...]:
        bins = self._material.problem.bins
        best: dict[tuple[int, int], OtherSize] = {}
        for index, left in enumerate(self._left):
            size = (bins[index].w, bins[index].h)
            if not units or left == 0 or size == (bins[own].w, bins[own].h):
                continue
            stock = np.zeros(len(bins), np.int64)
            stock[index] = left
            outcome = self._bench.repack(
                units, self._axes, axis_free, self._lots, lot_free, stock, self._value, effort=EFFORT
            )
            if outcome.left_area or not outcome.layouts:
                continue
            found = self._named(index, len(outcome.layouts), outcome.cost)
            if size not in best or found.cost < best[size].cost:
                best[size] = found
        return tuple(sorted(best.values(), key=lambda one: (one.cost, one.ref)))

    def _named(self, index: int, sheets: int, cost: float) -> OtherSize:
        stocked = self._material.stock[index]
        kind = SourceKind.OFFCUT if stocked.is_offcut else SourceKind.SHEET
        entry = stocked.entry
        return OtherSize(
            kind=kind, ref=entry.id, across_mm=entry.across_mm, around_mm=entry.around_mm, sheets=sheets,
            cost=money(cost),
        )  # fmt: skip
