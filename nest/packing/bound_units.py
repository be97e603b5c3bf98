"""Part of a problem whose sets partly lie elsewhere already: their axis and lot are given, not chosen.

A unit of a set that has an axis is taken as one that lies along that axis only, one of a set that has a lot as one
that only bins of that lot serve; what is left are sets that are free as a whole, which any search handles.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.packing.fits import Fit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from nest.packing.problem import Bin, BinLayout, Problem, Unit


def set_choices(problem: Problem, layouts: Iterable[BinLayout]) -> tuple[dict[int, int], dict[int, int]]:
    """Return the axis of each axis set and the lot of each lot set that has a unit in the filled bins."""
    axes: dict[int, int] = {}
    lots: dict[int, int] = {}
    for layout in layouts:
        for plate in layout.plates:
            for placed in plate.placed:
                unit = problem.units[placed.unit]
                if unit.axis_set >= 0 and unit.items[placed.item].axes == 0:
                    axes.setdefault(unit.axis_set, placed.axis)
                if unit.lot_set >= 0:
                    lots.setdefault(unit.lot_set, problem.bins[layout.bin].lot)
    return axes, lots


def tied(unit: Unit, bins: Sequence[Bin], axes: Mapping[int, int], lots: Mapping[int, int]) -> Unit:
    """Return a unit with the axis and lot of its sets made its own, where they have one."""
    axis, lot = axes.get(unit.axis_set), lots.get(unit.lot_set)
    if unit.axis_set >= 0 and axis is not None:
        items = tuple(replace(i, axes=i.axes or 1 << axis) for i in unit.items)
        unit = replace(unit, items=items, axis_set=-1)
    if unit.lot_set >= 0 and lot is not None:
        unit = replace(unit, bins=tuple(b for b in unit.bins if bins[b].lot == lot), lot_set=-1)
    return unit


def part_with(problem: Problem, units: Iterable[Unit], bins: Sequence[Bin]) -> Problem:
    """Return a problem of other units and bins with the same rules; the sets of its units are numbered anew."""
    axis_sets: dict[int, int] = {}
    lot_sets: dict[int, int] = {}
    own = []
    for unit in units:
        axis = axis_sets.setdefault(unit.axis_set, len(axis_sets)) if unit.axis_set >= 0 else -1
        lot = lot_sets.setdefault(unit.lot_set, len(lot_sets)) if unit.lot_set >= 0 else -1
        own.append(replace(unit, axis_set=axis, lot_set=lot))
    return replace(
        problem, units=tuple(own), bins=tuple(bins), axis_sets=len(axis_sets), lot_sets=len(lot_sets)
    )


def tied_part(
    problem: Problem,
    fit: Fit,
    units: Sequence[int],
    stock: Sequence[int],
    axes: Mapping[int, int],
    lots: Mapping[int, int],
) -> tuple[Problem, Fit]:
    """Return the problem of some units on a stock, numbered as they come, with what fits; given sets are tied."""
    bins = [replace(b, stock=max(0, n)) for b, n in zip(problem.bins, stock, strict=True)]
    small = part_with(problem, (tied(problem.units[u], problem.bins, axes, lots) for u in units), bins)
    return small, Fit(along=tuple(fit.along[u] for u in units), across=tuple(fit.across[u] for u in units))
