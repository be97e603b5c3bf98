"""Look for filled bins worth more than they cost at given unit prices (columns of negative reduced cost).

A fill starts either from a random order of all units or from a column the linear program likes, with a few of its units
taken out. What is nearly good enough is improved by local search on the order (a unit moved, two exchanged, a set
turned, new random choices); everything else of the fill is held still by using the same random state again. Scheme:
heuristic pricing of Gilmore & Gomory's column generation (1961, doi 10.1287/opre.9.6.849).
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.chance import below, uniform
from nest.packing.kernels.compiling import compiled
from nest.packing.kernels.data import ITEMS, SHEETS
from nest.packing.kernels.fill import serves
from nest.packing.kernels.plate import NO_PLATE, TIE
from nest.packing.kernels.repack import append, clear, draw_bin, draw_order
from nest.packing.kernels.sheet import fill_sheet

IDLE_STEPS = 16


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
def offer(d, ws, units, value, inside, rng, offered):  # type: ignore[no-untyped-def]
    """Write the units of some price not ``inside`` to ``offered``, types left out at random; return the count."""
    n = units.shape[0]
    drop = 0.0 if uniform(rng) < 0.5 else 0.35 * uniform(rng)
    if drop > 0.0:
        for i in range(n):
            ws.noise[d.typ[units[i]]] = -1.0
    k = 0
    for i in range(n):
        u = units[i]
        if value[u] <= 0.0 or inside[u] != 0:
            continue
        if drop > 0.0:
            t = d.typ[u]
            if ws.noise[t] < 0.0:
                ws.noise[t] = uniform(rng)
            if ws.noise[t] < drop:
                continue
        offered[k] = u
        k += 1
    return k


@compiled()
def seeded(d, column, axes, axis, value, units, price, rng, order, inside):  # type: ignore[no-untyped-def]
    """Start an order from a known column: its units in their order, a few left out; return how many.

    ``axes`` are the axes of the column's sets (-1: not in it); they are taken over, values follow.
    """
    for s in range(axes.shape[0]):
        if axes[s] >= 0:
            axis[s] = axes[s]
    set_values(d, units, units.shape[0], axis, price, value)
    size = 0
    while size < column.shape[0] and column[size] >= 0:
        size += 1
    out = below(rng, 4)
    k = 0
    for i in range(size):
        if size > 1 and uniform(rng) < out / size:
            continue
        order[k] = column[i]
        inside[column[i]] = 1
        k += 1
    return k


@compiled()
def shift(order, m, span, rng, trial):  # type: ignore[no-untyped-def]
    """Copy an order with one unit moved to a place that matters, or two exchanged."""
    trial[:m] = order[:m]
    i = below(rng, m) if uniform(rng) < 0.5 else below(rng, span)
    j = below(rng, span)
    if uniform(rng) < 0.25:
        trial[i], trial[j] = trial[j], trial[i]
        return
    moved = trial[i]
    if i < j:
        for q in range(i, j):
            trial[q] = trial[q + 1]
    else:
        for q in range(i, j, -1):
            trial[q] = trial[q - 1]
    trial[j] = moved


@compiled()
def improve(  # type: ignore[no-untyped-def]
    d, ws, units, order, m, b, axis, axis_free, lot, price, value, state, bin_price, best, steps, rng, one, kept, trial
):
    """Improve the fill in ``kept`` by local search; return its reduced cost."""
    idle = 0
    for _step in range(steps):
        idle += 1
        if idle > IDLE_STEPS:
            break
        was, turned = state[0], -1
        way = uniform(rng)
        if way < 0.65:
            shift(order, m, min(m, kept.used[ITEMS] + 5), rng, trial)
        else:
            trial[:m] = order[:m]
            if way < 0.8 and axis_free.shape[0] > 0:
                turned = axis_free[below(rng, axis_free.shape[0])]
                axis[turned] = 1 - axis[turned]
                set_values(d, units, units.shape[0], axis, price, value)
            else:
                uniform(rng)
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
                set_values(d, units, units.shape[0], axis, price, value)
    return best


@compiled()
def price_bins(  # type: ignore[no-untyped-def]
    d, ws, units, axis, axis_free, lot, lot_free, lots, stock, price, bin_price, columns, column_axes, column_bin,
    column_state, fills, steps, near, rng, one, kept, out,
):
    """Append bins of negative reduced cost to ``out`` until it is full or ``fills`` fills are made.

    ``columns`` (k, longest) lists the units of known columns, -1 behind them; ``column_axes`` (k, sets),
    ``column_bin`` and ``column_state`` (k,) belong to them. Returns the least reduced cost met. ``near`` is the
    reduced cost below which a fill is improved by ``steps`` steps.
    """
    n, known = units.shape[0], columns.shape[0]
    most = out.sheet.shape[0]
    room = out.item.shape[0] - one.item.shape[0]
    value = np.zeros(d.typ.shape[0])
    inside = np.zeros(d.typ.shape[0], np.int64)
    offered, order, trial = np.zeros(n, np.int64), np.zeros(n, np.int64), np.zeros(n, np.int64)
    state = np.zeros(1, np.uint64)
    least = 0.0
    for i in range(n):
        ws.taken[units[i]] = 0
    for _ in range(fills):
        if out.used[SHEETS] >= most or out.used[ITEMS] > room:
            break
        for q in range(axis_free.shape[0]):
            axis[axis_free[q]] = below(rng, 2)
        for q in range(lot_free.shape[0]):
            lot[lot_free[q]] = below(rng, lots)
        set_values(d, units, n, axis, price, value)
        head, b = 0, -1
        uniform(rng)
        state[0] = rng[0]
        if known > 0 and uniform(rng) < 0.6:
            k = below(rng, known)
            b = column_bin[k]
            if uniform(rng) < 0.7 and column_state[k] != 0:
                state[0] = column_state[k]
            head = seeded(d, columns[k], column_axes[k], axis, value, units, price, rng, order, inside)
        m = draw_order(d, ws, offered, offer(d, ws, units, value, inside, rng, offered), value, rng)
        for i in range(head):
            inside[order[i]] = 0
        order[head : head + m] = ws.order[:m]
        m += head
        if m == 0:
            continue
        if b < 0 or stock[b] <= 0 or not serves(d, order[0], b, lot):
            b = draw_bin(d, ws, m - head, stock, lot, rng)
            if b < 0:
                continue
        best = attempt(d, ws, order, m, b, axis, lot, value, state, bin_price, one)
        if best >= near - TIE:
            continue
        clear(kept)
        append(kept, one)
        best = improve(
            d, ws, units, order, m, b, axis, axis_free, lot, price, value, state, bin_price, best, steps, rng, one,
            kept, trial,
        )
        least = min(least, best)
        if best < -1e-6:
            append(out, kept)
    return least
