"""Put the missing items of a unit beside those of it that lie on a plate already."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.packing.insert import OpenPlate, item_box, least_border
from nest.packing.problem import Placed

if TYPE_CHECKING:
    from nest.packing.problem import BinLayout, PlateLayout, Problem
    from nest.packing.solve import Demand


def filled_up(problem: Problem, demand: Demand, layout: BinLayout, unit: int) -> BinLayout | None:
    """Return a bin with a unit made whole on the plate where part of it lies, None where no place is found.

    What lies there does not move; the missing items of a set lie along the axis of those that are there.
    """
    plates = list(layout.plates)
    homes = [at for at, plate in enumerate(plates) if any(p.unit == unit for p in plate.placed)]
    if len(homes) != 1:
        return None
    plate = plates[homes[0]]
    lead, side = demand.keep_out(least_border(problem, demand.borders, plate))
    x, y = (lead, side) if plate.lead == 1 else (side, lead)
    usable = (plate.x + x, plate.y + y, plate.x + plate.w - side, plate.y + plate.h - side)
    others = replace(plate, placed=tuple(p for p in plate.placed if p.unit != unit))
    here = OpenPlate(problem, layout.bin, others, usable)
    if not here.admits(unit, problem.units[unit]):
        return None
    here.placed = list(plate.placed)
    here.boxes = [item_box(problem, p) for p in plate.placed]
    if not here.keeps(usable) or not put_missing(problem, here, plate, unit):
        return None
    plates[homes[0]] = here.closed()
    return replace(layout, plates=tuple(plates))


def put_missing(problem: Problem, here: OpenPlate, plate: PlateLayout, unit: int) -> bool:
    """Place the items of a unit that a plate lacks, the largest first; return whether all went in."""
    items = problem.units[unit].items
    there = {p.item: p for p in plate.placed if p.unit == unit}
    bound = [p.axis for at, p in there.items() if items[at].axes == 0]
    own = 1 << bound[0] if bound else 3
    missing = (at for at in range(len(items)) if at not in there)
    for at in sorted(missing, key=lambda i: (-items[i].w * items[i].h, i)):
        item = items[at]
        for axis in (0, 1):
            w, h = (item.w, item.h) if axis == 0 else (item.h, item.w)
            spot = here.place_for(w, h) if (item.axes or own) & (1 << axis) else None
            if spot is not None:
                here.placed.append(Placed(unit=unit, item=at, x=spot[0], y=spot[1], axis=axis))
                here.boxes.append((spot[0], spot[1], spot[0] + w, spot[1] + h))
                if item.axes == 0:
                    own = 1 << axis
                break
        else:
            return False
    return True
