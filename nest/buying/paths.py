"""Many coming weeks from past ones: resampled, nested one after another, path by path."""

from __future__ import annotations

import pickle
import zlib
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.basis import basis_of
from nest.buying.checks import (
    NONE,
    TIMES_LONGER,
    WARM_WEEKS,
    Check,
    Ratios,
    check_random,
    ratio_words,
    ratios_of,
    thinned,
)
from nest.buying.crew import work_through
from nest.buying.demand import Demand, sizes_of
from nest.buying.nesting import Drawn, Storeroom, stacked
from nest.buying.resample import Resampler, jobs_of, random_of, remade
from nest.pipeline import Effort
from nest.sketching import sketch_work

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.buying.crew import Crew
    from nest.buying.demand import SizeKey
    from nest.buying.past import History, Wishes
    from nest.buying.resample import Rows
    from nest.domain.room import Room

ASSUMED_REMAKES = 0.02
"""Pieces made again per piece where nothing tells: common practice says 1 to 5 %."""
MOST_SEED = 2**32
PAST_PATH = 2**31
"""Number of the random stream of the past weeks, beyond any path's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What all paths share."""

    history: History
    room: Room
    wishes: Wishes


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """One path as simulated: sheets (weeks, sizes), figures (4, weeks), pieces no sheet takes."""

    sheets: np.ndarray
    figures: np.ndarray
    left: int


def simulate(
    history: History, room: Room, wishes: Wishes, means: Crew, ratios: Ratios | None = None
) -> Demand:
    """Return what many coming weeks draw from the store.

    The same history, room, wishes and versions give the same demand, whoever does the work. After an interrupt the
    demand holds the paths that were finished, and ``wanted_paths`` tells how many were asked for.

    Parameters
    ----------
    history
        The past weeks.
    room
        Its sheets are the sizes to draw from, without end; its offcuts are on the rack at the beginning.
    wishes
        How many paths of how many weeks, and how to resample.
    means
        Who does the work.
    ratios
        How to correct what the short search draws; None to find that out first (`learnt_ratios`).

    Raises
    ------
    MissingExtra
        If a cluster is asked for and its library is not installed.
    ClusterError
        If the cluster cannot be reached, or workers end again and again.
    """
    ratios = learnt_ratios(history, room, wishes, means) if ratios is None else ratios
    found = work_through(run_path, packed(history, room, wishes), wishes.paths, means)
    paths = [found[number] for number in sorted(found)]
    resampler = Resampler(history, wishes.block, first_week(history, wishes))
    left = sum(path.left for path in paths)
    basis = basis_of(history, wishes, resampler, remake_rate(history, wishes), left)
    basis += ratio_words(ratios, sizes_of(room))
    return corrected(_demand(paths, history, room, wishes, basis), ratios)


def learnt_ratios(history: History, room: Room, wishes: Wishes, means: Crew) -> Ratios:
    """Return how to correct what the short search draws, from ``wishes.checks`` weeks nested a second time."""
    quiet = replace(means, told=lambda _done, _count: None)
    found = work_through(run_check, packed(history, room, wishes), wishes.checks, quiet)
    return ratios_of([found[number] for number in sorted(found)], sizes_of(room))


def corrected(demand: Demand, ratios: Ratios) -> Demand:
    """Return a demand as the long search would draw it."""
    if not ratios.weeks:
        return demand
    used = (demand.drawn_m2 - demand.kept_m2) * ratios.used
    return replace(
        demand, sheets=thinned(demand.sheets, ratios, demand.seed), cost=np.round(demand.cost * ratios.cost, 2),
        drawn_m2=np.round(demand.kept_m2 + used, 6),
    )  # fmt: skip


def packed(history: History, room: Room, wishes: Wishes) -> bytes:
    """Return what all tasks share, small enough to travel with each."""
    return zlib.compress(pickle.dumps(Load(history=history, room=room, wishes=wishes)), 1)


def past_demand(history: History, room: Room, wishes: Wishes, ratios: Ratios = NONE) -> Demand:
    """Return what the past weeks themselves draw, nested in the same way: one path that begins at the first of them.

    Remakes are drawn at the rate of `simulate`; the rack is the room's at the beginning. ``ratios`` should be those of
    the demand it is held against.
    """
    random = random_of(wishes.seed, PAST_PATH)
    weeks = [tuple(row for job in jobs_of(week) for row in job) for week in history.weeks]
    path = _walk(weeks, history, room, wishes, random)
    basis = ("the past weeks as they were, nested one after another",)
    own = replace(wishes, first_week=history.weeks[0].monday, paths=1)
    return corrected(_demand([path], history, room, own, basis), ratios)


