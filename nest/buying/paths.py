"""Many coming weeks from past ones: resampled, nested one after another, path by path."""

from __future__ import annotations

import pickle
import zlib
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.basis import basis_of
from nest.buying.crew import work_through
from nest.buying.demand import Demand, sizes_of
from nest.buying.nesting import Drawn, Storeroom, stacked
from nest.buying.resample import Resampler, jobs_of, random_of, remade

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


def simulate(history: History, room: Room, wishes: Wishes, means: Crew) -> Demand:
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

    Raises
    ------
    MissingExtra
        If a cluster is asked for and its library is not installed.
    ClusterError
        If the cluster cannot be reached, or workers end again and again.
    """
    load = zlib.compress(pickle.dumps(Load(history=history, room=room, wishes=wishes)), 1)
    found = work_through(run_path, load, wishes.paths, means)
    paths = [found[number] for number in sorted(found)]
    resampler = Resampler(history, wishes.block, first_week(history, wishes))
    basis = basis_of(history, wishes, resampler, remake_rate(history, wishes), sum(path.left for path in paths))
    return _demand(paths, history, room, wishes, basis)


def past_demand(history: History, room: Room, wishes: Wishes) -> Demand:
    """Return what the past weeks themselves draw, nested in the same way: one path that begins at the first of them.

    Remakes are drawn at the rate of `simulate`; the rack is the room's at the beginning.
    """
    random = random_of(wishes.seed, PAST_PATH)
    weeks = [tuple(row for job in jobs_of(week) for row in job) for week in history.weeks]
    path = _walk(weeks, history, room, wishes, random)
    basis = ("the past weeks as they were, nested one after another",)
    demand = _demand([path], history, room, wishes, basis)
    return Demand(
        sizes=demand.sizes, sheets=demand.sheets, cost=demand.cost, drawn_m2=demand.drawn_m2, kept_m2=demand.kept_m2,
        pieces_m2=demand.pieces_m2, first_week=history.weeks[0].monday, seed=wishes.seed, wanted_paths=1,
        currency=room.currency, basis=basis,
    )  # fmt: skip


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
