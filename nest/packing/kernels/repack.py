"""Pack a set of units again from nothing, many times, and keep the best outcome.

One trial draws an axis for every colour set that is free to turn, then takes sheet after sheet: of some random fills
the one with the most value over cost is kept. Trials compare by unplaced area, then lateness of what is unplaced,
then cost. Source of the scheme: ruin and recreate (Schrimpf et al. 2000, doi 10.1006/jcph.1999.6413) with greedy
randomised construction.
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.chance import below, uniform
from nest.packing.kernels.compiling import compiled
from nest.packing.kernels.data import CUTS, ITEMS, PLATES, RESTS, SHEETS
from nest.packing.kernels.fill import serves
from nest.packing.kernels.plate import NO_PLATE, TIE
from nest.packing.kernels.sheet import fill_sheet

BASES = 8


@compiled()
def base_key(d, u, base, value):  # type: ignore[no-untyped-def]
    """Return the size a unit is ordered by under a base rule (largest first)."""
    first = d.start[u]
    w, h = d.w[first], d.h[first]
    area = np.float64(d.area[u])
    if base == 0:
        return area
    if base == 1:
        return np.float64(max(w, h))
    if base == 2:
        return np.float64(w)
    if base == 3:
        return np.float64(h)
    if base == 4:
        return np.float64(min(w, h)) * max(w, h) ** 0.5
    if base == 5:
        return value[u]
    if base == 6:
        return value[u] / area
    return 1.0


@compiled()
def draw_order(d, ws, units, n, value, rng):  # type: ignore[no-untyped-def]
    """Write a random order of the free units to ``ws.order``; return how many there are.

    The noise is drawn per type half of the time, which keeps equal pieces together in rows.
    """
    base = below(rng, BASES)
    kind = below(rng, 4)
    spread = 0.0 if kind == 0 else (0.15 if kind == 1 else (0.45 if kind == 2 else 1.0))
    per_type = uniform(rng) < 0.5
    if base == BASES - 1 and spread == 0.0:
        spread = 1.0
    if per_type:
        for i in range(n):
            ws.noise[d.typ[units[i]]] = 0.0
    m = 0
    for i in range(n):
        u = units[i]
        if ws.taken[u] != 0:
            continue
        if per_type:
            t = d.typ[u]
            if ws.noise[t] == 0.0:
                ws.noise[t] = np.exp(spread * (uniform(rng) - 0.5) * 2.0)
            noise = ws.noise[t]
        else:
            noise = np.exp(spread * (uniform(rng) - 0.5) * 2.0)
        ws.key[m] = -base_key(d, u, base, value) * noise
        ws.order[m] = u
        m += 1
    ranks = np.argsort(ws.key[:m], kind="mergesort")
    picked = ws.order[:m][ranks]
    ws.order[:m] = picked
    return m


@compiled()
def draw_bin(d, ws, n, stock, lot, rng):  # type: ignore[no-untyped-def]
    """Return a random bin type with stock that serves some free unit of ``ws.order[:n]``, or -1."""
    count = stock.shape[0]
    at = below(rng, count)
    for _ in range(count):
        if stock[at] > 0:
            for o in range(n):
                if ws.taken[ws.order[o]] == 0 and serves(d, ws.order[o], at, lot):
                    return at
        at = at + 1 if at + 1 < count else 0
    return -1


@compiled()
def clear(lay):  # type: ignore[no-untyped-def]
    """Empty layout buffers."""
    for q in range(5):
        lay.used[q] = 0


@compiled()
def append(to, lay):  # type: ignore[no-untyped-def]
    """Append all sheets of ``lay`` to ``to``."""
    s0, p0 = to.used[SHEETS], to.used[PLATES]
    for s in range(lay.used[SHEETS]):
        to.sheet[s0 + s, 0], to.sheet[s0 + s, 1] = lay.sheet[s, 0], lay.sheet[s, 1]
        to.cost[s0 + s] = lay.cost[s]
    for p in range(lay.used[PLATES]):
        to.plate[p0 + p] = lay.plate[p]
        to.plate[p0 + p, 0] += s0
    r0, c0, i0 = to.used[RESTS], to.used[CUTS], to.used[ITEMS]
    for r in range(lay.used[RESTS]):
        to.rest[r0 + r] = lay.rest[r]
        to.rest[r0 + r, 0] += s0
    for c in range(lay.used[CUTS]):
        to.cut[c0 + c] = lay.cut[c]
        to.cut[c0 + c, 0] += s0
    for i in range(lay.used[ITEMS]):
        to.item[i0 + i] = lay.item[i]
        to.item[i0 + i, 0] += p0
    for q in range(5):
        to.used[q] += lay.used[q]


@compiled()
def best_sheet(d, ws, units, n, fills, axis, lot, stock, value, rng, one, kept):  # type: ignore[no-untyped-def]
    """Fill ``fills`` random sheets and keep the one with most value over cost in ``kept``; return whether any held.

    The units of the kept sheet end up marked as taken.
    """
    best, found = -1e300, False
    for _ in range(fills):
        m = draw_order(d, ws, units, n, value, rng)
        b = draw_bin(d, ws, m, stock, lot, rng)
        if b < 0:
            break
        clear(one)
        cost, held = fill_sheet(d, ws, ws.order, m, b, axis, lot, value, rng, one)
        for c in range(ws.size[0]):
            ws.taken[ws.chosen[c]] = 0
        if cost >= NO_PLATE or held - cost <= best + TIE:
            continue
        best, found = held - cost, True
        clear(kept)
        append(kept, one)
    if found:
        for i in range(kept.used[ITEMS]):
            ws.taken[d.row_unit[kept.item[i, 1]]] = 1
        stock[kept.sheet[0, 0]] -= 1
    return found


@compiled()
def unplaced(d, ws, units, n):  # type: ignore[no-untyped-def]
    """Return (area, earliness-weighted area) of the units not taken."""
    area = 0
    early = 0.0
    for i in range(n):
        if ws.taken[units[i]] == 0:
            area += d.area[units[i]]
            early += d.area[units[i]] * d.early[units[i]]
    return area, early


@compiled()
def repack(  # type: ignore[no-untyped-def]
    d, ws, units, axis, axis_free, lot, lot_free, lots, stock, value, trials, most_fills, limit, rng, one, kept,
    trial, best,
):
    """Pack ``units`` in ``trials`` trials; the best outcome is left in ``best``, ``axis`` and ``lot``.

    ``axis_free`` and ``lot_free`` list the sets that may be drawn anew. ``limit`` is a cost beyond which a trial is
    cut short once an outcome with nothing unplaced exists. Returns (unplaced area, earliness, cost).
    """
    n = units.shape[0]
    top_area, top_early, top_cost = np.int64(1) << 62, 0.0, 1e300
    top_axis, top_lot = axis.copy(), lot.copy()
    start_axis, start_lot = axis.copy(), lot.copy()
    noisy = value.copy()
    for t in range(trials):
        for q in range(axis_free.shape[0]):
            s = axis_free[q]
            axis[s] = below(rng, 2) if t > 0 and uniform(rng) < 0.5 else start_axis[s]
        for q in range(lot_free.shape[0]):
            s = lot_free[q]
            lot[s] = below(rng, lots) if t > 0 and uniform(rng) < 0.5 else start_lot[s]
        spread = 0.3 * uniform(rng)
        # now and then everything counts for more: full sheets and further plates on them win over cheap small ones
        scale = 1.0 if uniform(rng) < 0.6 else np.exp(1.5 * uniform(rng))
        for i in range(n):
            u = units[i]
            ws.taken[u] = 0
            noisy[u] = scale * value[u] * (1.0 + spread * (uniform(rng) - 0.5))
        fills = 1 + below(rng, most_fills)
        left = stock.copy()
        clear(trial)
        cost = 0.0
        while True:
            if top_area == 0 and cost >= min(top_cost, limit):
                break
            if not best_sheet(d, ws, units, n, fills, axis, lot, left, noisy, rng, one, kept):
                break
            cost += kept.cost[0]
            append(trial, kept)
        area, early = unplaced(d, ws, units, n)
        if area < top_area or (
            area == top_area and (early < top_early or (early == top_early and cost < top_cost - TIE))
        ):
            top_area, top_early, top_cost = area, early, cost
            top_axis[:], top_lot[:] = axis, lot
            clear(best)
            append(best, trial)
    for i in range(n):
        ws.taken[units[i]] = 0
    axis[:], lot[:] = top_axis, top_lot
    return top_area, top_early, top_cost
