"""Bounds of a shop's makespan that need no search.

A place can be filled only as fast as works reach it, and empties only as fast as they leave for the end. For each place
the earliest moments are bounded at which its first, second, … work can start: from the works' own chains, and from the
load that every place and the operators on the way there must have done for so many works. The same from the end, on the
shop turned round. Then no makespan C holds in which the place, filled at most so, has too little room for its load:

    load > ∫ min(capacity, what can have arrived by t, what can still be there C - t before the end) dt,  t from 0 to C.

Capacity and load are counted in slots, in area, for operators in hands, and for joint places in goes: works of one kind
need at least so many goes as their areas need beds (the bound L2 of Martello and Toth, Lower bounds and reduction
procedures for the bin packing problem, 1990, doi 10.1016/0166-218X(90)90094-S). For a single machine this is the
one-machine bound over all its works; over subsets by head it is taken too (Carlier, The one-machine sequencing problem,
1982, doi 10.1016/S0377-2217(82)80007-6). Sources from memory.

Complexity: a few passes over pairs of works that lie on one chain, and a bisection for each place.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise
from typing import TYPE_CHECKING

from nest.calendar.shop import Shop

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.calendar.shop import Work

Job = tuple[int, float, int]
"""Least ticks before, load in ticks, least ticks behind."""
HANDS = -1
"""The operators, beside the numbers of the places."""


class Count(Enum):
    """What the load of a place is counted in."""

    SLOTS = "slots"
    AREA = "area"


Resource = tuple[int, Count]
_NOISE = 1e-6


def makespan_bound(shop: Shop) -> int:
    """Return the best of the bounds, in ticks."""
    front, back = _Side(shop), _Side(turned(shop))
    tails = back.heads[::-1]
    best = max(head + work.ticks + tail for head, work, tail in zip(front.heads, shop.works, tails, strict=True))
    for at in [HANDS] * (shop.operators is not None) + list(range(len(shop.places))):
        best = max([best, *(_capacity_bound(load, best) for load in _loads(shop, at, front, back))])
    for at in [HANDS] * (shop.operators is not None) + list(range(len(shop.places))):
        best = max(best, jobs_bound(_jobs(shop, at, front.heads, tails)))
    return best


def turned(shop: Shop) -> Shop:
    """Return the shop run backwards: a schedule of it, read from its end, is one of the shop without absences."""
    count = len(shop.works)
    behind: dict[int, list[int]] = defaultdict(list)
    for at, work in enumerate(shop.works):
        for one in work.after:
            behind[one].append(count - 1 - at)
    works = [
        replace(work, after=tuple(sorted(behind[at])), last=not work.after,
                hands=tuple((work.ticks - end, work.ticks - first) for first, end in work.hands))
        for at, work in enumerate(shop.works)
    ]  # fmt: skip
    return Shop(works=tuple(reversed(works)), places=shop.places, operators=shop.operators)


@dataclass(frozen=True, slots=True)
class _Load:
    """A capacity, the load it has to bear, and step by step from either end how much of it can be in use at most."""

    capacity: float
    load: float
    arrivals: list[tuple[float, float]]
    departures: list[tuple[float, float]]


class _Side:
    """For one direction of time: which works each work must wait for, and when it can start at the earliest."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.resources = _resources(shop)
        self.waits: list[dict[int, int]] = []
        self.heads: list[int] = []
        for work in shop.works:
            waits: dict[int, int] = {}
            for one in work.after:
                waits[one] = max(waits.get(one, 0), 0)
                for before, ticks in self.waits[one].items():
                    waits[before] = max(waits.get(before, 0), ticks + shop.works[one].ticks)
            self.waits.append(waits)
            self.heads.append(self._head(waits))

    def _head(self, waits: dict[int, int]) -> int:
        """Return the least start of a work that must wait for others: for their chain, for the load of all of them."""
        works = self.shop.works
        best = max((self.heads[before] + works[before].ticks + gap for before, gap in waits.items()), default=0)
        for resource in self.resources:
            users = [(before, load) for before in waits if (load := _work_load(self.shop, before, resource)) > 0]
            if len(users) > 1:
                head = min(self.heads[before] for before, _ in users)
                gap = min(waits[before] for before, _ in users)
                best = max(best, _up(head + sum(load for _, load in users) + gap))
        return best

    def arrivals(self, works: Sequence[int]) -> list[float]:
        """Return the least ticks at which the first, second, … of some works can start."""
        moments = sorted(float(self.heads[at]) for at in works)
        for resource in self.resources:
            for n, moment in enumerate(self._from(resource, works)):
                moments[n] = max(moments[n], moment)
        return moments

    def _from(self, resource: Resource, works: Sequence[int]) -> list[float]:
        """Return the same from the load one resource must have done for so many of the works."""
        users: dict[int, int] = defaultdict(int)
        for at in works:
            for before in self.waits[at]:
                users[before] += 1
        shares, gaps, heads = [], [], []
        for at in works:
            share = 0.0
            for before, ticks in self.waits[at].items():
                load = _work_load(self.shop, before, resource)
                if load > 0:
                    share += load / users[before]
                    gaps.append(ticks)
                    heads.append(self.heads[before])
            shares.append(share)
        if not gaps:
            return []
        done, moments = 0.0, []
        for share in sorted(shares):
            done += share
            # a work that needs nothing of the resource does not wait for it
            moments.append(min(heads) + done + min(gaps) if share > 0 else 0.0)
        return moments