def first_week(history: History, wishes: Wishes) -> date:
    """Return the Monday of the first week to simulate."""
    return wishes.first_week or history.next_monday


def remake_rate(history: History, wishes: Wishes) -> float:
    """Return the share of pieces made again: as wished, else the history's, else an assumption."""
    known = history.remake_rate if wishes.remake_rate is None else wishes.remake_rate
    return ASSUMED_REMAKES if known is None else known


def run_path(load: bytes, number: int) -> Path:
    """Simulate one path; it depends on nothing but its load and number."""
    given, resampler = _unpacked(load)
    random = random_of(given.wishes.seed, number)
    weeks = resampler.path(given.wishes.weeks, random)
    return _walk(weeks, given.history, given.room, given.wishes, random)


def run_check(load: bytes, number: int) -> list[Check]:
    """Nest one simulated week both ways, from the rack that some weeks before it leave."""
    given, resampler = _unpacked(load)
    wishes, room = given.wishes, given.room
    random = check_random(wishes.seed, number)
    store = Storeroom(room, sizes_of(room), wishes.offcut_weeks, wishes.rack_limit)
    weeks = resampler.path(WARM_WEEKS + 1, random)
    seeds = [int(seed) for seed in random.integers(MOST_SEED, size=len(weeks))]
    for at, rows in enumerate(weeks[:-1]):
        store.nest(rows, at, seeds[at], wishes.work_limit)
    rack, seed = tuple(store.rack), seeds[-1]
    out = []
    for material in sorted({row.material for row in weeks[-1]}):
        rows = tuple(row for row in weeks[-1] if row.material == material)
        pieces = sum(row.copies for row in rows)
        store.rack = list(rack)
        short = store.nest(rows, WARM_WEEKS, seed, wishes.work_limit)
        store.rack = list(rack)
        long = store.nest(rows, WARM_WEEKS, seed, TIMES_LONGER * sketch_work(pieces), Effort.QUICK)
        out.append(Check(material=material, short=short, long=long))
    return out


@lru_cache(maxsize=2)
def _unpacked(load: bytes) -> tuple[Load, Resampler]:
    given = pickle.loads(zlib.decompress(load))
    if not isinstance(given, Load):
        raise TypeError("not a load of a simulation")
    return given, Resampler(given.history, given.wishes.block, first_week(given.history, given.wishes))


def _walk(weeks: Sequence[Rows], history: History, room: Room, wishes: Wishes, random: np.random.Generator) -> Path:
    """Nest weeks one after another, and after each the pieces of it that are made again."""
    rate = remake_rate(history, wishes)
    store = Storeroom(room, sizes_of(room), wishes.offcut_weeks, wishes.rack_limit)
    drawn: list[Drawn] = []
    for number, rows in enumerate(weeks):
        seeds = random.integers(MOST_SEED, size=2)
        again = remade(rows, rate, random)
        week = store.nest(rows, number, int(seeds[0]), wishes.work_limit)
        drawn.append(week + store.nest(again, number, int(seeds[1])))
    sheets, figures = stacked(drawn)
    return Path(sheets=sheets, figures=figures, left=sum(week.left for week in drawn))


def _demand(
    paths: Sequence[Path], history: History, room: Room, wishes: Wishes, basis: tuple[str, ...]
) -> Demand:
    sizes: tuple[SizeKey, ...] = sizes_of(room)
    weeks = paths[0].sheets.shape[0] if paths else wishes.weeks
    sheets = np.zeros((len(paths), weeks, len(sizes)), np.int64)
    figures = np.zeros((len(paths), 4, weeks))
    for n, path in enumerate(paths):
        sheets[n], figures[n] = path.sheets, path.figures
    return Demand(
        sizes=sizes, sheets=sheets, cost=figures[:, 0], drawn_m2=figures[:, 1], kept_m2=figures[:, 2],
        pieces_m2=figures[:, 3], first_week=first_week(history, wishes), seed=wishes.seed, wanted_paths=wishes.paths,
        currency=room.currency, basis=basis,
    )  # fmt: skip
