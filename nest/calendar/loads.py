"""Which plates share a load of the imager's drum, so that imaging and loading take least minutes.

A load is one or more columns beside each other along the drum axis, a gap apart; a column is one or more plates round
the same turn, a gap apart, no longer together than the drum takes. The drum makes whole turns, so a load takes
width × ppi / 25.4 / (beams × rpm) minutes, and the minutes of loading it.

Method: plates of one thickness and resolution are counted by size; every load of such counts that the drum takes is
made, with its least width (the widest plate left opens a column and any that fit its turn go in), and an integer
program chooses loads for all plates at least minutes. Exact where no more than `MOST_LOADS` loads are possible and the
program ends; else plates are taken widest first, and the bound is that of areas.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from nest.calendar.imaging import laser_minutes
from nest.calendar.solver import cp_sat, repeatable
from nest.domain.timetable import Load, LoadedPlate
from nest.units import to_units

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from nest.domain.room import Imager

MOST_LOADS = 20_000
EFFORT = 2.0
USUAL_RPM, USUAL_BEAMS = 300.0, 32
"""Drum speed and beams of a room that states none (from memory)."""
TICKS_PER_MINUTE = 600

Counts = tuple[int, ...]
"""How many plates of each size."""
Columns = tuple[tuple[int, ...], ...]
"""The sizes of each column's plates, the one in the clamp first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrumPlate:
    """A plate for the drum, mm; ``left_mm`` and ``lead_mm`` are its keep-outs at the left and at the lead edge."""

    plate: str
    across_mm: float
    around_mm: float
    left_mm: float
    lead_mm: float
    thickness_mm: float
    ppi: float


@dataclass(frozen=True, slots=True)
class _Size:
    """What matters of a plate for sharing a load, in units; ``follows``: its lead edge may be taped, not clamped."""

    across: int
    around: int
    follows: bool


def drum_loads(plates: Sequence[DrumPlate], imager: Imager) -> tuple[tuple[Load, ...], float]:
    """Return the loads of some plates, and a proven least of their minutes.

    Raises
    ------
    MissingExtra
        If plates could share loads and the solver is not installed.
    """
    groups: dict[tuple[float, float], list[DrumPlate]] = {}
    for plate in plates:
        groups.setdefault((plate.thickness_mm, plate.ppi), []).append(plate)
    loads: list[Load] = []
    bound = 0.0
    for _, group in sorted(groups.items()):
        found, least = _Drum(group, imager).loads(len(loads))
        loads += found
        bound += least
    return tuple(loads), min(bound, sum(load.minutes for load in loads))


