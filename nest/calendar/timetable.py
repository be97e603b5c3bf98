"""The timetable of a batch: loads of the drum, then every plate's stay at every station, with a proven bound."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time
from typing import TYPE_CHECKING

from nest.calendar.hours import DAY, away_spans, check_hours
from nest.calendar.loads import TICKS_PER_MINUTE, USUAL_BEAMS, USUAL_RPM, drum_loads
from nest.calendar.shop import makespan_of
from nest.calendar.shop_start import first_schedule
from nest.calendar.works import batch_plates, drum_plate, translated
from nest.domain.line import IMAGING
from nest.domain.timetable import PlateTimes, StationUse, Timetable, Visit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.calendar.shop import Found, Shop
    from nest.calendar.works import BatchPlate, Translation
    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.domain.timetable import Load

FIRST_CLOCK = time(6)
"""When a batch starts where only its day is stated, or not even that."""
NO_DAY = datetime(2001, 1, 1)  # a Monday; only its clock is used
OPERATORS = "operators"


@dataclass(frozen=True, slots=True, kw_only=True)
class When:
    """The batch to make a timetable of: its id in the plan, start and end, None where they are not stated."""

    batch: str = ""
    start: datetime | None = None
    end: datetime | None = None


def make_timetable(
    plan: Plan, room: Room, rows: Sequence[Row], when: When, effort: float = 1.0, file: str = "room"
) -> Timetable:
    """Return the timetable of a batch; the same input and effort give the same one.

    Parameters
    ----------
    plan, room, rows
        The plan and what it was made from.
    when
        The batch and its hours.
    effort
        How long to search (`nest.calendar.shop_model.best_schedule`).
    file
        Where faults of the room are said to be.

    Raises
    ------
    InputError
        If the operators' hours leave some step without the hands it needs.
    MissingExtra
        If the solver is not installed.
    ValueError
        If the batch has no plates.
    """
    from nest.calendar.shop_model import best_schedule

    plates = batch_plates(plan, room, rows, when.batch)
    if not plates:
        raise ValueError(f"batch {when.batch or 'of the plan'} has no plates")
    imaged = room.line.step(IMAGING) is not None
    loads, least = drum_loads([drum_plate(one, room) for one in plates], room.imager) if imaged else ((), 0.0)
    made = _translation(plates, room, loads, when.start or datetime.combine(NO_DAY, FIRST_CLOCK), file)
    found = best_schedule(made.shop, effort)
    uses = _uses(made.shop, found)
    return Timetable(
        batch=when.batch,
        start=when.start,
        end=when.end,
        loads=loads,
        plates=_plates(plates, made, found, loads),
        makespan=found.makespan / TICKS_PER_MINUTE,
        bound=found.bound / TICKS_PER_MINUTE,
        least_loads=least,
        bottleneck=uses[0].station,
        uses=uses,
        operators=room.line.operators,
        notes=(*_assumed(plates, room, imaged), *made.notes),
    )


def _translation(
    plates: Sequence[BatchPlate], room: Room, loads: Sequence[Load], start: datetime, file: str
) -> Translation:
    """Return the batch as a shop, with the absences of as many days as it may take."""
    operators, hours = room.line.operators, room.line.operator_hours
    made = translated(plates, room, loads, operators, ())
    if not hours:
        return made
    check_hours(made.shop, made.stays, hours, start, file)
    days = 7
    while True:
        made = translated(plates, room, loads, operators, away_spans(hours, start, days))
        makespan = makespan_of(made.shop, first_schedule(made.shop).starts)
        if makespan <= days * DAY:
            # what lies behind the first schedule's end concerns no schedule that is better
            needed = tuple(span for span in made.shop.away if span[0] < makespan)
            return translated(plates, room, loads, operators, needed)
        days *= 2


def _plates(
    plates: Sequence[BatchPlate], made: Translation, found: Found, loads: Sequence[Load]
) -> tuple[PlateTimes, ...]:
    load_of = {plate.plate: load.id for load in loads for plate in load.plates}
    schedule, shop = found.schedule, made.shop
    visits: dict[str, list[Visit]] = {one.plate.id: [] for one in plates}
    goes: dict[int, list[str]] = {}
    for at, stay in enumerate(made.stays):
        goes.setdefault(schedule.goes[at], []).extend(stay.plates)
    for at, (work, stay) in enumerate(zip(shop.works, made.stays, strict=True)):
        start, leader = schedule.starts[at], schedule.goes[at]
        for plate in stay.plates:
            visits[plate].append(Visit(
                step=stay.step,
                station=shop.places[work.place].name,
                machine=schedule.machines[at] + 1,
                start=start / TICKS_PER_MINUTE,
                end=(start + work.ticks) / TICKS_PER_MINUTE,
                tended=tuple((_minutes(start + a), _minutes(start + b)) for a, b in shop.works[leader].hands),
                company=tuple(sorted(one for one in goes[leader] if one != plate)),
            ))  # fmt: skip
    return tuple(
        PlateTimes(
            plate=one.plate.id, sheet=one.sheet.id, material=one.material,
            visits=tuple(visits[one.plate.id]), load=load_of.get(one.plate.id, ""),
        )
        for one in plates
    )  # fmt: skip


def _minutes(ticks: int) -> float:
    return ticks / TICKS_PER_MINUTE


def _uses(shop: Shop, found: Found) -> tuple[StationUse, ...]:
    """Return for which part of the batch each station and the operators are in use, the most used first."""
    schedule, uses = found.schedule, []
    leaders = {at for at in range(len(shop.works)) if schedule.goes[at] == at}
    for number, place in enumerate(shop.places):
        works = shop.works_at(number)
        if place.joint:
            busy = sum(shop.works[at].ticks for at in works if at in leaders) / place.count
        else:
            busy = sum(shop.works[at].ticks for at in works) / (place.count * place.slots)
            if place.area is not None:
                area = sum(shop.works[at].ticks * shop.works[at].area for at in works) / (place.count * place.area)
                busy = max(busy, area)
        uses.append(StationUse(station=place.name, machines=place.count, share=busy / max(1, found.makespan)))
    tended = sum(end - first for at in leaders for first, end in shop.works[at].hands)
    if shop.operators is not None:
        share = tended / shop.operators / max(1, found.makespan)
        uses.append(StationUse(station=OPERATORS, machines=shop.operators, share=share))
    return tuple(sorted(uses, key=lambda use: -use.share))


def _assumed(plates: Sequence[BatchPlate], room: Room, imaged: bool) -> list[str]:
    """Return what had to be assumed because the room does not say it."""
    notes = []
    if not room.line.stated:
        notes.append("the room states no [line]: usual steps and times are assumed, and one operator")
    missing = [key for key, value in (("rpm", room.imager.rpm), ("beams", room.imager.beams)) if value is None]
    if imaged and missing:
        told = " and ".join(f"imager.{key}" for key in missing)
        notes.append(f"the room does not state {told}: {USUAL_RPM:g} rpm and {USUAL_BEAMS} beams are assumed")
    exposed = [one.plate.id for one in plates if one.exposed]
    if exposed:
        notes.append(f"already back-exposed, so not again: {', '.join(exposed)}")
    return notes
