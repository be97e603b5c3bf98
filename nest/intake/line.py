"""The line of the room file: its steps in order, their stations and times, operators; and a material's own times."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.line import (
    BACK,
    CUTTING,
    IMAGER_STATION,
    IMAGING,
    USUAL,
    USUAL_LINE,
    USUAL_OPERATORS,
    Attendance,
    BackTime,
    Hours,
    Line,
    Step,
    StepTimes,
)
from nest.intake.calendar import CLOCK_REMEDY, clock
from nest.intake.faults import offer, quoted
from nest.units import M2_PER_SQFT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from nest.domain.room import Room
    from nest.intake.keys import Keys

MOST_MINUTES = 7 * 24 * 60.0
MOST_OPERATORS = 100
MOST_BACK_SECONDS = 3600.0
TIME_KEYS = ("minutes", "minutes_per_m2", "minutes_per_sqft", "speed")


def read_line(keys: Keys) -> Line:
    """Return the room's line; without steps of its own the usual ones."""
    operators = keys.count("operators", least=1, most=MOST_OPERATORS)
    hours = _hours(keys)
    tables = keys.tables("steps")
    steps: list[Step] = []
    for own in tables:
        step = _step(own, {one.name for one in steps})
        if step is not None:
            steps.append(step)
    keys.finish()
    if "steps" in keys and not tables:
        keys.note("steps", rule="must hold at least one step", remedy="leave it out for the usual steps")
    _check_order(keys, steps)
    return Line(
        steps=tuple(steps) if "steps" in keys else USUAL_LINE,
        operators=USUAL_OPERATORS if operators is None else operators,
        operator_hours=hours,
    )


def _hours(keys: Keys) -> tuple[Hours, ...]:
    found = []
    for own in keys.tables("operator_hours"):
        start, end = clock(own, "from", required=True), clock(own, "to", required=True)
        own.finish()
        if start is None or end is None:
            continue
        if start == end:
            own.note("to", rule="must differ from 'from'", got=quoted(end.isoformat("minutes")), remedy=CLOCK_REMEDY)
        found.append(Hours(start=start, end=end))
    return tuple(found)


def _step(own: Keys, before: set[str]) -> Step | None:
    """Return one step, None after noting that it has no name or time of its own."""
    name = own.text("name", required=True)
    usual = USUAL.get(name or "")
    station = own.text("station") or (usual.station if usual else name)
    times = read_times(own)
    attendance = own.choice("operator", Attendance, usual.operator if usual else Attendance.START)
    usual_minutes = usual.operator_minutes if usual else 1.0
    attended = own.number_or("operator_minutes", usual_minutes, most=MOST_MINUTES)
    own.finish()
    if name is None or station is None:
        return None
    if name in before:
        own.note("name", rule="each step comes once", got=quoted(name), remedy="give it another name")
        return None
    if name == IMAGING:
        return _imaging(own, station)
    if usual is None and not any(key in own for key in TIME_KEYS):
        known = f"give minutes, minutes_per_m2 or speed; steps with usual times: {', '.join(USUAL)}"
        own.note("name", rule="a step of your own needs a time", got=quoted(name), remedy=known)
        return None
    stated = any(key in own for key in TIME_KEYS)
    return Step(
        name=name,
        station=station,
        minutes=times.minutes if times.minutes is not None else 0.0 if stated or usual is None else usual.minutes,
        minutes_per_m2=times.minutes_per_m2 or 0.0,
        speed_mm=times.speed_mm,
        operator=attendance,
        operator_minutes=attended,
    )


def _imaging(own: Keys, station: str) -> Step:
    """Return the imaging step, whose times come from the imager."""
    for key in (*TIME_KEYS, "operator", "operator_minutes"):
        if key in own:
            own.note(key, rule="imaging times come from [imager]: rpm, beams, resolution, load_minutes",
                     got=quoted(own.table[key]), remedy="remove it")
    if station != IMAGER_STATION:
        own.note("station", rule=f"imaging is done at station '{IMAGER_STATION}'", got=quoted(station),
                 remedy="remove it")
    return Step(name=IMAGING, station=IMAGER_STATION)


def read_times(own: Keys) -> StepTimes:
    """Return the times a table states of a step; areas per m2, whatever they were given in."""
    minutes, per_m2 = own.number("minutes", most=MOST_MINUTES), own.number("minutes_per_m2", most=MOST_MINUTES)
    per_sqft, speed = own.number("minutes_per_sqft", most=MOST_MINUTES), own.length("speed", above=True)
    if "minutes_per_m2" in own and "minutes_per_sqft" in own:
        own.note("minutes_per_sqft", rule="must not be given beside minutes_per_m2",
                 got=quoted(own.table["minutes_per_sqft"]), remedy="keep one of the two")
    return StepTimes(
        minutes=minutes, minutes_per_m2=per_m2 if per_sqft is None else per_sqft / M2_PER_SQFT, speed_mm=speed
    )


def read_material_times(own: Keys) -> dict[str, StepTimes]:
    """Return a material's own times by step."""
    section = own.section("times")
    times: dict[str, StepTimes] = {}
    for name in () if section is None else section.table:
        step = section.section(name) if section is not None else None
        if step is None:
            continue
        times[name] = read_times(step)
        step.finish()
    return times


def read_back_exposures(own: Keys) -> tuple[BackTime, ...]:
    """Return how long a material is back-exposed for each relief."""
    found: list[BackTime] = []
    for entry in own.tables("back_exposures"):
        relief = entry.number("relief", above=True, required=True)
        seconds = entry.number("seconds", above=True, most=MOST_BACK_SECONDS, required=True)
        entry.finish()
        if relief is None or seconds is None:
            continue
        if any(one.relief == relief for one in found):
            entry.note("relief", rule="each relief comes once", got=quoted(relief), remedy="remove one")
        found.append(BackTime(relief=relief, seconds=seconds))
    return tuple(found)


def _check_order(keys: Keys, steps: list[Step]) -> None:
    """Before cutting there is only the whole sheet: nothing but its back exposure can be done to it."""
    names = [step.name for step in steps]
    if CUTTING not in names:
        return
    for at, name in enumerate(names[: names.index(CUTTING)]):
        if name != BACK:
            keys.note_at((*keys.path, "steps", at, "name"), rule=f"only {BACK} can come before {CUTTING}",
                         got=quoted(name), remedy=f"move it behind {CUTTING}")


def check_line(room: Room, keys: Keys) -> None:
    """Note times of steps that the line lacks, and reliefs that are no relief; ``keys`` is the file's top table."""
    names = [step.name for step in room.line.steps]
    for material in room.materials.values():
        path = ("materials", material.name)
        for name in material.times:
            if name == IMAGING:
                keys.note_at((*path, "times", name), rule="imaging times come from [imager]", remedy="remove it")
            elif name not in names:
                keys.note_at((*path, "times", name), rule="no such step in [line]", got=quoted(name),
                             remedy=offer(name, names))
        scale = float(keys.scale)
        reliefs: Mapping[tuple[str | int, ...], float | None] = {
            ("relief",): material.relief,
            **{("back_exposures", n, "relief"): one.relief for n, one in enumerate(material.back_exposures)},
        }
        for end, relief in reliefs.items():
            if relief is not None and relief * scale >= material.thickness_mm:
                keys.note_at((*path, *end), rule=f"must be less than the thickness of {material.name}",
                             got=quoted(relief), remedy="relief is thickness less floor, in the room's unit")
