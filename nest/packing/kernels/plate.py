"""Which plate to take from a rectangle of raw material: sizes the machines accept, credit of what is left, cost.

Around the used area of a filled plate the smallest plate is worked out for either lead edge; then every way to keep
or cut off what lies beside and above it (two edge-to-edge cuts, in either order) is priced, and the cheapest wins.
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.compiling import compiled

NO_PLATE = 1e18
TIE = 1e-9
"""Money closer than this counts as equal, so that rounding noise decides nothing."""


@compiled(inline=True)
def cents(amount):  # type: ignore[no-untyped-def]
    """Return an amount rounded half-even to cents."""
    return np.rint(amount * 100.0) / 100.0


@compiled(inline=True)
def loadable(lim, w, h, lead):  # type: ignore[no-untyped-def]
    """Return whether imager and stations accept a plate of w x h with its lead edge at y0 (0) or x0 (1)."""
    across, around = (w, h) if lead == 0 else (h, w)
    if across > lim.max_across or around > lim.max_around or across < lim.min_across or around < lim.min_around:
        return False
    short, long = min(w, h), max(w, h)
    return (
        short <= lim.max_short and long <= lim.max_long and short >= lim.min_short and long >= lim.min_long
    )


@compiled(inline=True)
def credit(lim, money, rate, w, h):  # type: ignore[no-untyped-def]
    """Return the credit of a kept rest of w x h, or -1 where it may not be kept."""
    short = min(w, h)
    area = np.float64(w) * np.float64(h)
    if w <= 0 or h <= 0 or short < lim.min_side or area < money.min_area:
        return -1.0
    full = lim.full_side
    share = 1.0 if full <= short else short / full
    value = cents(max(0.0, rate * area * share - money.handling))
    if value <= 0.0 and money.zero_credit == 0.0:
        return -1.0
    return value


@compiled()
def widest(lim, w, h, lead, halve, size):  # type: ignore[no-untyped-def]
    """Write to ``size`` the largest plate (w, h) a rectangle gives for a lead edge; return whether there is one.

    ``halve`` asks for equal parts of a side that is too long, instead of one full part and a remainder.
    """
    top_w = lim.max_across if lead == 0 else lim.max_around
    top_h = lim.max_around if lead == 0 else lim.max_across
    top_w, top_h = min(top_w, lim.max_long), min(top_h, lim.max_long)
    pw, ph = min(w, top_w), min(h, top_h)
    if min(pw, ph) > lim.max_short:
        if (halve & 2) != 0:
            pw = lim.max_short
        else:
            ph = lim.max_short
    if (halve & 1) != 0:
        if pw < w:
            pw = w // ((w + pw - 1) // pw)
        if ph < h:
            ph = h // ((h + ph - 1) // ph)
    if pw < w and w - pw < lim.strip:
        pw = w - lim.strip
    if ph < h and h - ph < lim.strip:
        ph = h - lim.strip
    size[0], size[1] = pw, ph
    return pw > 0 and ph > 0 and loadable(lim, pw, ph, lead)


@compiled(inline=True)
def rests_value(lim, money, rate, aw, ah, bw, bh, keep, wish, only):  # type: ignore[no-untyped-def]
    """Return what two rests are worth with at most ``keep`` kept.

    ``wish`` values them per area as further plates instead: both, or with ``only`` 2 the larger one.
    """
    if wish > 0.0:
        a, b = np.float64(aw) * ah, np.float64(bw) * bh
        return wish * (max(a, b) if only == 2 else a + b)
    a = max(credit(lim, money, rate, aw, ah), 0.0)
    b = max(credit(lim, money, rate, bw, bh), 0.0)
    if keep <= 0:
        return 0.0
    return max(a, b) if keep == 1 else a + b


@compiled(inline=True)
def grown(lim, need_w, need_h, w, h, lead, size):  # type: ignore[no-untyped-def]
    """Write to ``size`` the least plate at or above the need that the machines take and whose cuts are wide enough."""
    pw = max(need_w, lim.min_across if lead == 0 else lim.min_around)
    ph = max(need_h, lim.min_around if lead == 0 else lim.min_across)
    pw, ph = max(pw, lim.min_short), max(ph, lim.min_short)
    if max(pw, ph) < lim.min_long:
        # the cheaper side to lengthen is the longer one, unless the rectangle is too small that way
        if (pw >= ph and w >= lim.min_long) or h < lim.min_long:
            pw = lim.min_long
        else:
            ph = lim.min_long
    pw, ph = max(pw, lim.strip), max(ph, lim.strip)
    if w - pw < lim.strip:
        pw = w
    if h - ph < lim.strip:
        ph = h
    size[0], size[1] = pw, ph
    return need_w <= pw and need_h <= ph


@compiled(inline=True)
def plate_side(lim, at, whole, small, top):  # type: ignore[no-untyped-def]
    """Return a side a plate may have: whole, smallest, aimed at, or where the credit of a rest changes; 0 for none."""
    if at == 0:
        return whole
    if at == 1:
        return small
    if at == 2:
        return top
    size = lim.min_side if at < 5 else lim.full_side
    if (at & 1) == 0:
        size = whole - size
    return size if small < size < whole else 0


@compiled()
def cheapest_plate(  # type: ignore[no-untyped-def]
    lim, money, w, h, used_w, used_h, top_w, top_h, lead_k, side_k, parts, keep, rate, wish, only, size
):
    """Return the least cost of a plate for a used area inside a rectangle, or ``NO_PLATE``; its size goes to ``size``.

    The cost holds plate, process and cuts less the credit of the rests. ``size`` gets w, h, lead (0 y0, 1 x0) and the
    order of the two cuts (0: the cut beside the plate first, 1: the cut above it first). ``top_w`` x ``top_h`` is the
    plate size the fill was made for, offered besides the smallest, the whole and those at which the credit of a rest
    changes. Rectangles cut already (``parts``
    below the limit shows it) are at least one raw strip wide on each side. ``only`` 0 or 1 allows that order of the
    cuts alone, -1 both.
    """
    best = NO_PLATE
    best_w = best_h = best_lead = best_order = 0
    strip = lim.strip
    # a plate larger than need be can make the rest beside it wide enough to be kept, or to earn its full rate
    sizes = 7 if rate > 0.0 and wish == 0.0 and keep > 0 else 3
    for lead in range(2):
        need_w = used_w + side_k + (side_k if lead == 0 else lead_k)
        need_h = used_h + side_k + (lead_k if lead == 0 else side_k)
        if need_w > w or need_h > h:
            continue
        if not grown(lim, need_w, need_h, w, h, lead, size):
            continue
        small_w, small_h = size[0], size[1]
        for i in range(sizes):
            pw = plate_side(lim, i, w, small_w, top_w)
            if pw < need_w or pw > w or (pw < w and w - pw < strip):
                continue
            for j in range(sizes if i < 3 else 3):
                ph = plate_side(lim, j, h, small_h, top_h)
                if ph < need_h or ph > h or (ph < h and h - ph < strip) or not loadable(lim, pw, ph, lead):
                    continue
                cuts = (1 if pw < w else 0) + (1 if ph < h else 0)
                if cuts > parts or (cuts > 0 and (pw < strip or ph < strip)):
                    continue
                base = money.plate + cents(money.process * pw * ph) + cuts * money.cut
                for order in range(2):
                    if (cuts < 2 and order == 1) or (cuts == 2 and only == 1 - order):
                        continue
                    if order == 0:
                        value = rests_value(lim, money, rate, w - pw, h, pw, h - ph, keep, wish, only)
                    else:
                        value = rests_value(lim, money, rate, w, h - ph, w - pw, ph, keep, wish, only)
                    if base - value < best - TIE:
                        best, best_w, best_h, best_lead, best_order = base - value, pw, ph, lead, order
    size[0], size[1], size[2], size[3] = best_w, best_h, best_lead, best_order
    return best
