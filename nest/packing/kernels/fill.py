"""Fill the usable area of one plate with units in a given order, by either cutting mode.

Units that may not join the plate are passed over; as soon as a unit fails, equal ones are not tried again.
"""

from __future__ import annotations

from nest.packing.kernels.compiling import compiled
from nest.packing.kernels.data import ITEMS
from nest.packing.kernels.guillotine import best_place, put
from nest.packing.kernels.maxrects import put_free


@compiled(inline=True)
def serves(d, unit, b, lot):  # type: ignore[no-untyped-def]
    """Return whether bin type ``b`` serves a unit: expiry, relief and lot."""
    if d.ok[d.typ[unit], b] == 0:
        return False
    s = d.lot_set[unit]
    return s < 0 or (d.bin_lot[b] >= 0 and lot[s] == d.bin_lot[b])


@compiled(inline=True)
def least_with(sums, more, batches):  # type: ignore[no-untyped-def]
    """Return what a plate would cost in its best batch with a further unit."""
    least = 1e300
    for q in range(batches):
        least = min(least, sums[q] + more[q])
    return least


@compiled()
def fill_plate(d, ws, order, n, group, lock, level, b, axis, lot, fw, fh, pick, split, patience, lay, plate):  # type: ignore[no-untyped-def]
    """Place units of ``order[:n]`` in an inflated area of fw x fh; return (used width, used height, units placed).

    Placed items are appended to ``lay`` with positions from the area's corner; placed units are marked in
    ``ws.taken`` and listed at the end of ``ws.chosen`` by the caller's count ``ws.size[0]``. Units with which the plate
    would cost more than ``patience`` in every batch stay out; ``ws.late`` ends with its cost in the best one.
    """
    free, saved, cap = ws.free[0], ws.free[1], ws.free.shape[1]
    taken, failed, rowmark, chosen_units = ws.taken, ws.failed, ws.rowmark, ws.chosen
    starts, typ, groups, levels, jobs, alones = d.start, d.typ, d.group, d.level, d.job, d.alone
    ok, lot_set, bin_lot = d.ok, d.lot_set, d.bin_lot[b]
    widths, heights, masks, axis_set, rows, aparts = d.w, d.h, d.mask, d.axis_set, d.row, d.apart
    rows_out = lay.item
    free[0, 0], free[0, 1], free[0, 2], free[0, 3] = 0, 0, fw, fh
    nf = 1
    ws.stamp[0] += 1
    stamp = ws.stamp[0]
    used_w = used_h = 0
    placed = tries = 0
    chosen = ws.size[0]
    by_cuts = d.lim.free == 0
    items = lay.used[ITEMS]
    batches, windows, late, sums = d.batch_price.shape[0], d.window, d.late, ws.late
    sums[:batches] = d.batch_price
    sums[batches] = 0.0
    for o in range(n):
        u = order[o]
        if nf == 0:
            break
        t = typ[u]
        if taken[u] != 0 or failed[t] == stamp or groups[u] != group or levels[u] < level or ok[t, b] == 0:
            continue
        if (jobs[u] != lock) if lock >= 0 else (alones[u] != 0):
            continue
        s = lot_set[u]
        if s >= 0 and (bin_lot < 0 or lot[s] != bin_lot):
            continue
        if batches > 0 and least_with(sums, late[windows[u]], batches) > patience:
            failed[t] = stamp
            continue
        first, last = starts[u], starts[u + 1]
        whole = last - first > 1
        was_nf, was_w, was_h, was_items = nf, used_w, used_h, items
        if whole:
            saved[:nf] = free[:nf]
        good = True
        for i in range(first, last):
            tries += 1
            if aparts[i] != 0 and rowmark[rows[i]] == stamp:
                good = False
                break
            mask = masks[i]
            if mask == 0:  # bound to its set's axis
                mask = 1 << axis[axis_set[u]]
            at, ax = best_place(free, nf, widths[i], heights[i], mask, pick, used_w, used_h)
            if at < 0:
                good = False
                break
            iw, ih = (widths[i], heights[i]) if ax == 0 else (heights[i], widths[i])
            x, y = free[at, 0], free[at, 1]
            nf = put(free, nf, at, iw, ih, split) if by_cuts else put_free(free, nf, x, y, iw, ih, cap)
            used_w, used_h = max(used_w, x + iw), max(used_h, y + ih)
            rows_out[items, 0], rows_out[items, 1], rows_out[items, 2] = plate, i, x
            rows_out[items, 3], rows_out[items, 4] = y, ax
            items += 1
        if good:
            for i in range(first, last):
                rowmark[rows[i]] = stamp
            if batches > 0:
                sums[:batches] += late[windows[u]]
                sums[batches] = sums[:batches].min()
            taken[u] = 1
            chosen_units[chosen] = u
            chosen += 1
            placed += 1
        else:
            failed[t] = stamp
            used_w, used_h, items = was_w, was_h, was_items
            if whole:
                nf = was_nf
                free[:nf] = saved[:nf]
    lay.used[ITEMS] = items
    ws.size[0] = chosen
    ws.work[0] += tries
    return used_w, used_h, placed
