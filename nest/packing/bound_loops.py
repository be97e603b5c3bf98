"""Compiled loops of the pattern bound: most profit of a plate at every size, least cost of a sheet at every used size.

All sizes are whole cells of a grid. Pieces are rounded down to cells and room is rounded down as well, which keeps
every real pattern: whole cells of pieces side by side sum to no more than the cells of the room they lie in. Positions
are the sums of piece sizes only, since every pattern can be pushed to the corner (Herz 1972, doi 10.1147/rd.165.0462).
Profits are whole numbers, so sums are exact.
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.compiling import compiled
from nest.packing.kernels.plate import cents, credit, loadable

NEVER = 1 << 30


@compiled()
def reachable(sizes, cells):  # type: ignore[no-untyped-def]
    """Return the sorted sums of sizes up to ``cells``, 0 included, and for each cell the index of the last sum."""
    hit = np.zeros(cells + 1, np.int64)
    hit[0] = 1
    for c in range(cells + 1):
        if hit[c] == 1:
            for s in sizes:
                if s > 0 and c + s <= cells:
                    hit[c + s] = 1
    points = np.flatnonzero(hit)
    return points, np.cumsum(hit) - 1


@compiled()
def guillotine_profits(w, h, profit, xs, last_x, ys, last_y, best):  # type: ignore[no-untyped-def]
    """Write to ``best[i, j]`` the most profit of edge-to-edge cut pieces in room of xs[i] x ys[j], each in any number.

    The recursion over first cuts of Gilmore & Gomory (1966, doi 10.1287/opre.14.6.1045) in the form of Beasley (1985,
    doi 10.1057/jors.1985.51).
    """
    nx, ny = xs.shape[0], ys.shape[0]
    for i in range(nx):
        row = best[i]
        if i == 0:
            row[:] = 0
            continue
        row[:] = best[i - 1]
        for k in range(w.shape[0]):
            if w[k] == xs[i]:
                for j in range(ny):
                    if ys[j] >= h[k] and profit[k] > row[j]:
                        row[j] = profit[k]
        a = 1
        while a < nx and 2 * xs[a] <= xs[i]:
            one, two = best[a], best[last_x[xs[i] - xs[a]]]
            for j in range(ny):
                row[j] = max(row[j], one[j] + two[j])
            a += 1
        for j in range(1, ny):
            most = max(row[j], row[j - 1])
            c = 1
            while 2 * ys[c] <= ys[j]:
                most = max(most, row[c] + row[last_y[ys[j] - ys[c]]])
                c += 1
            row[j] = most


@compiled()
def guillotine_counts(i, j, w, h, profit, xs, last_x, ys, last_y, best, counts):  # type: ignore[no-untyped-def]
    """Add to ``counts`` how often each piece lies in a best filling of room xs[i] x ys[j]."""
    stack = np.zeros((4096, 2), np.int64)
    stack[0, 0], stack[0, 1] = i, j
    depth = 1
    while depth > 0:
        depth -= 1
        i, j = stack[depth, 0], stack[depth, 1]
        value = best[i, j]
        if value == 0:
            continue
        while best[i - 1, j] == value:
            i -= 1
        while best[i, j - 1] == value:
            j -= 1
        found = False
        for k in range(w.shape[0]):
            if profit[k] == value and w[k] <= xs[i] and h[k] <= ys[j]:
                counts[k] += 1
                found = True
                break
        a = 1
        while not found and 2 * xs[a] <= xs[i]:
            b = last_x[xs[i] - xs[a]]
            if best[a, j] + best[b, j] == value:
                stack[depth, 0], stack[depth, 1] = a, j
                stack[depth + 1, 0], stack[depth + 1, 1] = b, j
                depth += 2
                found = True
            a += 1
        c = 1
        while not found and 2 * ys[c] <= ys[j]:
            d = last_y[ys[j] - ys[c]]
            if best[i, c] + best[i, d] == value:
                stack[depth, 0], stack[depth, 1] = i, c
                stack[depth + 1, 0], stack[depth + 1, 1] = i, d
                depth += 2
                found = True
            c += 1


@compiled(inline=True)
def earned(lim, money, rate, w, h):  # type: ignore[no-untyped-def]
    """Return the credit of a rest, 0 where it may not be kept."""
    return max(0.0, credit(lim, money, rate, w, h))


@compiled(inline=True)
def unrounded(lim, money, rate, w, h):  # type: ignore[no-untyped-def]
    """Return the credit of a rest before it is rounded to cents, 0 where it may not be kept; sizes may be fractions."""
    short = min(w, h)
    if short < lim.min_side or w * h < money.min_area or short <= 0.0:
        return 0.0
    share = 1.0 if short >= lim.full_side else short / lim.full_side
    return max(0.0, rate * w * h * share - money.handling)


@compiled(inline=True)
def turning(lim, money, k, other):  # type: ignore[no-untyped-def]
    """Return the k-th width (0 to 3) at which the credit of a rest of that width and an ``other`` side may kink."""
    if k == 0:
        return np.float64(lim.min_side)
    if k == 1:
        return np.float64(lim.full_side)
    if k == 2:
        return np.float64(other)
    return money.min_area / max(1.0, other)


@compiled()
def strip_and_rest(lim, money, rate, most, across, wide, high):  # type: ignore[no-untyped-def]
    """Return the most two rests earn: a strip of a x across, a up to ``most``, and a rest of (wide - a) x high.

    Each credit is convex in a between the sizes where it starts to count, reaches its full rate or turns its longer
    side, and does not fall where it starts; so the sum is largest at one of these sizes or at an end.
    """
    best = 0.0
    for k in range(10):
        a = 0.0 if k == 8 else np.float64(most)
        if k < 4:
            a = turning(lim, money, k, across)
        elif k < 8:
            a = wide - turning(lim, money, k - 4, high)
        if 0.0 <= a <= most:
            # a hair more room for either, so that no rounding of a quotient hides a rest
            one = unrounded(lim, money, rate, a * (1.0 + 1e-12) + 1e-6, np.float64(across))
            two = unrounded(lim, money, rate, (wide - a) * (1.0 + 1e-12) + 1e-6, np.float64(high))
            best = max(best, one + two)
    return best


@compiled()
def beside(lim, money, rate, sheet_w, sheet_h, w, h, keep):  # type: ignore[no-untyped-def]
    """Return what the rests beside and above a plate of at least w x h can earn at most.

    Each raw cut on the way to the plate takes a strip off its side or off its top (mirrored, the plate lies in the
    corner), and a rest lies in one such strip. Rests in strips of one direction earn no more than one rest as wide as
    these strips together. So one rest earns no more than the whole strip beside or the whole strip above; two earn no
    more than one, or than a strip of some width over the full height and a rest above the plate over the width that
    is left, or the same with the directions exchanged. More rests share the area that is left. Rounding to cents can
    add half a cent a rest.
    """
    right, above = sheet_w - w, sheet_h - h
    one = max(earned(lim, money, rate, right, sheet_h), earned(lim, money, rate, sheet_w, above))
    if keep < 2 or one == 0.0:
        return one if keep > 0 else 0.0
    spare = max(0.0, keep * 0.01 - money.handling)
    if keep > 2:
        short = max(min(right, sheet_h), min(sheet_w, above))
        share = 1.0 if short >= lim.full_side else short / lim.full_side
        left = np.float64(sheet_w) * sheet_h - np.float64(w) * h
        return min(keep * one, max(one, rate * left * share - 2 * money.handling + keep * 0.005)) + spare
    least = lim.min_side
    if right < least or above < least:
        return one + spare
    two = max(
        strip_and_rest(lim, money, rate, right, sheet_h, sheet_w, above),
        strip_and_rest(lim, money, rate, above, sheet_w, sheet_h, right),
    )
    return max(one + spare, two + 0.01)


@compiled()
def sole_costs(lim, money, sheet_w, sheet_h, price, rate, lead_k, side_k, used_w, used_h, kept, out):  # type: ignore[no-untyped-def]
    """Write to ``out[i, j]`` a least cost of a sheet with one plate around a used area used_w[i] x used_h[j].

    With ``kept`` 1 a rest is kept that earns something, with 0 none is.

    The argument is that of ``bounds.sole_sheet``: no cut, the plate is the sheet; one cut, it takes a whole side; more
    cuts, plate and rests are judged apart, each at its best.
    """
    keep = min(lim.keep, lim.parts - 1) * kept
    for i in range(used_w.shape[0]):
        for j in range(used_h.shape[0]):
            best = 1e18
            for lead in range(2):
                low_w = lim.min_across if lead == 0 else lim.min_around
                low_h = lim.min_around if lead == 0 else lim.min_across
                top_w = min(lim.max_across if lead == 0 else lim.max_around, lim.max_long)
                top_h = min(lim.max_around if lead == 0 else lim.max_across, lim.max_long)
                w = max(max(used_w[i] + side_k + (lead_k if lead == 1 else side_k), low_w), lim.min_short)
                h = max(max(used_h[j] + side_k + (lead_k if lead == 0 else side_k), low_h), lim.min_short)
                if w > sheet_w or h > sheet_h or w > top_w or h > top_h or min(w, h) > lim.max_short:
                    continue
                base = price + money.plate
                if kept == 0 and loadable(lim, sheet_w, sheet_h, lead):
                    best = min(best, base + cents(money.process * sheet_w * sheet_h))
                w, h = max(w, lim.strip), max(h, lim.strip)
                if lim.parts > 1 and w < sheet_w and sheet_h <= top_h:
                    value = earned(lim, money, rate, sheet_w - w, sheet_h) if keep > 0 else 0.0
                    if kept == 0 or value > 0.0:
                        best = min(best, base + cents(money.process * w * sheet_h) + money.cut - value)
                if lim.parts > 1 and h < sheet_h and sheet_w <= top_w:
                    value = earned(lim, money, rate, sheet_w, sheet_h - h) if keep > 0 else 0.0
                    if kept == 0 or value > 0.0:
                        best = min(best, base + cents(money.process * sheet_w * h) + money.cut - value)
                if lim.parts > 2:
                    value = beside(lim, money, rate, sheet_w, sheet_h, w, h, keep)
                    if kept == 0 or value > 0.0:
                        best = min(best, base + cents(money.process * w * h) + 2 * money.cut - value)
            out[i, j] = best


@compiled(inline=True)
def scaled(h, room, k):  # type: ignore[no-untyped-def]
    """Return a height as a share of the room's: itself (k = 0), or its mean with the dual feasible function u(k)."""
    share = h / room
    if k == 0:
        return share
    whole = (k + 1) * h
    step = share if whole % room == 0 else np.float64(whole // room) / k
    return 0.5 * (share + step)


@compiled()
def bar_line(w, h, profit, room, k, line, took):  # type: ignore[no-untyped-def]
    """Write to ``line[x]`` the most profit of bars of width x over a room's height, to ``took[x]`` the last piece."""
    n = w.shape[0]
    density, wide = np.zeros(n), np.zeros(n, np.int64)
    m = 0
    kept = np.zeros(n, np.int64)
    for q in range(n):
        if profit[q] > 0 and h[q] <= room and w[q] < line.shape[0]:
            density[m], wide[m], kept[m] = profit[q] / scaled(h[q], room, k), w[q], q
            m += 1
    line[0] = 0.0
    for x in range(1, line.shape[0]):
        most, at = line[x - 1], -1
        for q in range(m):
            if wide[q] <= x and line[x - wide[q]] + density[q] > most:
                most, at = line[x - wide[q]] + density[q], kept[q]
        line[x], took[x] = most, at


@compiled()
def bar_profits(w, h, profit, xs, ys, rooms, best):  # type: ignore[no-untyped-def]
    """Lower ``best[i, j]`` to what bars across room xs[i] x ys[j] allow, for pieces placed in any way.

    A line across the room meets pieces whose widths sum to its width at most. Spread over its height, each piece's
    profit is dense by profit/height, so all profits together are at most the height times the densest line, a knapsack
    in one dimension (the bar relaxation: Scheithauer 1999, doi 10.1111/j.1475-3995.1999.tb00155.x). Heights may be
    scaled first by any conservative scale (Fekete & Schepers 2004, doi 10.1287/moor.1030.0079): here the height itself
    and its mean with the dual feasible function u(k), k = 1 to 4. The lines are worked out for the heights ``rooms``
    (ascending, the last the largest): what fits a lower room fits a higher one.
    """
    line, took = np.zeros(xs[-1] + 1), np.zeros(xs[-1] + 1, np.int64)
    plain, least = np.zeros(xs[-1] + 1), np.zeros(xs[-1] + 1)
    first = 1
    for s in range(rooms.shape[0]):
        bar_line(w, h, profit, rooms[s], 0, plain, took)
        least[:] = plain
        for k in range(1, 5):
            bar_line(w, h, profit, rooms[s], k, line, took)
            for x in range(least.shape[0]):
                least[x] = min(least[x], line[x])
        last = first
        while last < ys.shape[0] and ys[last] <= rooms[s]:
            last += 1
        for i in range(1, xs.shape[0]):
            one, any_height = plain[xs[i]] / rooms[s], least[xs[i]]
            for j in range(first, last):
                value = np.int64(min(one * ys[j], any_height) * (1.0 + 1e-12))
                if value < best[i, j]:
                    best[i, j] = value
        first = last


@compiled()
def bar_pattern(w, h, profit, wide, high, room, counts):  # type: ignore[no-untyped-def]
    """Write to ``counts`` the pieces of the bar that bounds wide x high, worked out for ``room``; return its profit."""
    line, took = np.zeros(wide + 1), np.zeros(wide + 1, np.int64)
    least = 1e300
    for k in range(5):
        bar_line(w, h, profit, room, k, line, took)
        part = high / room if k == 0 else 1.0
        if line[wide] * part < least:
            least = line[wide] * part
            counts[:] = 0.0
            x = wide
            while x > 0:
                if took[x] < 0:
                    x -= 1
                else:
                    counts[took[x]] += part / scaled(h[took[x]], room, k)
                    x -= w[took[x]]
    return least


@compiled()
def bounded_profits(area, profit, many, most):  # type: ignore[no-untyped-def]
    """Return the most profit within area 0..most where piece k is there ``many[k]`` times: a bounded knapsack."""
    best = np.zeros(most + 1, np.int64)
    for k in range(area.shape[0]):
        left, lot = many[k], 1
        while left > 0 and profit[k] > 0:
            lot = min(lot, left)
            size, gain = lot * area[k], lot * profit[k]
            for a in range(most, size - 1, -1):
                if best[a - size] + gain > best[a]:
                    best[a] = best[a - size] + gain
            left -= lot
            lot *= 2
    return best


@compiled()
def cap_profits(sizes_x, sizes_y, unit, bounded, best):  # type: ignore[no-untyped-def]
    """Lower ``best[i, j]`` to the bounded choice within the area sizes_x[i] x sizes_y[j], in steps of ``unit``."""
    for i in range(1, sizes_x.shape[0]):
        for j in range(1, sizes_y.shape[0]):
            area = np.int64(np.float64(sizes_x[i]) * np.float64(sizes_y[j]) / unit * (1.0 + 1e-12) + 1e-6)
            value = bounded[min(bounded.shape[0] - 1, area)]
            if value < best[i, j]:
                best[i, j] = value
