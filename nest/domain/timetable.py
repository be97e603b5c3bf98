"""When the plates of a batch are at each station, and how they share the drum. Times are minutes from its start."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime  # noqa: TC003 - part of the records


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedPlate:
    """A plate's place on the drum, mm: its left edge on the clamp's ruler, its lead edge from the clamp line.

    ``laser_axial_mm`` and ``laser_turn_mm`` are where the laser may start: behind clamp, bar, tape and trim.
    """

    plate: str
    across_mm: float
    around_mm: float
    axial_mm: float
    turn_mm: float
    laser_axial_mm: float
    laser_turn_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Plates imaged together: the drum's width they take from the ruler's zero, resolution, speed and minutes."""

    id: str
    plates: tuple[LoadedPlate, ...]
    width_mm: float
    ppi: float
    rpm: float
    slow: bool
    imaging_minutes: float
    load_minutes: float

    @property
    def minutes(self) -> float:
        """Loading and imaging."""
        return self.imaging_minutes + self.load_minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A plate's stay at a station for one step; ``tended`` are the spans in which an operator is there.

    ``machine`` counts equal machines from 1. ``company`` are the plates that go in and come out with it.
    """

    step: str
    station: str
    machine: int
    start: float
    end: float
    tended: tuple[tuple[float, float], ...] = ()
    company: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateTimes:
    """A plate on its way through the line; ``load`` is the id of its drum load, empty where nothing is imaged."""

    plate: str
    sheet: str
    material: str
    visits: tuple[Visit, ...]
    load: str = ""

    @property
    def ready(self) -> float:
        """When the plate is ready to mount."""
        return max(visit.end for visit in self.visits)


@dataclass(frozen=True, slots=True, kw_only=True)
class StationUse:
    """How many machines a station has, and for which part of the batch they are in use."""

    station: str
    machines: int
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """The way of a batch through the line.

    ``start`` is None where no day is stated. ``end`` is when the batch has to be out of the room, None where it is not
    said. ``makespan`` is when the last plate is ready to mount, ``bound`` a proven least of it. ``least_loads`` is a
    proven least of the loads' minutes. ``uses`` are the stations and the operators, the most used first.
    """

    batch: str
    start: datetime | None
    end: datetime | None
    loads: tuple[Load, ...]
    plates: tuple[PlateTimes, ...]
    makespan: float
    bound: float
    least_loads: float
    bottleneck: str
    uses: tuple[StationUse, ...]
    operators: int
    notes: tuple[str, ...] = ()

    @property
    def gap(self) -> float:
        """How far the makespan can be from the best possible at most, as a part of it; 0 where it is the best."""
        return (self.makespan - self.bound) / self.makespan if self.makespan > self.bound else 0.0

    def late(self) -> tuple[PlateTimes, ...]:
        """Return the plates that are not ready to mount before the batch has to be out."""
        if self.start is None or self.end is None:
            return ()
        most = (self.end - self.start).total_seconds() / 60
        return tuple(plate for plate in self.plates if plate.ready > most + 1e-6)
