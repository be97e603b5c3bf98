"""Fill the usable area of one plate with units in a given order, by either cutting mode.

Units that may not join the plate are passed over; as soon as a unit fails, equal ones are not tried again.
"""

from __future__ import annotations

from numba import njit

from nest.packing.kernels.data import FREE, ITEMS
from nest.packing.kernels.guillotine import best_place, put
from nest.packing.kernels.maxrects import put_free


@njit(cache=True)
def axis_mask(d, unit, item, axis):  # type: ignore[no-untyped-def]
    """Return the axes an item may lie along; an item without a mask lies along its set's axis."""
    mask = d.mask[item]
    return mask if mask != 0 else (1 << axis[d.axis_set[unit]])


@njit(cache=True)
def serves(d, unit, b, lot):  # type: ignore[no-untyped-def]
    """Return whether bin type ``b`` serves a unit: expiry, relief and lot."""
    if d.ok[d.typ[unit], b] == 0:
        return False
    s = d.lot_set[unit]
    return s < 0 or (d.bin_lot[b] >= 0 and lot[s] == d.bin_lot[b])


@njit(cache=True)
def joins(d, unit, group, lock, level):  # type: ignore[no-untyped-def]
    """Return whether a unit may join a plate of a group, locked to one job (``lock`` >= 0) or open to all (-1)."""
    if d.group[unit] != group or d.level[unit] < level:
        return False
    return d.job[unit] == lock if lock >= 0 else d.alone[unit] == 0


@njit(cache=True)
def fill_plate(d, ws, order, n, group, lock, level, b, axis, lot, fw, fh, pick, split, lay, plate):  # type: ignore[no-untyped-def]
    """Place units of ``order[:n]`` in an inflated area of fw x fh; return (used width, used height, units placed).

    Placed items are appended to ``lay`` with positions from the area's corner; placed units are marked in
    ``ws.taken`` and listed at the end of ``ws.chosen`` by the caller's count ``ws.size[0]``.
    """
    free = ws.free[0]
    saved = ws.free[1]
    cap = free.shape[0]
    free[0, 0], free[0, 1], free[0, 2], free[0, 3] = 0, 0, fw, fh
    nf = 1
    ws.stamp[0] += 1
    stamp = ws.stamp[0]
    used_w = used_h = 0
    placed = 0
    chosen = ws.size[0]
    by_cuts = d.lim[FREE] == 0
    for o in range(n):
        u = order[o]
        if nf == 0:
            break
        if ws.taken[u] != 0 or ws.failed[d.typ[u]] == stamp:
            continue
        if not joins(d, u, group, lock, level) or not serves(d, u, b, lot):
            continue
        first, last = d.start[u], d.start[u + 1]
        whole = last - first > 1
        was_nf, was_w, was_h, was_items = nf, used_w, used_h, lay.used[ITEMS]
        if whole:
            for f in range(nf):
                for q in range(4):
                    saved[f, q] = free[f, q]
        good = True
        for i in range(first, last):
            ws.work[0] += 1
            if d.apart[i] != 0 and ws.rowmark[d.row[i]] == stamp:
                good = False
                break
            at, ax = best_place(free, nf, d.w[i], d.h[i], axis_mask(d, u, i, axis), pick, used_w, used_h)
            if at < 0:
                good = False
                break
            iw, ih = (d.w[i], d.h[i]) if ax == 0 else (d.h[i], d.w[i])
            x, y = free[at, 0], free[at, 1]
            nf = put(free, nf, at, iw, ih, split) if by_cuts else put_free(free, nf, x, y, iw, ih, cap)
            used_w, used_h = max(used_w, x + iw), max(used_h, y + ih)
            k = lay.used[ITEMS]
            lay.item[k, 0], lay.item[k, 1], lay.item[k, 2], lay.item[k, 3], lay.item[k, 4] = plate, i, x, y, ax
            lay.used[ITEMS] = k + 1
        if good:
            for i in range(first, last):
                ws.rowmark[d.row[i]] = stamp
            ws.taken[u] = 1
            ws.chosen[chosen] = u
            chosen += 1
            placed += 1
        else:
            ws.failed[d.typ[u]] = stamp
            used_w, used_h, lay.used[ITEMS] = was_w, was_h, was_items
            if whole:
                nf = was_nf
                for f in range(nf):
                    for q in range(4):
                        free[f, q] = saved[f, q]
    ws.size[0] = chosen
    return used_w, used_h, placed
