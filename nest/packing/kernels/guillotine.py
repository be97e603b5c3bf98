"""Fill one plate so that edge-to-edge cuts can part it.

Method: free-rectangle list with guillotine splits (Jylänki 2010, "A thousand ways to pack the bin", section 2), units
taken in the order given, the pick and split rules chosen by the caller. A unit of several items is placed whole or
the free list is put back. Cost: placed items x free rectangles.
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.compiling import compiled

PICKS = 6
SPLITS = 6


@compiled()
def pick_score(pick, fx, fy, fw, fh, iw, ih, used_w, used_h):  # type: ignore[no-untyped-def]
    """Return how badly an item of iw x ih suits a free rectangle under a pick rule; the least is taken."""
    dw, dh = fw - iw, fh - ih
    if pick == 0:  # least area left
        return np.float64(fw) * fh - np.float64(iw) * ih
    if pick == 1:  # least short side left
        return min(dw, dh) + 1e-9 * max(dw, dh)
    if pick == 2:  # least long side left
        return max(dw, dh) + 1e-9 * min(dw, dh)
    if pick == 3:  # lowest, then leftmost
        return (fy + ih) + 1e-9 * (fx + iw)
    if pick == 4:  # leftmost, then lowest
        return (fx + iw) + 1e-9 * (fy + ih)
    return np.float64(max(used_w, fx + iw)) * max(used_h, fy + ih) + 1e-9 * min(dw, dh)  # least growth of the used box


@compiled()
def split_flat(split, fw, fh, iw, ih):  # type: ignore[no-untyped-def]
    """Return whether the free rectangle is cut along the item's top edge first (else along its right edge)."""
    dw, dh = fw - iw, fh - ih
    if split == 0:
        return dw <= dh
    if split == 1:
        return dw > dh
    if split == 2:  # larger of the two new rectangles as large as can be
        return np.float64(fw) * dh >= np.float64(dw) * fh
    if split == 3:
        return np.float64(fw) * dh < np.float64(dw) * fh
    return split == 4


@compiled()
def best_place(free, nf, iw, ih, mask, pick, used_w, used_h):  # type: ignore[no-untyped-def]
    """Return (free rectangle, axis) of the best place of an item, or (-1, 0)."""
    best, at, axis = 1e300, -1, 0
    for f in range(nf):
        fw, fh = free[f, 2], free[f, 3]
        if (mask & 1) != 0 and iw <= fw and ih <= fh:
            score = pick_score(pick, free[f, 0], free[f, 1], fw, fh, iw, ih, used_w, used_h)
            if score < best:
                best, at, axis = score, f, 0
        if (mask & 2) != 0 and ih <= fw and iw <= fh:
            score = pick_score(pick, free[f, 0], free[f, 1], fw, fh, ih, iw, used_w, used_h)
            if score < best:
                best, at, axis = score, f, 1
    return at, axis


@compiled()
def put(free, nf, f, iw, ih, split):  # type: ignore[no-untyped-def]
    """Place an item in the corner of free rectangle ``f`` and split the remainder; return the new count."""
    x, y, w, h = free[f, 0], free[f, 1], free[f, 2], free[f, 3]
    flat = split_flat(split, w, h, iw, ih)
    right_h = ih if flat else h
    top_w = w if flat else iw
    nf -= 1
    free[f, 0], free[f, 1], free[f, 2], free[f, 3] = free[nf, 0], free[nf, 1], free[nf, 2], free[nf, 3]
    if w > iw:
        free[nf, 0], free[nf, 1], free[nf, 2], free[nf, 3] = x + iw, y, w - iw, right_h
        nf += 1
    if h > ih:
        free[nf, 0], free[nf, 1], free[nf, 2], free[nf, 3] = x, y + ih, top_w, h - ih
        nf += 1
    return nf
