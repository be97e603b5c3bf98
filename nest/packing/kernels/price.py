"""Look for filled bins worth more than they cost at given unit prices (columns of negative reduced cost).

Random fills with random axes for the colour sets that may turn; a fill that is nearly good enough is improved by local
search on its order (a unit moved, a set turned, new random choices), everything else of the fill held still by using
the same random state again. Scheme: heuristic pricing of Gilmore & Gomory's column generation (1961,
doi 10.1287/opre.9.6.849).
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.chance import below, uniform
from nest.packing.kernels.compiling import compiled
from nest.packing.kernels.data import SHEETS
from nest.packing.kernels.plate import NO_PLATE, TIE
from nest.packing.kernels.repack import append, clear, draw_bin, draw_order
from nest.packing.kernels.sheet import fill_sheet


@compiled()
def set_values(d, units, n, axis, price, value):  # type: ignore[no-untyped-def]
    """Write each unit's price for its set's axis to ``value``; ``price`` is (types, 2)."""
    for i in range(n):
        u = units[i]
        s = d.axis_set[u]
        value[u] = price[d.typ[u], axis[s] if s >= 0 else 0]


@compiled()
def attempt(d, ws, order, m, b, axis, lot, value, state, bin_price, one):  # type: ignore[no-untyped-def]
    """Fill one bin with a copy of a random state; return its reduced cost (``NO_PLATE`` where nothing fits)."""
    inner = state.copy()
    clear(one)
    cost, held = fill_sheet(d, ws, order, m, b, axis, lot, value, inner, one)
    for c in range(ws.size[0]):
        ws.taken[ws.chosen[c]] = 0
    if cost >= NO_PLATE:
        return NO_PLATE
    return cost - held + bin_price[b]


@compiled()
def price_bins(  # type: ignore[no-untyped-def]
    d, ws, units, axis, axis_free, lot, lot_free, lots, stock, price, bin_price, fills, steps, near, rng, one, kept, out
):
    """Append bins of negative reduced cost to ``out`` until it is full or ``fills`` fills are made.

    Returns the least reduced cost met. ``near`` is the reduced cost below which a fill is improved by ``steps`` steps.
    """
    n = units.shape[0]
    most = out.sheet.shape[0]
    room = out.item.shape[0] - one.item.shape[0]
    value = np.zeros(d.typ.shape[0])
    offered = np.zeros(n, np.int64)
    order = np.zeros(n, np.int64)
    trial = np.zeros(n, np.int64)
    state = np.zeros(1, np.uint64)
    least = 0.0
    for i in range(n):
        ws.taken[units[i]] = 0
    for _ in range(fills):
        if out.used[SHEETS] >= most or out.used[4] > room:
            break
        for q in range(axis_free.shape[0]):
            axis[axis_free[q]] = below(rng, 2)
        for q in range(lot_free.shape[0]):
            lot[lot_free[q]] = below(rng, lots)
        set_values(d, units, n, axis, price, value)
        drop = 0.0 if uniform(rng) < 0.5 else 0.35 * uniform(rng)
        if drop > 0.0:
            for i in range(n):
                ws.noise[d.typ[units[i]]] = -1.0
        k = 0
        for i in range(n):
            u = units[i]
            if value[u] <= 0.0:
                continue
            if drop > 0.0:
                t = d.typ[u]
                if ws.noise[t] < 0.0:
                    ws.noise[t] = uniform(rng)
                if ws.noise[t] < drop:
                    continue
            offered[k] = u
            k += 1
        if k == 0:
            continue
        m = draw_order(d, ws, offered, k, value, rng)
        b = draw_bin(d, ws, m, stock, lot, rng)
        if b < 0:
            break
        order[:m] = ws.order[:m]
        uniform(rng)
        state[0] = rng[0]
        best = attempt(d, ws, order, m, b, axis, lot, value, state, bin_price, one)
        if best >= near - TIE:
            continue
        clear(kept)
        append(kept, one)
        idle = 0
        for _step in range(steps):
            idle += 1
            if idle > 16:
                break
            trial[:m] = order[:m]
            was = state[0]
            turned = -1
            way = uniform(rng)
            if way < 0.5:
                i, j = below(rng, m), below(rng, m)
                moved = trial[i]
                if i < j:
                    for q in range(i, j):
                        trial[q] = trial[q + 1]
                else:
                    for q in range(i, j, -1):
                        trial[q] = trial[q - 1]
                trial[j] = moved
            elif way < 0.65:
                i, j = below(rng, m), below(rng, m)
                trial[i], trial[j] = trial[j], trial[i]
            elif way < 0.8 and axis_free.shape[0] > 0:
                turned = axis_free[below(rng, axis_free.shape[0])]
                axis[turned] = 1 - axis[turned]
                set_values(d, units, n, axis, price, value)
            else:
                state[0] = rng[0]
            found = attempt(d, ws, trial, m, b, axis, lot, value, state, bin_price, one)
            if found < best - TIE:
                best = found
                order[:m] = trial[:m]
                clear(kept)
                append(kept, one)
                idle = 0
            else:
                state[0] = was
                if turned >= 0:
                    axis[turned] = 1 - axis[turned]
                    set_values(d, units, n, axis, price, value)
        least = min(least, best)
        if best < -1e-6:
            append(out, kept)
    return least
