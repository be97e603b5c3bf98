"""The arrays the compiled loops work on: one problem, its scratch space and its layout buffers.

A *unit* is what is placed whole or not at all on one plate: a single item, or the items of a bundle. Items carry sizes
already inflated by the gap, and a plate's usable area is inflated likewise, so that a gap is owed between two items
but never at an edge. Lengths are integers of 0.0001 mm, money is float.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

IntArray = np.ndarray[tuple[int, ...], np.dtype[np.int64]]
FloatArray = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


class Lim(NamedTuple):
    """Lengths and counts as plain numbers: the loops read them without touching an array."""

    gap: int
    max_across: int
    max_around: int
    min_across: int
    min_around: int
    max_short: int
    max_long: int
    min_short: int
    min_long: int
    strip: int
    full_side: int
    min_side: int
    parts: int
    keep: int
    free: int


class Money(NamedTuple):
    """Rates per squared length unit, per plate, cut and kept rest; ``zero_credit`` is 1 where credits count nothing."""

    plate: float
    process: float
    cut: float
    handling: float
    min_area: float
    zero_credit: float


class Data(NamedTuple):
    """One packing problem as arrays; ``n`` items, ``u`` units, ``t`` unit types, ``b`` bin types, ``k`` levels."""

    start: IntArray  # (u+1,) first item of each unit; its items are contiguous
    typ: IntArray  # (u,) units of one type are interchangeable
    group: IntArray  # (u,) plates hold one group
    job: IntArray  # (u,)
    alone: IntArray  # (u,) 1 if the unit shares its plate with its own job only
    lonely: IntArray  # (u,) 1 if the unit's job has a unit that must be alone, in this group
    level: IntArray  # (u,) highest keep-out level the unit's floor border allows
    axis_set: IntArray  # (u,) index of the colour set whose axis binds the unit, or -1
    lot_set: IntArray  # (u,) index of the lot set that binds the unit, or -1
    area: IntArray  # (u,) inflated area
    early: FloatArray  # (u,) 0..1, larger for units due earlier
    w: IntArray  # (n,) inflated width at axis 0
    h: IntArray  # (n,)
    mask: IntArray  # (n,) bit 0: axis 0 allowed, bit 1: axis 1 allowed
    row: IntArray  # (n,)
    row_unit: IntArray  # (n,) unit of each item
    apart: IntArray  # (n,) 1 if a plate holds one item of this row at most
    ok: IntArray  # (t, b) 1 if the bin's lot, expiry and relief serve the unit type
    bin_w: IntArray  # (b,)
    bin_h: IntArray  # (b,)
    bin_price: FloatArray  # (b,)
    bin_rate: FloatArray  # (b,) credit per squared length unit
    bin_lot: IntArray  # (b,) lot index or -1
    window: IntArray  # (u,) row of the unit in late
    late: FloatArray  # (windows, batches) what a unit costs in each batch beyond its best one
    batch_price: FloatArray  # (batches,) what a plate costs in each batch; no batches where they do not matter
    lead: IntArray  # (k,) keep-out of the lead edge at each level
    side: IntArray  # (k,) keep-out of the other edges
    lim: Lim
    rate: Money


class Layout(NamedTuple):
    """Buffers for the layouts of one or more sheets; ``used`` counts the rows filled of each."""

    used: IntArray  # (5,) sheets, plates, rests, cuts, items
    sheet: IntArray  # (S, 2) bin, random state the fill began with
    cost: FloatArray  # (S,)
    plate: IntArray  # (P, 7) sheet, x, y, w, h, lead (0 y0, 1 x0), level
    rest: IntArray  # (R, 6) sheet, x, y, w, h, kept
    cut: IntArray  # (C, 5) sheet, x1, y1, x2, y2
    item: IntArray  # (N, 5) plate, item, x, y, axis


SHEETS, PLATES, RESTS, CUTS, ITEMS = 0, 1, 2, 3, 4
MAX_PARTS = 64


class Scratch(NamedTuple):
    """Work space of the loops, sized for one problem."""

    free: IntArray  # (2, F, 4) free rectangles x, y, w, h and their saved copy
    failed: IntArray  # (t,) stamp of the last plate the type failed on
    rowmark: IntArray  # (rows,) stamp of the last plate that holds the row
    stamp: IntArray  # (1,)
    work: IntArray  # (1,) placement attempts made so far
    taken: IntArray  # (u,)
    order: IntArray  # (u,)
    key: FloatArray  # (u,)
    noise: FloatArray  # (t,)
    chosen: IntArray  # (u,) units placed on the sheet being filled
    stack: IntArray  # (MAX_PARTS, 4)
    size: IntArray  # (4,) plate size found: w, h, lead, order
    late: FloatArray  # (batches + 1,) what the plate being filled costs in each batch, and the least of it


def new_layout(items: int, sheets: int, parts: int) -> Layout:
    """Return empty buffers for at most so many items and sheets of so many parts."""
    parts = min(parts, MAX_PARTS)
    rows = sheets * parts

    def zeros(*shape: int) -> IntArray:
        return np.zeros(shape, np.int64)

    return Layout(
        zeros(5), zeros(sheets, 2), np.zeros(sheets), zeros(rows, 7), zeros(rows, 6), zeros(rows, 5), zeros(items, 5)
    )


def new_scratch(units: int, types: int, rows: int, items: int, batches: int) -> Scratch:
    """Return scratch space for a problem of that size."""

    def zeros(*shape: int) -> IntArray:
        return np.zeros(shape, np.int64)

    return Scratch(
        free=zeros(2, 4 * items + 64, 4),
        failed=zeros(types),
        rowmark=zeros(rows),
        stamp=zeros(1),
        work=zeros(1),
        taken=zeros(units),
        order=zeros(units),
        key=np.zeros(units),
        noise=np.zeros(types),
        chosen=zeros(units),
        stack=zeros(MAX_PARTS, 4),
        size=zeros(4),
        late=np.zeros(batches + 1),
    )
