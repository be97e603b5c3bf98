"""Fill one whole sheet: a first plate, the cuts that free it, further plates in what is left, kept rests.

The choices inside (which plate size to aim at, which lead edge, whether a rest becomes a plate) are drawn at random;
the search above keeps the good ones. A further plate is kept only where its items are worth more than it costs.
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.chance import below, uniform
from nest.packing.kernels.compiling import compiled
from nest.packing.kernels.data import CUTS, ITEMS, MAX_PARTS, PLATES, RESTS, SHEETS
from nest.packing.kernels.fill import fill_plate, serves
from nest.packing.kernels.guillotine import PICKS, SPLITS
from nest.packing.kernels.plate import NO_PLATE, TIE, cents, cheapest_plate, credit, widest


@compiled(inline=True)
def seed_unit(d, ws, order, n, b, lot, skip):  # type: ignore[no-untyped-def]
    """Return the first free unit of the order that bin type ``b`` serves, after ``skip`` of them, or -1."""
    for o in range(n):
        u = order[o]
        if ws.taken[u] == 0 and serves(d, u, b, lot):
            if skip == 0:
                return u
            skip -= 1
    return -1


@compiled()
def area_left(d, ws, order, n, group, lock, level, b):  # type: ignore[no-untyped-def]
    """Return the inflated area of all free units that may join the plate (lots left aside: it only guides)."""
    taken, typ, groups, levels, jobs, alones, areas, ok = (
        ws.taken, d.typ, d.group, d.level, d.job, d.alone, d.area, d.ok,
    )  # fmt: skip
    total = 0.0
    for o in range(n):
        u = order[o]
        if taken[u] != 0 or groups[u] != group or levels[u] < level or ok[typ[u], b] == 0:
            continue
        if (jobs[u] == lock) if lock >= 0 else (alones[u] == 0):
            total += areas[u]
    return total


@compiled()
def aim(rng, fw, fh, left, seed_w, seed_h):  # type: ignore[no-untyped-def]
    """Return the area to fill: the whole frame, or a smaller one drawn at random for a compact plate.

    Where all that is left needs less than the frame, the smaller area is drawn around what it needs.
    """
    whole = np.float64(fw) * fh
    if left < 0.97 * whole and uniform(rng) < 0.85:
        share = left / whole / (0.72 + 0.28 * uniform(rng))
    elif uniform(rng) < 0.6:
        return fw, fh
    else:
        share = 0.25 + 0.75 * uniform(rng)
    share = min(1.0, share)
    way = below(rng, 3)
    if way == 0:
        w, h = fw, int(fh * share)
    elif way == 1:
        w, h = int(fw * share), fh
    else:
        part = share ** uniform(rng)
        w, h = int(fw * part), int(fh * share / part)
    return min(fw, max(w, seed_w)), min(fh, max(h, seed_h))


@compiled()
def patience_of(d, unit, b, rng):  # type: ignore[no-untyped-def]
    """Return what a plate around a unit may cost in its best batch.

    Mostly what that unit costs there on its own; now and then other batches may be waited for, or lateness paid with
    up to half of what the raw material costs, since a fuller plate can be worth it.
    """
    batches = d.batch_price.shape[0]
    if batches == 0:
        return 0.0
    own, low, high = 1e300, 1e300, 0.0
    for q in range(batches):
        own = min(own, d.batch_price[q] + d.late[d.window[unit], q])
        low, high = min(low, d.batch_price[q]), max(high, d.batch_price[q])
    more = high - low if uniform(rng) < 0.5 else 0.0
    if uniform(rng) < 0.3:
        more += 0.5 * uniform(rng) * d.bin_price[b]
    return own + more + TIE


@compiled()
def try_plate(d, ws, order, n, rect, b, axis, lot, parts, keep, wish, only, rng, lay):  # type: ignore[no-untyped-def]
    """Fill one plate in ``rect`` (x, y, w, h); return (cost, units placed), the size left in ``ws.size``.

    The cost holds what the plate costs in its best batch, which stands at the end of ``ws.late``. The plate and its
    items are appended to ``lay``; nothing is appended where nothing was placed.
    """
    skip = 0 if uniform(rng) < 0.8 else below(rng, 4)
    seed = seed_unit(d, ws, order, n, b, lot, skip)
    if seed < 0:
        return NO_PLATE, 0
    lock = -1
    if d.alone[seed] != 0 or (d.lonely[seed] != 0 and uniform(rng) < 0.3):
        lock = d.job[seed]
    level = d.level[seed]
    if level > 0 and uniform(rng) < 0.5:
        level = below(rng, level + 1)
    lead = below(rng, 2)
    chosen = ws.size[0]
    halve = below(rng, 4)
    found = widest(d.lim, rect[2], rect[3], lead, halve, ws.size)
    if not found:
        lead = 1 - lead
        found = widest(d.lim, rect[2], rect[3], lead, halve, ws.size)
    top_w, top_h = ws.size[0], ws.size[1]
    ws.size[0] = chosen
    if not found:
        return NO_PLATE, 0
    gap, lead_k, side_k = d.lim.gap, d.lead[level], d.side[level]
    fw = top_w - side_k - (side_k if lead == 0 else lead_k) + gap
    fh = top_h - side_k - (lead_k if lead == 0 else side_k) + gap
    if fw <= gap or fh <= gap:
        return NO_PLATE, 0
    first = d.start[seed]
    short = min(d.w[first], d.h[first])
    aw, ah = aim(rng, fw, fh, area_left(d, ws, order, n, d.group[seed], lock, level, b), short, short)
    plate, items = lay.used[PLATES], lay.used[ITEMS]
    pick, split = below(rng, PICKS), below(rng, SPLITS)
    patience = patience_of(d, seed, b, rng)
    used_w, used_h, placed = fill_plate(
        d, ws, order, n, d.group[seed], lock, level, b, axis, lot, aw, ah, pick, split, patience, lay, plate
    )
    if placed == 0 and (aw < fw or ah < fh):
        used_w, used_h, placed = fill_plate(
            d, ws, order, n, d.group[seed], lock, level, b, axis, lot, fw, fh, pick, split, patience, lay, plate
        )
    if placed == 0:
        return NO_PLATE, 0
    now = ws.size[0]
    if wish > 0.0 and seed_unit(d, ws, order, n, b, lot, 0) < 0:
        wish, only = 0.0, -1  # nothing left for further plates
    cost = cheapest_plate(
        d.lim, d.rate, rect[2], rect[3], used_w - gap, used_h - gap, top_w, top_h, lead_k, side_k, parts, keep,
        d.bin_rate[b], wish, only, ws.size,
    )
    w, h, lead, turn = ws.size[0], ws.size[1], ws.size[2], ws.size[3]
    ws.size[0] = now
    if cost >= NO_PLATE:
        undo(ws, chosen, items, lay)
        return NO_PLATE, 0
    row = lay.plate[plate]
    row[0], row[1], row[2], row[3], row[4], row[5], row[6] = lay.used[SHEETS], rect[0], rect[1], w, h, lead, level
    lay.used[PLATES] = plate + 1
    ws.size[1], ws.size[2], ws.size[3] = w, h, turn
    return cost + ws.late[ws.late.shape[0] - 1], placed


@compiled()
def undo(ws, chosen, items, lay):  # type: ignore[no-untyped-def]
    """Give back the units placed since the list of chosen units had ``chosen`` entries."""
    for c in range(chosen, ws.size[0]):
        ws.taken[ws.chosen[c]] = 0
    ws.size[0] = chosen
    lay.used[ITEMS] = items


@compiled()
def push_rests(d, ws, rect, turn, w, h, depth, lay):  # type: ignore[no-untyped-def]
    """Record the cuts that free a plate in the corner of ``rect`` and stack what is left; return the new depth."""
    x, y, rw, rh = rect[0], rect[1], rect[2], rect[3]
    sheet = lay.used[SHEETS]
    for step in range(2):
        upright = (turn == 0) == (step == 0)
        c = lay.used[CUTS]
        row = lay.cut[c]
        if upright and w < rw:
            top = y + (rh if turn == 0 else h)
            row[0], row[1], row[2], row[3], row[4] = sheet, x + w, y, x + w, top
            lay.used[CUTS] = c + 1
            s = ws.stack[depth]
            s[0], s[1], s[2], s[3] = x + w, y, rw - w, top - y
            depth += 1
        if not upright and h < rh:
            right = x + (w if turn == 0 else rw)
            row[0], row[1], row[2], row[3], row[4] = sheet, x, y + h, right, y + h
            lay.used[CUTS] = c + 1
            s = ws.stack[depth]
            s[0], s[1], s[2], s[3] = x, y + h, right - x, rh - h
            depth += 1
    return depth


@compiled()
def value_of(ws, value, start):  # type: ignore[no-untyped-def]
    """Return the value of the units chosen since ``start``."""
    total = 0.0
    for c in range(start, ws.size[0]):
        total += value[ws.chosen[c]]
    return total


@compiled()
def keep_rests(d, lay, first, rate):  # type: ignore[no-untyped-def]
    """Mark the rests worth most as kept, as many as a sheet may keep; return their credits' sum."""
    total = 0.0
    for _ in range(d.lim.keep):
        best, at = -0.5, -1
        for r in range(first, lay.used[RESTS]):
            if lay.rest[r, 5] == 0:
                value = credit(d.lim, d.rate, rate, lay.rest[r, 3], lay.rest[r, 4])
                if value > best + TIE:
                    best, at = value, r
        if at < 0:
            break
        lay.rest[at, 5] = 1
        total += best
    return total


