"""Pieces that must be made left out although the store or a rest of the plan takes one on a plate of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.check.facts import row_name
from nest.check.geometry import NOISE_MM
from nest.check.left import Left, left_over
from nest.check.pieces import round_mm
from nest.check.plates import keep_outs_of, misfits
from nest.check.violation import Violation, mm
from nest.domain.job import Need
from nest.domain.plan import Edge
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts, Stock
    from nest.domain.room import Room


def _lengths(need: float, have: float, room: Room) -> list[float]:
    """Return the lengths a plate's side may usefully have out of a raw length: the whole, and each least one.

    A plate within an upper limit can shrink until one of its lower limits holds it, so only those need be tried.
    """
    if need > have + NOISE_MM:
        return []
    strip = room.costs.raw_min_strip_mm
    lows = {need, strip, room.imager.min_across_mm, room.imager.min_around_mm}
    lows |= {least for station in room.stations for least in (station.min_a_mm, station.min_b_mm)}
    largest_cut = have - max(strip, EPS_MM)
    fitting = {round_mm(low) for low in lows if low >= max(need, strip) - NOISE_MM and low <= largest_cut + NOISE_MM}
    return [have, *sorted(fitting)]


def carries(room: Room, left: Left, across: float, around: float, spare_parts: int) -> tuple[float, float] | None:
    """Return the size in mm of a plate for one piece out of a raw rectangle, or None.

    Parameters
    ----------
    room : Room
        Machines, holds and rules of raw cutting.
    left : Left
        The row whose piece it must carry.
    across, around : float
        The raw rectangle in the sheet's frame, mm.
    spare_parts : int
        How many more parts its sheet may be cut into.
    """
    wanted = left.wanted
    strip = room.costs.raw_min_strip_mm
    for lead in (Edge.Y0, Edge.X0):
        out = keep_outs_of(room, wanted.row.material, lead, wanted.least_border)
        for w, h in left.sizes():
            for x in _lengths(w + out[Edge.X0] + out[Edge.X1], across, room):
                for y in _lengths(h + out[Edge.Y0] + out[Edge.Y1], around, room):
                    cuts = (x < across) + (y < around)
                    if cuts > spare_parts or (cuts and min(x, y) < strip - NOISE_MM):
                        continue
                    if not misfits(room, x, y, lead, NOISE_MM):
                        return x, y
    return None


def stock_places(facts: Facts) -> Iterator[Violation]:
    """Check that no piece that must be made is left out while a sheet, an offcut or a rest could carry it alone."""
    drawn = facts.drawn()
    store = [
        stock for key, stock in sorted(facts.stock.items()) if stock.available is None or drawn[key] < stock.available
    ]
    most = facts.room.costs.raw_parts_max
    for left in left_over(facts):
        if left.wanted.row.need is not Need.MUST or not left.axes:
            continue
        name = row_name(left.wanted.row.key)
        for stock in store:
            size = None
            if left.served_by(stock):
                size = carries(facts.room, left, stock.across_mm, stock.around_mm, most - 1)
            if size is not None:
                yield Violation(
                    place=name, rule="unplaced-stock",
                    text=f"unplaced, although {stock.key[0].value} {stock.key[1]} is there and carries one on a plate "
                         f"of {mm(size[0])} x {mm(size[1])} mm",
                )
                break
        rest = _rest_for(facts, left)
        if rest is not None:
            yield Violation(
                place=name, rule="unplaced-rest",
                text=f"unplaced, although rest {rest} carries one on a plate of its own",
            )


def _rest_for(facts: Facts, left: Left) -> str | None:
    for sheet in facts.plan.sheets:
        source: Stock | None = facts.source_of(sheet)
        if sheet.id in facts.standing.sheets or source is None or not left.served_by(source):
            continue
        spare = facts.room.costs.raw_parts_max - len(sheet.plates) - len(sheet.rests)
        for rest in sheet.rests:
            if spare >= 0 and carries(facts.room, left, rest.rect.w, rest.rect.h, spare) is not None:
                return rest.id
    return None
