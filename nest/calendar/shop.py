"""A re-entrant shop in the words of scheduling: works at places, one after another, with hands that tend them.

Knows neither plates nor rooms. Time is in whole ticks from 0. The timetable translates into it (`nest.calendar.works`),
classical instances are typed in it (tests), `nest.calendar.shop_model` finds a schedule and proves a bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

Span = tuple[int, int]
"""First tick and the tick after the last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Machines of one sort: ``count`` equal ones, each with ``slots`` works at once and ``area`` for them all.

    ``area`` None is without limit. Where works are ``joint``, those that are in one machine at a time have one kind,
    start together and end together.
    """

    name: str
    count: int = 1
    slots: int = 1
    area: int | None = None
    joint: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A stay of ``ticks`` at a place once all works ``after`` which it comes have ended.

    ``hands`` are the spans, from its own start, in which it needs an operator; works that share a machine jointly need
    the hands of one. The end of a ``last`` work counts.
    """

    place: int
    ticks: int
    after: tuple[int, ...] = ()
    area: int = 0
    kind: str = ""
    hands: tuple[Span, ...] = ()
    last: bool = False


@dataclass(frozen=True, kw_only=True)
class Shop:
    """Works in an order in which each comes behind all that it comes after.

    ``operators`` None is without limit; ``away`` are the spans in which no operator is there.

    Raises
    ------
    ValueError
        If a work comes after a later one, needs more area than its place has, no work is the last, or works that may
        share a joint go need different hands.
    """

    works: tuple[Work, ...]
    places: tuple[Place, ...]
    operators: int | None = None
    away: tuple[Span, ...] = ()

    def __post_init__(self) -> None:
        """Check what the search relies on."""
        if not any(work.last for work in self.works):
            raise ValueError("a shop needs a last work")
        for at, work in enumerate(self.works):
            limit = self.places[work.place].area
            if work.ticks < 0 or any(not 0 <= one < at for one in work.after):
                raise ValueError(f"work {at} is out of order")
            if limit is not None and work.area > limit:
                raise ValueError(f"work {at} is too large for its place")
        hands: dict[tuple[int, str, int], tuple[Span, ...]] = {}
        for work in self.works:
            known = hands.setdefault((work.place, work.kind, work.ticks), work.hands)
            if self.places[work.place].joint and known != work.hands:
                raise ValueError(f"works of kind {work.kind!r} need the same hands")

    @cached_property
    def heads(self) -> tuple[int, ...]:
        """Least ticks before each work can start: the longest chain of works before it."""
        heads: list[int] = []
        for work in self.works:
            heads.append(max((heads[one] + self.works[one].ticks for one in work.after), default=0))
        return tuple(heads)

    @cached_property
    def tails(self) -> tuple[int, ...]:
        """Least ticks between the end of each work and the end of all: the longest chain of works behind it."""
        tails = [0] * len(self.works)
        for at in range(len(self.works) - 1, -1, -1):
            for one in self.works[at].after:
                tails[one] = max(tails[one], tails[at] + self.works[at].ticks)
        return tuple(tails)

    def works_at(self, place: int) -> list[int]:
        """Return the numbers of the works at a place."""
        return [at for at, work in enumerate(self.works) if work.place == place]


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """When each work starts, in which machine of its place, and with which work it shares a go of a joint place.

    ``goes`` is the number of the work that leads the go, a work's own number where it leads or is alone.
    """

    starts: tuple[int, ...]
    machines: tuple[int, ...]
    goes: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A schedule, its makespan and a proven lower bound of any schedule's makespan.

    ``total`` is the sum of the ends of last works; ``total_bound`` its bound among schedules of that makespan.
    """

    schedule: Schedule
    makespan: int
    bound: int
    total: int
    total_bound: int

    @property
    def optimal(self) -> bool:
        """Whether no schedule ends earlier."""
        return self.makespan <= self.bound


def makespan_of(shop: Shop, starts: tuple[int, ...]) -> int:
    """Return when the last of the last works ends."""
    return max(start + work.ticks for start, work in zip(starts, shop.works, strict=True) if work.last)


def total_of(shop: Shop, starts: tuple[int, ...]) -> int:
    """Return the sum of the ends of last works."""
    return sum(start + work.ticks for start, work in zip(starts, shop.works, strict=True) if work.last)
