"""Which of several equal bin types a filled bin is taken from: first expired first out, then first in first out.

Bin types are equal where size, price and rate are, and nothing but lot, expiry and receipt tells them apart. The
search takes any of them; afterwards the filled bins of each class are dealt anew. What a bin's units rule out (an
expiry before their due date, another lot than that of the set they belong to) stays ruled out, so a plan keeps every
rule and its cost.

First expired first out is common practice in stock keeping. That dealing from the earliest is always possible: a bin
that an early expiry serves is served by every later one, so exchanging two bins between an early and a late type never
breaks a rule.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.packing.problem import BinLayout
    from nest.packing.translate import MaterialProblem, Stocked

Cluster = tuple[int, ...]
"""Places of filled bins that must come from one type, since they share a lot set."""


def dated(stocked: Stocked, index: int) -> tuple[date, date, int]:
    """Return the order among equal types: expiry, receipt, place in the problem; none is last."""
    entry = stocked.entry
    return entry.expiry or date.max, entry.received or date.max, index


def first_expired_first(material: MaterialProblem, bins: Sequence[BinLayout]) -> tuple[BinLayout, ...]:
    """Return the filled bins, those of equal types drawn from the earliest expiry that serves them, then the oldest."""
    problem = material.problem
    classes: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for index, (b, s) in enumerate(zip(problem.bins, material.stock, strict=True)):
        relief = getattr(s.entry, "relief", None)
        classes[s.is_offcut, b.w, b.h, b.price, b.rate, relief].append(index)
    out = list(bins)
    for types in classes.values():
        if len(types) > 1:
            types.sort(key=lambda index: dated(material.stock[index], index))
            _deal(material, types, out)
    return tuple(out)


def _deal(material: MaterialProblem, types: Sequence[int], bins: list[BinLayout]) -> None:
    """Deal the filled bins of one class anew: those that need one lot first, then single ones."""
    mine = [at for at, layout in enumerate(bins) if layout.bin in types]
    clusters, singles = _clusters(material, bins, mine)
    left = {t: material.problem.bins[t].stock for t in types}
    for at in {*mine} - {*singles}:
        left[bins[at].bin] -= 1
    lots = list(dict.fromkeys(material.problem.bins[t].lot for t in types))
    dealt: dict[int, int] = {}
    for cluster in clusters:
        for at in cluster:
            left[bins[at].bin] += 1
        tries = (
            _dealt(material, bins, cluster, [t for t in types if material.problem.bins[t].lot == lot], left)
            for lot in lots
        )
        chosen = next((one for one in tries if one), None) or {at: bins[at].bin for at in cluster}
        for t in chosen.values():
            left[t] -= 1
        dealt.update(chosen)
    rest = _dealt(material, bins, singles, types, left)
    if rest is None:
        return
    for at, t in {**dealt, **rest}.items():
        bins[at] = replace(bins[at], bin=t)


def _dealt(material: MaterialProblem, bins: Sequence[BinLayout], places: Sequence[int], types: Sequence[int],
           left: Mapping[int, int]) -> dict[int, int] | None:  # fmt: skip
    """Return a type for each place, as many as can be from the first types; None where they do not reach."""
    out: dict[int, int] = {}
    for t in types:
        open_ = [at for at in places if at not in out and _serves(material, bins[at], t)]
        out.update((at, t) for at in open_[: max(0, left[t])])
    return out if len(out) == len(places) else None


def _serves(material: MaterialProblem, layout: BinLayout, index: int) -> bool:
    return all(index in material.problem.units[u].bins for u in layout.units)


def _clusters(
    material: MaterialProblem, bins: Sequence[BinLayout], mine: Sequence[int]
) -> tuple[list[Cluster], list[int]]:
    """Return the places of a class that need one lot together, largest cluster first, and those that need none.

    A cluster that reaches into another class is in neither: it stays where it is.
    """
    units = material.problem.units
    parent: dict[int, int] = {}

    def root(x: int) -> int:
        while parent.setdefault(x, x) != x:
            x = parent[x]
        return x

    first: dict[int, int] = {}
    for at, layout in enumerate(bins):
        for lot_set in sorted({units[u].lot_set for u in layout.units} - {-1}):
            parent[root(at)] = root(first.setdefault(lot_set, at))
    found: dict[int, list[int]] = defaultdict(list)
    for at in sorted(parent):
        found[root(at)].append(at)
    whole = [tuple(group) for group in found.values() if {*mine}.issuperset(group)]
    return sorted(whole, key=lambda c: (-len(c), c)), [at for at in mine if at not in parent]