def _resources(shop: Shop) -> list[Resource]:
    """Return everything that works wait for, in each way that it can be counted."""
    hands = [] if shop.operators is None else [(HANDS, Count.SLOTS)]
    slots = [(at, Count.SLOTS) for at in range(len(shop.places))]
    return hands + slots + [(at, Count.AREA) for at, place in enumerate(shop.places) if place.area is not None]


def _work_load(shop: Shop, at: int, resource: Resource) -> float:
    """Return the ticks of the whole resource that a work takes at least: its share of slots, of area, of the hands."""
    work, (number, count) = shop.works[at], resource
    if number == HANDS:
        return 0.0 if shop.operators is None or _shares(shop, work) else _hand_ticks(work) / shop.operators
    if work.place != number:
        return 0.0
    place = shop.places[number]
    if count is Count.SLOTS:
        return work.ticks / place.slots / place.count
    return 0.0 if place.area is None else work.ticks * work.area / place.area / place.count


def _shares(shop: Shop, work: Work) -> bool:
    """Whether a work may share its go, and so its hands, with others."""
    place = shop.places[work.place]
    return place.joint and place.slots > 1


def _hand_ticks(work: Work) -> int:
    return sum(end - first for first, end in work.hands)


def _loads(shop: Shop, at: int, front: _Side, back: _Side) -> Iterable[_Load]:
    """Return what a resource has to bear, in each of the ways that it can be counted."""
    count = len(shop.works)
    if at == HANDS:
        assert shop.operators is not None
        works = [one for one, work in enumerate(shop.works) if work.hands and not _shares(shop, work)]
        load = float(sum(_hand_ticks(shop.works[one]) for one in works))
        yield _load(shop.operators, load, [1.0] * len(works), front.arrivals(works),
                    back.arrivals([count - 1 - one for one in works]))  # fmt: skip
        return
    place, works = shop.places[at], shop.works_at(at)
    if not works:
        return
    first, last = front.arrivals(works), back.arrivals([count - 1 - one for one in works])
    if place.joint and place.slots > 1:
        goes = _goes(shop, at)
        yield _load(place.count, float(sum(ticks * most for ticks, most in goes)), [1.0] * len(works), first, last)
    else:
        load = float(sum(shop.works[one].ticks for one in works))
        yield _load(place.count * place.slots, load, [1.0] * len(works), first, last)
    if place.area is not None:
        areas = sorted((float(shop.works[one].area) for one in works), reverse=True)
        load = float(sum(shop.works[one].area * shop.works[one].ticks for one in works))
        yield _load(place.count * place.area, load, areas, first, last)


def _load(capacity: float, load: float, sizes: list[float], first: list[float], last: list[float]) -> _Load:
    """Return a load; ``sizes`` are what each of the works uses, the largest first."""
    return _Load(capacity, load, _steps(capacity, sizes, first), _steps(capacity, sizes, last))


