"""Fill one plate for free cutting: items only must not overlap.

Method: maximal-rectangles list (Jylänki 2010, "A thousand ways to pack the bin", section 3): every maximal empty
rectangle is kept, a placed item cuts all it meets, and rectangles inside another are dropped.
"""

from __future__ import annotations

from nest.packing.kernels.compiling import compiled


@compiled()
def put_free(free, nf, x, y, iw, ih, cap):  # type: ignore[no-untyped-def]
    """Take the box (x, y, iw, ih) out of all maximal free rectangles; return the new count.

    Where the list would pass ``cap`` further pieces are dropped: space is lost, never double used.
    """
    x2, y2 = x + iw, y + ih
    old = nf
    new = nf
    for f in range(old):
        fx, fy, fw, fh = free[f, 0], free[f, 1], free[f, 2], free[f, 3]
        if fx >= x2 or fy >= y2 or fx + fw <= x or fy + fh <= y:
            continue
        if x > fx and new < cap:
            free[new, 0], free[new, 1], free[new, 2], free[new, 3] = fx, fy, x - fx, fh
            new += 1
        if x2 < fx + fw and new < cap:
            free[new, 0], free[new, 1], free[new, 2], free[new, 3] = x2, fy, fx + fw - x2, fh
            new += 1
        if y > fy and new < cap:
            free[new, 0], free[new, 1], free[new, 2], free[new, 3] = fx, fy, fw, y - fy
            new += 1
        if y2 < fy + fh and new < cap:
            free[new, 0], free[new, 1], free[new, 2], free[new, 3] = fx, y2, fw, fy + fh - y2
            new += 1
        free[f, 2] = 0
    return prune(free, old, new)


@compiled()
def prune(free, old, new):  # type: ignore[no-untyped-def]
    """Drop emptied rectangles and new ones that lie inside another; return the new count.

    Only rectangles cut from a met one (at ``old`` and above) can lie inside another one.
    """
    for a in range(old, new):
        ax, ay, ax2, ay2 = free[a, 0], free[a, 1], free[a, 0] + free[a, 2], free[a, 1] + free[a, 3]
        for b in range(new):
            if b == a or free[b, 2] == 0:
                continue
            if (
                free[b, 0] <= ax
                and free[b, 1] <= ay
                and free[b, 0] + free[b, 2] >= ax2
                and free[b, 1] + free[b, 3] >= ay2
            ):
                free[a, 2] = 0
                break
    n = 0
    for a in range(new):
        if free[a, 2] > 0:
            if n != a:
                free[n, 0], free[n, 1], free[n, 2], free[n, 3] = free[a, 0], free[a, 1], free[a, 2], free[a, 3]
            n += 1
    return n
