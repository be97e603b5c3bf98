"""Local search on a shop: its arrays for the compiled loops, and the best schedule they find."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from nest.calendar.loops import improve
from nest.calendar.shop import Schedule, makespan_of, total_of
from nest.packing.kernels.chance import new_state

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.calendar.shop import Shop

THRESHOLD = 0.003
"""How much worse, in parts of the makespan, an order may be at first to be kept."""
WEIGHT = 0.3
"""What the mean end of the last works counts beside the makespan while searching."""


class Arrays(NamedTuple):
    """A shop in arrays; lists of lists as one array and where each begins."""

    place: np.ndarray
    ticks: np.ndarray
    area: np.ndarray
    kind: np.ndarray
    last: np.ndarray
    after: np.ndarray
    after_at: np.ndarray
    behind: np.ndarray
    behind_at: np.ndarray
    hand_first: np.ndarray
    hand_ticks: np.ndarray
    hand_at: np.ndarray
    machines: np.ndarray
    slots: np.ndarray
    bed: np.ndarray
    joint: np.ndarray
    base: np.ndarray
    operators: int
    away_first: np.ndarray
    away_end: np.ndarray


class Scratch(NamedTuple):
    """What stands while a schedule is built: stays by machine, hands, and where each work is."""

    first: np.ndarray
    end: np.ndarray
    area: np.ndarray
    members: np.ndarray
    leader: np.ndarray
    filled: np.ndarray
    tend_first: np.ndarray
    tend_end: np.ndarray
    size: np.ndarray
    waits: np.ndarray
    eligible: np.ndarray
    starts: np.ndarray
    machine: np.ndarray
    go: np.ndarray


def searched(shop: Shop, start: Schedule, tries: int, bound: int) -> Schedule:
    """Return the best schedule that a search from one start finds; the same for the same arguments.

    Parameters
    ----------
    shop
        The works and places.
    start
        Where the search begins.
    tries
        Schedules built at most.
    bound
        A makespan that no schedule is below.
    """
    arrays = arrays_of(shop)
    weight = WEIGHT / max(1, sum(work.last for work in shop.works))
    keys = np.array(start.starts, dtype=np.float64)
    starts, goes, machines = (np.zeros(len(shop.works), dtype=np.int64) for _ in range(3))
    rank = improve(
        arrays, scratch_of(shop, arrays), new_state(0, 0), keys, max(1, tries), bound, weight, THRESHOLD, starts, goes,
        machines,
    )  # fmt: skip
    if tuple(map(int, rank)) > (makespan_of(shop, start.starts), total_of(shop, start.starts)):
        return start
    return Schedule(starts=tuple(map(int, starts)), machines=tuple(map(int, machines)), goes=tuple(map(int, goes)))


def _joined(lists: Iterable[Sequence[int]]) -> tuple[np.ndarray, np.ndarray]:
    """Return lists as one array, and where each begins."""
    parts = list(lists)
    begins = np.cumsum([0, *(len(part) for part in parts)], dtype=np.int64)
    return np.array([one for part in parts for one in part], dtype=np.int64), begins


def arrays_of(shop: Shop) -> Arrays:
    """Return a shop's arrays."""
    works, places = shop.works, shop.places
    after, after_at = _joined(work.after for work in works)
    behind_lists: list[list[int]] = [[] for _ in works]
    for at, work in enumerate(works):
        for one in work.after:
            behind_lists[one].append(at)
    behind, behind_at = _joined(behind_lists)
    hand_first, hand_at = _joined([first for first, _ in work.hands] for work in works)
    hand_ticks, _ = _joined([end - first for first, end in work.hands] for work in works)
    kinds = {kind: n for n, kind in enumerate(sorted({work.kind for work in works}))}

    def ints(values: Iterable[int]) -> np.ndarray:
        return np.array(list(values), dtype=np.int64)

    return Arrays(
        place=ints(work.place for work in works),
        ticks=ints(work.ticks for work in works),
        area=ints(work.area for work in works),
        kind=ints(kinds[work.kind] for work in works),
        last=ints(work.last for work in works),
        after=after, after_at=after_at, behind=behind, behind_at=behind_at,
        hand_first=hand_first, hand_ticks=hand_ticks, hand_at=hand_at,
        machines=ints(place.count for place in places),
        slots=ints(place.slots for place in places),
        bed=ints(-1 if place.area is None else place.area for place in places),
        joint=ints(place.joint for place in places),
        base=np.cumsum([0, *(place.count for place in places[:-1])], dtype=np.int64),
        operators=0 if shop.operators is None else shop.operators,
        away_first=ints(first for first, _ in shop.away),
        away_end=ints(end for _, end in shop.away),
    )  # fmt: skip


def scratch_of(shop: Shop, arrays: Arrays) -> Scratch:
    """Return scratch space for one shop."""
    count, machines = len(shop.works), int(arrays.machines.sum())
    most = max(int((arrays.place == at).sum()) for at in range(len(shop.places)))

    def zeros(*shape: int) -> np.ndarray:
        return np.zeros(shape, dtype=np.int64)

    return Scratch(
        first=zeros(machines, most), end=zeros(machines, most), area=zeros(machines, most),
        members=zeros(machines, most), leader=zeros(machines, most), filled=zeros(machines),
        tend_first=zeros(arrays.hand_first.size + 1), tend_end=zeros(arrays.hand_first.size + 1), size=zeros(1),
        waits=zeros(count), eligible=zeros(count), starts=zeros(count), machine=zeros(count), go=zeros(count),
    )  # fmt: skip
