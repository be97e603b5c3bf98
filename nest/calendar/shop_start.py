"""A first schedule of a shop: works are started in order of a priority as soon as their place and hands are free.

A parallel schedule generation scheme (Kolisch, Serial and parallel resource-constrained project scheduling methods
revisited, 1996, doi 10.1016/0377-2217(95)00170-0, from memory), tried with some priorities. It never leaves a machine
idle for a later, better work, so it may miss the best schedule; it always ends and serves as the search's start.
"""

from __future__ import annotations

import heapq
import random
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from nest.calendar.shop import Schedule, makespan_of, total_of

if TYPE_CHECKING:
    from nest.calendar.shop import Shop, Span

RANDOM_TRIES = 12
NOISE = 0.3


def first_schedule(shop: Shop) -> Schedule:
    """Return the best of some schedules, by makespan, then by the sum of ends; always the same one."""
    best: tuple[tuple[int, int], Schedule] | None = None
    for priority in _priorities(shop):
        made = _Run(shop, priority).schedule()
        rank = makespan_of(shop, made.starts), total_of(shop, made.starts)
        if best is None or rank < best[0]:
            best = rank, made
    assert best is not None
    return best[1]


def _priorities(shop: Shop) -> list[list[float]]:
    """Return what to start first, smallest first: most work left, least work left, file order, and mixtures."""
    left = [tail + work.ticks for tail, work in zip(shop.tails, shop.works, strict=True)]
    order = [float(at) for at in range(len(shop.works))]
    rules: list[list[float]] = [[-float(one) for one in left], [float(one) for one in left], order]
    chance = random.Random(0)
    most = max(left) or 1
    for n in range(RANDOM_TRIES):
        sign = -1 if n % 3 else 1
        rules.append([sign * one / most + NOISE * chance.random() for one in left])
    return rules


@dataclass(slots=True)
class _Machine:
    """What is in one machine: the end, area and go of each work."""

    inside: list[tuple[int, int, int]] = field(default_factory=list)


class _Run:
    """One pass over time; lives only inside `first_schedule`."""

    def __init__(self, shop: Shop, priority: list[float]) -> None:
        self.shop, self.priority = shop, priority
        count = len(shop.works)
        self.starts, self.machines, self.goes = [-1] * count, [0] * count, list(range(count))
        self.waits = [len(work.after) for work in shop.works]
        self.behind: list[list[int]] = [[] for _ in range(count)]
        for at, work in enumerate(shop.works):
            for one in work.after:
                self.behind[one].append(at)
        self.inside = [[_Machine() for _ in range(place.count)] for place in shop.places]
        self.tended: list[Span] = []
        self.offsets = sorted({first for work in shop.works for first, _ in work.hands} | {0})
        self.events = [0]
        self.ready = [at for at in range(count) if not self.waits[at]]
        self.running: list[tuple[int, int]] = []

    def schedule(self) -> Schedule:
        """Run to the end."""
        left = len(self.starts)
        while left:
            now = heapq.heappop(self.events)
            self._finish(now)
            for at in sorted(self.ready, key=lambda one: (self.priority[one], one)):
                if self.starts[at] < 0 and self._starts_at(at, now):
                    left -= 1
                    left -= self._companions(at, now)
            self.ready = [at for at in self.ready if self.starts[at] < 0]
            self._later(now)
        return Schedule(starts=tuple(self.starts), machines=tuple(self.machines), goes=tuple(self.goes))

    def _finish(self, now: int) -> None:
        while self.running and self.running[0][0] <= now:
            _, at = heapq.heappop(self.running)
            for one in self.behind[at]:
                self.waits[one] -= 1
                if not self.waits[one]:
                    self.ready.append(one)
        for machines in self.inside:
            for machine in machines:
                machine.inside = [one for one in machine.inside if one[0] > now]

    def _starts_at(self, at: int, now: int) -> bool:
        """Start a work now if its place has room and its hands are free."""
        work = self.shop.works[at]
        place = self.shop.places[work.place]
        hands = [(now + first, now + end) for first, end in work.hands]
        if not all(self._free(span) for span in hands):
            return False
        for number, machine in enumerate(self.inside[work.place]):
            filled = len(machine.inside) >= (1 if place.joint else place.slots)
            area = work.area + sum(used for _, used, _ in machine.inside)
            if not filled and (place.area is None or area <= place.area):
                self._enter(at, now, number, at)
                self.tended += hands
                return True
        return False

    def _companions(self, leader: int, now: int) -> int:
        """Take further works along in the go just begun; return how many."""
        first = self.shop.works[leader]
        place = self.shop.places[first.place]
        if not place.joint:
            return 0
        machine, taken = self.inside[first.place][self.machines[leader]], 0
        for at in sorted(self.ready, key=lambda one: (self.priority[one], one)):
            work = self.shop.works[at]
            alike = work.place == first.place and work.kind == first.kind and work.ticks == first.ticks
            if self.starts[at] >= 0 or not alike or len(machine.inside) >= place.slots:
                continue
            if place.area is None or work.area + sum(used for _, used, _ in machine.inside) <= place.area:
                self._enter(at, now, self.machines[leader], leader)
                taken += 1
        return taken

    def _enter(self, at: int, now: int, machine: int, go: int) -> None:
        work = self.shop.works[at]
        self.starts[at], self.machines[at], self.goes[at] = now, machine, go
        self.inside[work.place][machine].inside.append((now + work.ticks, work.area, go))
        heapq.heappush(self.running, (now + work.ticks, at))
        heapq.heappush(self.events, now + work.ticks)

    def _free(self, span: Span) -> bool:
        """Whether an operator is there and free over a whole span."""
        if self.shop.operators is None or span[0] == span[1]:
            return True
        if any(first < span[1] and end > span[0] for first, end in self.shop.away):
            return False
        busy = [one for one in self.tended if one[0] < span[1] and one[1] > span[0]]
        moments = [span[0], *(first for first, _ in busy if first > span[0])]
        return all(sum(first <= t < end for first, end in busy) < self.shop.operators for t in moments)

    def _later(self, now: int) -> None:
        """Note when hands that are busy or away now may be free for a work that starts later."""
        if self.events and self.shop.operators is None:
            return
        self.tended = [span for span in self.tended if span[1] > now]
        ends = [end for _, end in self.tended] + [end for _, end in self.shop.away if end > now]
        later = [end - offset for end in ends for offset in self.offsets if end - offset > now]
        soonest = min(later, default=None)
        while self.events and self.events[0] <= now:
            heapq.heappop(self.events)
        if soonest is not None and (not self.events or soonest < self.events[0]):
            heapq.heappush(self.events, soonest)
