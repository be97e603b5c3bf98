"""Take units out of filled bins: emptied plates become rests again, and raw cuts that part nothing any more go."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.packing.complete import priced
from nest.packing.insert import OpenPlate
from nest.packing.problem import RestLayout

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from nest.packing.kernels.data import Data
    from nest.packing.problem import BinLayout, Problem

RawCut = tuple[int, int, int, int]


def vacated(
    problem: Problem, data: Data, layout: BinLayout, gone: Collection[int], must: Collection[int]
) -> BinLayout | None:
    """Return a filled bin without some units, or None where no plate of it is left.

    A plate that holds no must unit any more is given up with what else lies on it. What is left stays where it is.
    """
    plates, rests = [], list(layout.rests)
    for plate in layout.plates:
        placed = tuple(p for p in plate.placed if p.unit not in gone)
        if any(p.unit in must for p in placed):
            plates.append(replace(plate, placed=placed))
        else:
            rests.append(RestLayout(x=plate.x, y=plate.y, w=plate.w, h=plate.h, kept=False))
    if not plates:
        return None
    if len(plates) == len(layout.plates):
        return replace(layout, plates=tuple(plates))
    whole, cuts = joined(rests, layout.cuts)
    return priced(problem, data, replace(layout, plates=tuple(plates), rests=tuple(whole), cuts=tuple(cuts)))


def unfit(
    problem: Problem, layout: BinLayout, suspects: Collection[int], axes: dict[int, int], lots: dict[int, int]
) -> set[int]:
    """Return which of some units may not stay on their plates by the rules they have now.

    ``axes`` and ``lots`` are those of the sets known so far; suspects that stay add theirs.
    """
    out: set[int] = set()
    lot = problem.bins[layout.bin].lot
    for plate in layout.plates:
        here = OpenPlate(problem, layout.bin, replace(plate, placed=()), (0, 0, 0, 0))
        for u in sorted({p.unit for p in plate.placed}, key=lambda u: (u in suspects, u)):
            spec, placed = problem.units[u], [p for p in plate.placed if p.unit == u]
            bound = [p.axis for p in placed if spec.axis_set >= 0 and spec.items[p.item].axes == 0]
            axis = axes.get(spec.axis_set, bound[0] if bound else 0)
            wrong_lot = spec.lot_set >= 0 and (lot < 0 or lots.get(spec.lot_set, lot) != lot)
            if u in suspects and (wrong_lot or any(a != axis for a in bound) or not here.admits(u, spec)):
                out.add(u)
                continue
            here.placed += placed
            if bound:
                axes.setdefault(spec.axis_set, axis)
            if spec.lot_set >= 0:
                lots.setdefault(spec.lot_set, lot)
    return out


def joined(rests: Sequence[RestLayout], cuts: Sequence[RawCut]) -> tuple[list[RestLayout], list[RawCut]]:
    """Return rests and raw cuts without the cuts that part two whole rests from each other.

    Two rests that both run along all of a cut are the two parts it made, or strips of them that later cuts parallel to
    it made; either way the other cuts still go edge to edge without it.
    """
    rests, cuts = list(rests), list(cuts)
    found = True
    while found:
        found = False
        for at in reversed(range(len(cuts))):
            pair = along(rests, cuts[at])
            if pair is not None:
                a, b = (rests[i] for i in pair)
                x, y = min(a.x, b.x), min(a.y, b.y)
                w, h = max(a.x + a.w, b.x + b.w) - x, max(a.y + a.h, b.y + b.h) - y
                rests = [r for i, r in enumerate(rests) if i not in pair]
                rests.append(RestLayout(x=x, y=y, w=w, h=h, kept=False))
                del cuts[at]
                found = True
                break
    return rests, cuts


def along(rests: Sequence[RestLayout], cut: RawCut) -> tuple[int, int] | None:
    """Return the two rests that lie along all of a cut, one on each side, or None."""
    x1, y1, x2, y2 = cut
    upright = x1 == x2
    low, high = (min(y1, y2), max(y1, y2)) if upright else (min(x1, x2), max(x1, x2))
    at = x1 if upright else y1
    before = after = -1
    for i, r in enumerate(rests):
        start, end, side, length = (r.y, r.y + r.h, r.x, r.w) if upright else (r.x, r.x + r.w, r.y, r.h)
        if (start, end) == (low, high):
            before = i if side + length == at else before
            after = i if side == at else after
    return (before, after) if before >= 0 and after >= 0 else None
