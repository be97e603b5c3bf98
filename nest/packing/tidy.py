"""The same bins at the same cost, laid out as an operator would: few plates and rests, common lines, rows of equals.

Each bin's units are packed into it again many times at random; the neatest layout that costs no more is kept.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from nest.packing.state import SAME_COST

if TYPE_CHECKING:
    from nest.packing.bench import Bench
    from nest.packing.control import Stop
    from nest.packing.problem import BinLayout, Problem
    from nest.packing.state import State

MOST_TRIES, MOST_CALLS = 96, 3000
EFFORT = 0.02
"""So few trials a call, since each call's outcome is looked at."""


def disorder(problem: Problem, layout: BinLayout) -> tuple[int, int, int, float, int]:
    """Return what layouts of one bin compare by, the less the better.

    Plates, axial width of all plates, rests, how large and square the kept rests are (negative), and lines along which
    items begin or end, counted once per plate: rows of equal items have few.
    """
    axial = sum(plate.w if plate.lead == 0 else plate.h for plate in layout.plates)
    kept = -sum(float(min(rest.w, rest.h)) ** 2 for rest in layout.rests if rest.kept)
    lines = 0
    for plate in layout.plates:
        xs, ys = set(), set()
        for placed in plate.placed:
            item = problem.units[placed.unit].items[placed.item]
            w, h = (item.w, item.h) if placed.axis == 0 else (item.h, item.w)
            xs |= {placed.x, placed.x + w}
            ys |= {placed.y, placed.y + h}
        lines += len(xs) + len(ys)
    return (len(layout.plates), axial, len(layout.rests), kept, lines)


def tidied(bench: Bench, state: State, stop: Stop) -> State:
    """Return the solution with each bin laid out as neatly as was found; no bin costs more than before."""
    out = state.copy()
    tries = min(MOST_TRIES, MOST_CALLS // max(1, len(state.layouts)))
    value = bench.data.area * (max(layout.cost for layout in state.layouts) if state.layouts else 0.0)
    for at, layout in enumerate(state.layouts):
        out.layouts[at] = neatest(bench, state, layout, value, tries, stop)
    return out


def neatest(bench: Bench, state: State, layout: BinLayout, value: np.ndarray, tries: int, stop: Stop) -> BinLayout:
    """Return the neatest of some layouts of one bin that cost no more."""
    units = sorted(layout.units)
    stock = np.zeros(len(bench.problem.bins), np.int64)
    stock[layout.bin] = 1
    best, least = layout, disorder(bench.problem, layout)
    for _ in range(tries if len(units) > 1 else 0):
        if stop.reached(0):
            break
        found = bench.repack(
            units, state.axes, [], state.lots, [], stock, value, effort=EFFORT, limit=best.cost + SAME_COST
        )
        if found.left_area or len(found.layouts) != 1 or found.cost > best.cost + SAME_COST:
            continue
        mess = disorder(bench.problem, found.layouts[0])
        if found.cost < best.cost - SAME_COST or mess < least:
            best, least = found.layouts[0], mess
    return best