def _steps(capacity: float, sizes: list[float], moments: list[float]) -> list[tuple[float, float]]:
    used, steps = 0.0, []
    for size, moment in zip(sizes, moments, strict=True):
        used = min(capacity, used + size)
        steps.append((moment, used))
    return steps


def _goes(shop: Shop, at: int) -> list[tuple[int, int]]:
    """Return the ticks of goes of each kind and how many there must be at least."""
    place = shop.places[at]
    kinds: dict[tuple[str, int], list[int]] = defaultdict(list)
    for one in shop.works_at(at):
        work = shop.works[one]
        kinds[work.kind, work.ticks].append(work.area)
    return [
        (ticks, max(-(-len(areas) // place.slots), 0 if place.area is None else least_beds(areas, place.area)))
        for (_, ticks), areas in sorted(kinds.items())
    ]


def least_beds(areas: Sequence[int], bed: int) -> int:
    """Return how many beds of one area some areas need at least: the bound L2.

    Examples
    --------
    >>> least_beds([6, 6, 6, 4], 10), least_beds([5, 5, 5], 10), least_beds([], 10)
    (3, 2, 0)
    """
    best = -(-sum(areas) // bed)
    for small in {0, *(area for area in areas if 2 * area <= bed)}:
        huge = [area for area in areas if area > bed - small]
        large = [area for area in areas if bed < 2 * area <= 2 * (bed - small)]
        rest = sum(area for area in areas if small <= area and 2 * area <= bed)
        over = rest - (len(large) * bed - sum(large))
        best = max(best, len(huge) + len(large) + max(0, -(-over // bed)))
    return best


def _capacity_bound(one: _Load, known: int) -> int:
    """Return the least makespan, of at least ``known``, in which the load finds room."""
    if _room(one, known) >= one.load - _NOISE:
        return known
    low, high = known, 2 * known + 1
    while _room(one, high) < one.load - _NOISE:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _room(one, middle) >= one.load - _NOISE else (middle, high)
    return high


def _room(one: _Load, makespan: int) -> float:
    """Return how much load the capacity can bear at most within a makespan."""
    moments = sorted(
        {0.0, float(makespan)}
        | {moment for moment, _ in one.arrivals if moment < makespan}
        | {makespan - moment for moment, _ in one.departures if moment < makespan}
    )
    room, up, down = 0.0, 0, len(one.departures)
    for begin, end in pairwise(moments):
        while up < len(one.arrivals) and one.arrivals[up][0] <= begin:
            up += 1
        while down and makespan - one.departures[down - 1][0] <= begin:
            down -= 1
        if up and down:
            room += (end - begin) * min(one.arrivals[up - 1][1], one.departures[down - 1][1], one.capacity)
    return room


def _jobs(shop: Shop, at: int, heads: Sequence[int], tails: Sequence[int]) -> list[Job]:
    """Return the works of a resource as loads on all of it together."""
    if at == HANDS:
        assert shop.operators is not None
        return [
            (heads[one] + first, (end - first) / shop.operators, tails[one] + work.ticks - end)
            for one, work in enumerate(shop.works) if not _shares(shop, work)
            for first, end in work.hands
        ]  # fmt: skip
    return [(heads[one], _work_load(shop, one, (at, Count.SLOTS)), tails[one]) for one in shop.works_at(at)]


def jobs_bound(jobs: list[Job]) -> int:
    """Return the best of head + load + tail over the sets of jobs with head and tail of at least some values.

    Examples
    --------
    >>> jobs_bound([(0, 4.0, 9), (5, 3.0, 0)]), jobs_bound([])
    (13, 0)
    """
    best = 0.0
    for least_head in sorted({head for head, _, _ in jobs}):
        load = 0.0
        inside = sorted((job for job in jobs if job[0] >= least_head), key=lambda job: -job[2])
        for _, ticks, tail in inside:
            load += ticks
            best = max(best, least_head + load + tail)
    return _up(best)


def _up(ticks: float) -> int:
    # a load that is whole but for rounding noise must not be rounded up
    return -int(-(ticks - _NOISE) // 1)