class _Drum:
    """The loads of plates of one thickness and resolution; lives only inside `drum_loads`."""

    def __init__(self, plates: Sequence[DrumPlate], imager: Imager) -> None:
        self.imager = imager
        self.wide, self.turn = to_units(imager.max_across_mm), to_units(imager.max_around_mm)
        self.gap = to_units(imager.load_gap_mm)
        self.rpm, self.beams = imager.rpm or USUAL_RPM, imager.beams or USUAL_BEAMS
        first = plates[0]
        self.ppi = first.ppi
        thick = imager.slow_thickness_mm
        self.thick = thick is not None and first.thickness_mm >= thick
        by_size: dict[_Size, list[DrumPlate]] = {}
        for plate in plates:
            follows = imager.share_turn and plate.lead_mm >= imager.drum_tape_mm
            size = _Size(to_units(plate.across_mm), to_units(plate.around_mm), follows)
            by_size.setdefault(size, []).append(plate)
        self.sizes = sorted(by_size, key=lambda size: (-size.across, -size.around, size.follows))
        self.plates = [by_size[size] for size in self.sizes]
        self.columns: Callable[[Counts], Columns | None] = cache(self._columns)

    def loads(self, before: int) -> tuple[list[Load], float]:
        """Return the loads, numbered behind those before, and a proven least of their minutes."""
        possible = self._possible()
        if possible is None:
            chosen, bound = self._widest_first(), self._area_bound()
        else:
            chosen, bound = self._least(possible)
        left = [list(plates) for plates in self.plates]
        chosen.sort(key=lambda one: (-self.width(one), one), reverse=False)
        return [self._load(f"L{before + n}", one, left) for n, one in enumerate(chosen, 1)], bound

    def width(self, counts: Counts) -> int:
        """Return the least width of a load that the drum takes, in units."""
        columns = self.columns(counts) or ()
        return sum(max(self.sizes[at].across for at in column) for column in columns) + self.gap * (len(columns) - 1)

    def minutes(self, counts: Counts) -> float:
        """Return the minutes of a load."""
        rpm, _ = self._speed(counts)
        return self.imager.load_minutes + laser_minutes(self.width(counts) / 1e4, self.ppi, self.beams, rpm)

    def _speed(self, counts: Counts) -> tuple[float, bool]:
        """Return the drum's speed, slower for thick plates and where little of its turn is covered."""
        slow = self.imager.slow_rpm
        if slow is None:
            return self.rpm, False
        area = sum(count * size.across * size.around for count, size in zip(counts, self.sizes, strict=True))
        covered = area / (self.width(counts) * self.turn)
        is_slow = self.thick or covered < self.imager.slow_cover
        return (slow if is_slow else self.rpm), is_slow

    def _columns(self, counts: Counts) -> Columns | None:
        """Return the columns of least width for these plates, None where the drum cannot take them."""
        widest = next((at for at, count in enumerate(counts) if count), None)
        if widest is None:
            return ()
        best: tuple[int, Columns] | None = None
        for column in self._turns(counts, widest):
            left = list(counts)
            for at in column:
                left[at] -= 1
            rest = self.columns(tuple(left))
            if rest is None:
                continue
            made = (column, *rest)
            width = sum(max(self.sizes[at].across for at in one) for one in made) + self.gap * (len(made) - 1)
            if width <= self.wide and (best is None or width < best[0]):
                best = width, made
        return None if best is None else best[1]

    def _turns(self, counts: Counts, widest: int) -> list[tuple[int, ...]]:
        """Return the plates that can go round one turn with one of the widest, the one in the clamp first."""
        found: list[tuple[int, ...]] = []

        def extend(column: tuple[int, ...], used: int, clamped: bool) -> None:
            found.append(tuple(sorted(column, key=lambda at: (self.sizes[at].follows, at))))
            for at in range(column[-1], len(self.sizes)):
                size = self.sizes[at]
                there = column.count(at) < counts[at] and used + self.gap + size.around <= self.turn
                if there and self.imager.share_turn and (size.follows or not clamped):
                    extend((*column, at), used + self.gap + size.around, clamped or not size.follows)

        extend((widest,), self.sizes[widest].around, not self.sizes[widest].follows)
        return found

    def _possible(self) -> list[Counts] | None:
        """Return every load that the drum takes, None where there are too many."""
        most = [len(plates) for plates in self.plates]
        found: list[Counts] = []
        edge: list[tuple[Counts, int]] = [((0,) * len(most), 0)]
        while edge:
            further = []
            for counts, first in edge:
                for at in range(first, len(most)):
                    if counts[at] < most[at]:
                        more = (*counts[:at], counts[at] + 1, *counts[at + 1 :])
                        if sum(more) == 1 or self.columns(more) is not None:
                            found.append(more)
                            further.append((more, at))
                if len(found) > MOST_LOADS:
                    return None
            edge = further
        return found

    def _least(self, possible: list[Counts]) -> tuple[list[Counts], float]:
        """Return loads of least minutes that hold all plates, and a proven least."""
        if len(possible) == sum(len(plates) for plates in self.plates) and all(sum(one) == 1 for one in possible):
            return possible, sum(self.minutes(one) for one in possible)
        cp_model = cp_sat()
        program = cp_model.CpModel()
        most = [len(plates) for plates in self.plates]
        times = []
        for one in possible:
            upto = min(most[at] // count for at, count in enumerate(one) if count)
            times.append(program.new_int_var(0, upto, ""))
        for at, count in enumerate(most):
            program.add(sum(one[at] * used for one, used in zip(possible, times, strict=True) if one[at]) == count)
        ticks = [round(self.minutes(one) * TICKS_PER_MINUTE) for one in possible]
        program.minimize(sum(cost * used for cost, used in zip(ticks, times, strict=True)))
        solver = repeatable(cp_model, EFFORT)
        status = solver.solve(program)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return self._widest_first(), self._area_bound()
        chosen = [one for one, used in zip(possible, times, strict=True) for _ in range(solver.value(used))]
        # ticks are rounded: half a tick a load
        bound = (solver.best_objective_bound - 0.5 * len(chosen)) / TICKS_PER_MINUTE
        found = sum(self.minutes(one) for one in chosen)
        return chosen, found if status == cp_model.OPTIMAL else max(bound, self._area_bound())

    def _widest_first(self) -> list[Counts]:
        """Return loads filled one after another, the widest plate that still goes in first."""
        left = [len(plates) for plates in self.plates]
        chosen: list[Counts] = []
        while any(left):
            load = [0] * len(left)
            for at in range(len(left)):
                while left[at]:
                    load[at] += 1
                    if sum(load) > 1 and self.columns(tuple(load)) is None:
                        load[at] -= 1
                        break
                    left[at] -= 1
            chosen.append(tuple(load))
        return chosen

    def _area_bound(self) -> float:
        """Return the minutes that no choice of loads is below: all turns full and all loads full."""
        area = sum(size.across * size.around * len(plates)
                   for size, plates in zip(self.sizes, self.plates, strict=True))
        rpm = self.imager.slow_rpm if self.thick and self.imager.slow_rpm is not None else self.rpm
        loads = math.ceil(area / (self.wide * self.turn))
        return self.imager.load_minutes * loads + laser_minutes(area / self.turn / 1e4, self.ppi, self.beams, rpm)

    def _load(self, name: str, counts: Counts, left: list[list[DrumPlate]]) -> Load:
        """Return a load with a place for each of its plates, which are taken from those left."""
        placed: list[LoadedPlate] = []
        axial = 0
        for column in self.columns(counts) or ():
            turn = 0
            for at in column:
                plate = left[at].pop(0)
                placed.append(LoadedPlate(
                    plate=plate.plate, across_mm=plate.across_mm, around_mm=plate.around_mm, axial_mm=axial / 1e4,
                    turn_mm=turn / 1e4, laser_axial_mm=axial / 1e4 + plate.left_mm,
                    laser_turn_mm=turn / 1e4 + plate.lead_mm,
                ))  # fmt: skip
                turn += self.sizes[at].around + self.gap
            axial += max(self.sizes[at].across for at in column) + self.gap
        rpm, slow = self._speed(counts)
        width = self.width(counts) / 1e4
        return Load(
            id=name, plates=tuple(placed), width_mm=width, ppi=self.ppi, rpm=rpm, slow=slow,
            imaging_minutes=laser_minutes(width, self.ppi, self.beams, rpm), load_minutes=self.imager.load_minutes,
        )  # fmt: skip