@compiled()
def fill_sheet(d, ws, order, n, b, axis, lot, value, rng, lay):  # type: ignore[no-untyped-def]
    """Fill one sheet of bin type ``b``; return (cost, value of what it holds), or ``NO_PLATE`` where nothing fits.

    One sheet is appended to ``lay``. ``ws.chosen[:ws.size[0]]`` lists the units on it; they stay marked as taken.
    """
    ws.size[0] = 0
    sheet, first_rest = lay.used[SHEETS], lay.used[RESTS]
    lay.sheet[sheet, 1] = np.int64(rng[0])
    ws.stack[0, 0], ws.stack[0, 1], ws.stack[0, 2], ws.stack[0, 3] = 0, 0, d.bin_w[b], d.bin_h[b]
    depth, parts = 1, d.lim.parts - 1
    cost = d.bin_price[b]
    rate = d.bin_rate[b]
    many = uniform(rng)
    tries = 1 if many < 0.5 else 3
    wish, only = 0.0, -1
    if many > 0.7:
        # what is left counts as room for further plates, worth about what raw material costs
        wish = (0.4 + 1.2 * uniform(rng)) * cost / (np.float64(d.bin_w[b]) * d.bin_h[b])
        only = below(rng, 3)
    held = 0.0
    rect = np.zeros(4, np.int64)
    plates = 0
    while depth > 0:
        depth -= 1
        for q in range(4):
            rect[q] = ws.stack[depth, q]
        best = NO_PLATE
        for _ in range(tries if plates > 0 else 2):
            if best < NO_PLATE or depth + 3 >= MAX_PARTS:
                break
            was_items, was_plates, chosen = lay.used[ITEMS], lay.used[PLATES], ws.size[0]
            more, _placed = try_plate(
                d, ws, order, n, rect, b, axis, lot, parts, d.lim.keep, wish, only, rng, lay
            )
            if more >= NO_PLATE:
                continue
            gain = value_of(ws, value, chosen)
            own = max(0.0, credit(d.lim, d.rate, rate, rect[2], rect[3]))
            if plates > 0 and gain <= more + own + TIE:
                lay.used[PLATES] = was_plates
                undo(ws, chosen, was_items, lay)
                continue
            best = more
            held += gain
        if best < NO_PLATE:
            plates += 1
            w, h, turn = ws.size[1], ws.size[2], ws.size[3]
            cuts = (1 if w < rect[2] else 0) + (1 if h < rect[3] else 0)
            parts -= cuts
            cost += d.rate.plate + cents(d.rate.process * w * h) + cuts * d.rate.cut
            cost += ws.late[ws.late.shape[0] - 1]
            depth = push_rests(d, ws, rect, turn, w, h, depth, lay)
        elif plates > 0:
            r = lay.used[RESTS]
            row = lay.rest[r]
            row[0], row[1], row[2], row[3], row[4], row[5] = sheet, rect[0], rect[1], rect[2], rect[3], 0
            lay.used[RESTS] = r + 1
    if plates == 0:
        return NO_PLATE, 0.0
    cost -= keep_rests(d, lay, first_rest, rate)
    lay.sheet[sheet, 0] = b
    lay.cost[sheet] = cost
    lay.used[SHEETS] = sheet + 1
    return cost, held
