"""Which machine of its place each work is in, once its start is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.errors import NestError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.calendar.shop import Shop


def machines_of(
    shop: Shop, starts: Sequence[int], goes: Sequence[int], chosen: Mapping[int, int]
) -> tuple[int, ...]:
    """Return the machine of each work: as chosen, else the first that is free, works of one go in one.

    In order of their starts intervals never need more machines than overlap at once (they colour an interval graph).
    """
    machines = [0] * len(shop.works)
    for number, place in enumerate(shop.places):
        slots = 1 if place.joint else place.slots
        inside: list[list[int]] = [[] for _ in range(place.count)]
        leaders = [one for one in shop.works_at(number) if goes[one] == one]
        for at in sorted(leaders, key=lambda one: (starts[one], one)):
            if at in chosen:
                machines[at] = chosen[at]
                continue
            for ends in inside:
                ends[:] = [end for end in ends if end > starts[at]]
            free = next((n for n, ends in enumerate(inside) if len(ends) < slots), None)
            if free is None:
                raise NestError(f"work {at} finds no machine at {place.name}")
            inside[free].append(starts[at] + shop.works[at].ticks)
            machines[at] = free
    return tuple(machines[goes[at]] for at in range(len(shop.works)))
