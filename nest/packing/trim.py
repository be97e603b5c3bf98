"""Cut a plate that lost items down to what is left on it: nothing moves, the rest may be worth keeping."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from nest.packing.complete import cut_off, priced
from nest.packing.insert import item_box, least_border
from nest.packing.kernels.plate import TIE, grown, loadable
from nest.packing.vacate import joined

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.packing.kernels.data import Data
    from nest.packing.problem import BinLayout, PlateLayout, Problem
    from nest.packing.solve import Demand


def trimmed(problem: Problem, data: Data, demand: Demand, layout: BinLayout, plate: PlateLayout) -> BinLayout:
    """Return a bin with one of its plates cut down on the sides away from its corner, where that costs less."""
    best = layout
    for pw, ph in sizes(problem, data, demand, plate):
        for upright_first in (True, False) if pw < plate.w and ph < plate.h else (True,):
            tried = with_plate(problem, data, layout, plate, (pw, ph), upright_first=upright_first)
            if len(tried.plates) + len(tried.rests) <= problem.limits.parts and tried.cost < best.cost - TIE:
                best = tried
    return best


def sizes(problem: Problem, data: Data, demand: Demand, plate: PlateLayout) -> Iterator[tuple[int, int]]:
    """Yield the sizes a plate may be cut down to: across, around or both, to the least that holds its items."""
    _, side = demand.keep_out(least_border(problem, demand.borders, plate))
    boxes = [item_box(problem, p) for p in plate.placed]
    need_w = max(box[2] for box in boxes) - plate.x + side
    need_h = max(box[3] for box in boxes) - plate.y + side
    size = np.zeros(4, np.int64)
    if not grown(data.lim, need_w, need_h, plate.w, plate.h, plate.lead, size):
        return
    small_w, small_h, strip = int(size[0]), int(size[1]), problem.limits.strip
    for pw in sorted({plate.w, small_w}):
        for ph in sorted({plate.h, small_h}):
            if (pw, ph) == (plate.w, plate.h) or pw > plate.w or ph > plate.h:
                continue
            wide = all(whole == part or whole - part >= strip for whole, part in ((plate.w, pw), (plate.h, ph)))
            if wide and min(pw, ph) >= strip and loadable(data.lim, pw, ph, plate.lead):
                yield pw, ph


def with_plate(
    problem: Problem, data: Data, layout: BinLayout, plate: PlateLayout, size: tuple[int, int], *, upright_first: bool
) -> BinLayout:
    """Return a bin with a plate of another size at the same corner, and what is cut off as rests."""
    pw, ph = size
    cuts, rests = cut_off((plate.x, plate.y, plate.w, plate.h), pw, ph, upright_first=upright_first)
    plates = tuple(replace(p, w=pw, h=ph) if p == plate else p for p in layout.plates)
    whole, lines = joined([*layout.rests, *rests], [*layout.cuts, *cuts])
    return priced(problem, data, replace(layout, plates=plates, rests=tuple(whole), cuts=tuple(lines)))
