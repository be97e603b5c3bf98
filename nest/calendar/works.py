"""A batch's plates in the words of a shop: which works they are, in which order, at which places, with which hands."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from nest.calendar.loads import TICKS_PER_MINUTE, DrumPlate
from nest.calendar.shop import Place, Shop, Work
from nest.domain.line import BACK, CUTTING, IMAGING, Attendance
from nest.domain.plan import CutStage, SourceKind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from nest.calendar.shop import Span
    from nest.domain.job import Row, RowKey
    from nest.domain.line import Step
    from nest.domain.plan import Plan, PlannedPlate, PlannedSheet
    from nest.domain.room import Room, Station
    from nest.domain.timetable import Load


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchPlate:
    """A plate of a batch with what the line asks of it; ``relief`` None where neither rows nor room say."""

    plate: PlannedPlate
    sheet: PlannedSheet
    material: str
    relief: float | None
    ppi: float
    exposed: bool
    """Whether it comes from an offcut that was back-exposed before."""

    @property
    def area(self) -> int:
        """Whole mm2."""
        return round(self.plate.rect.w * self.plate.rect.h)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """What a work of the shop is: a step, for some plates at once where it is done on a sheet or a load."""

    step: str
    plates: tuple[str, ...]
    load: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Translation:
    """A shop, what its works are, and what was decided on the way."""

    shop: Shop
    stays: tuple[Stay, ...]
    notes: tuple[str, ...]


def batch_plates(plan: Plan, room: Room, rows: Sequence[Row], batch: str) -> tuple[BatchPlate, ...]:
    """Return the plates that a batch makes, in the plan's order."""
    by_key = {row.key: row for row in rows}
    exposed = {offcut.id for offcut in room.offcuts if offcut.relief is not None}
    found = []
    for sheet in plan.sheets:
        from_exposed = sheet.source.kind is SourceKind.OFFCUT and sheet.source.ref in exposed
        for plate in sheet.plates:
            if plate.batch == batch:
                found.append(BatchPlate(
                    plate=plate, sheet=sheet, material=sheet.material, exposed=from_exposed,
                    relief=_relief(plate, by_key, room, sheet.material), ppi=_ppi(plate, by_key, room),
                ))  # fmt: skip
    return tuple(found)


def _values(plate: PlannedPlate, rows: Mapping[RowKey, Row], column: str) -> list[float]:
    values = [getattr(rows[piece.row], column) for piece in plate.pieces if piece.row in rows]
    return [value for value in values if isinstance(value, float)]


def _relief(plate: PlannedPlate, rows: Mapping[RowKey, Row], room: Room, material: str) -> float | None:
    return next(iter(_values(plate, rows, "relief")), room.materials[material].relief)


def _ppi(plate: PlannedPlate, rows: Mapping[RowKey, Row], room: Room) -> float:
    """Return the finest resolution any of its pieces asks for, the imager's usual one where none does."""
    return max(_values(plate, rows, "resolution"), default=room.imager.resolution)


def drum_plate(one: BatchPlate, room: Room) -> DrumPlate:
    """Return a plate as it lies on the drum."""
    plate, keep = one.plate, one.plate.keep_out
    return DrumPlate(
        plate=plate.id, across_mm=plate.across_mm, around_mm=plate.around_mm,
        left_mm=getattr(keep, plate.left.value), lead_mm=getattr(keep, plate.lead.value),
        thickness_mm=room.materials[one.material].thickness_mm, ppi=one.ppi,
    )  # fmt: skip


def minutes_of(step: Step, one: BatchPlate, room: Room) -> float:
    """Return how long a step takes for a plate; the material's own times come before the step's."""
    material = room.materials[one.material]
    if step.name == BACK:
        if one.exposed:
            return 0.0
        seconds = [back.seconds for back in material.back_exposures if back.relief == one.relief]
        if seconds:
            return seconds[0] / 60
    own = material.times.get(step.name)
    minutes, per_m2, speed = step.minutes, step.minutes_per_m2, step.speed_mm
    if own is not None:
        minutes = minutes if own.minutes is None else own.minutes
        per_m2 = per_m2 if own.minutes_per_m2 is None else own.minutes_per_m2
        speed = speed if own.speed_mm is None else own.speed_mm
    along = 0.0 if speed is None else one.plate.around_mm / speed
    return minutes + per_m2 * one.area / 1e6 + along


def ticks_of(minutes: float) -> int:
    """Return minutes as ticks, rounded up."""
    return -int(-round(minutes * TICKS_PER_MINUTE, 6) // 1)


def hands_of(attendance: Attendance, minutes: float, ticks: int) -> tuple[Span, ...]:
    """Return when a work of so many ticks needs an operator.

    Examples
    --------
    >>> hands_of(Attendance.BOTH, 1.0, 6000), hands_of(Attendance.BOTH, 1.0, 1000), hands_of(Attendance.END, 9.0, 60)
    (((0, 600), (5400, 6000)), ((0, 1000),), ((0, 60),))
    """
    length = min(ticks, ticks_of(minutes))
    if attendance is Attendance.NONE or not length:
        return ()
    if attendance is Attendance.THROUGHOUT or (attendance is Attendance.BOTH and 2 * length >= ticks):
        return ((0, ticks),)
    start, end = (0, length), (ticks - length, ticks)
    return {Attendance.START: (start,), Attendance.END: (end,)}.get(attendance, (start, end))


@dataclass(slots=True)
class _Making:
    """Works as they are made, and the works each plate has to wait for next."""

    works: list[Work] = field(default_factory=list)
    stays: list[Stay] = field(default_factory=list)
    behind: dict[str, int] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def add(self, work: Work, stay: Stay) -> None:
        """Add a work that all its plates wait for next."""
        self.works.append(work)
        self.stays.append(stay)
        for plate in stay.plates:
            self.behind[plate] = len(self.works) - 1

    def after(self, plates: Iterable[str]) -> tuple[int, ...]:
        return tuple(sorted({self.behind[plate] for plate in plates if plate in self.behind}))


def translated(plates: Sequence[BatchPlate], room: Room, loads: Sequence[Load], operators: int,
               away: tuple[Span, ...]) -> Translation:  # fmt: skip
    """Return a batch as a shop.

    Parameters
    ----------
    plates
        The plates of the batch.
    room
        The room with its line and stations.
    loads
        How the plates share the drum.
    operators
        How many there are at once.
    away
        When none is there, in ticks.
    """
    line, making = room.line, _Making()
    places = {name: n for n, name in enumerate(dict.fromkeys(step.station for step in line.steps))}
    on_sheets = _exposed_whole(plates, room, making)
    for step in line.steps:
        place = places[step.station]
        if step.name == CUTTING:
            _cut(making, plates, step, place)
        elif step.name == IMAGING:
            for load in loads:
                names = tuple(plate.plate for plate in load.plates)
                attended = hands_of(Attendance.START, load.load_minutes, ticks_of(load.minutes))
                making.add(
                    Work(place=place, ticks=ticks_of(load.minutes), after=making.after(names), kind=IMAGING,
                         hands=attended), Stay(step=IMAGING, plates=names, load=load.id))  # fmt: skip
        else:
            groups = on_sheets if step.name == BACK else {}
            _process(making, plates, step, place, room, groups)
    last = set(making.behind.values())
    for one in plates:
        if one.plate.id not in making.behind:
            making.add(Work(place=0, ticks=0), Stay(step=line.steps[-1].name, plates=(one.plate.id,)))
            last.add(len(making.works) - 1)
    works = tuple(_marked(work, at in last) for at, work in enumerate(making.works))
    shop = Shop(works=works, places=tuple(place_of(name, room) for name in places), operators=operators, away=away)
    return Translation(shop=shop, stays=tuple(making.stays), notes=tuple(making.notes))


def _marked(work: Work, last: bool) -> Work:
    return Work(place=work.place, ticks=work.ticks, after=work.after, area=work.area, kind=work.kind, hands=work.hands,
                last=last)  # fmt: skip


def place_of(name: str, room: Room) -> Place:
    """Return a station of the room as a place."""
    station = room.station(name)
    bed = station.max_a_mm is not None and station.max_b_mm is not None and station.places > 1
    area = round((station.max_a_mm or 0.0) * (station.max_b_mm or 0.0)) if bed else None
    return Place(name=name, count=station.count, slots=station.places, area=area, joint=station.start_together)


def _cut(making: _Making, plates: Sequence[BatchPlate], step: Step, place: int) -> None:
    """Add the raw cutting of each sheet, in the batch of its first plate."""
    for sheet, own in _by_sheet(plates).items():
        whole = own[0].sheet
        cuts = sum(cut.stage is CutStage.RAW for cut in whole.cuts)
        if not cuts or whole.plates[0].id not in [one.plate.id for one in own]:
            continue
        ticks = ticks_of(step.minutes * cuts)
        names = tuple(one.plate.id for one in own)
        work = Work(place=place, ticks=ticks, after=making.after(names), kind=CUTTING,
                    area=round(whole.across_mm * whole.around_mm),
                    hands=hands_of(step.operator, step.operator_minutes, ticks))  # fmt: skip
        if ticks:
            making.add(work, Stay(step=CUTTING, plates=names, load=sheet))


def _process(making: _Making, plates: Sequence[BatchPlate], step: Step, place: int, room: Room,
             whole: Mapping[str, Sequence[BatchPlate]]) -> None:  # fmt: skip
    """Add a step plate by plate, or for the plates of a sheet together where it is done on the whole sheet."""
    done: set[str] = set()
    for one in plates:
        own = whole.get(one.sheet.id, [one])
        if one.plate.id in done:
            continue
        names = tuple(other.plate.id for other in own)
        done.update(names)
        ticks = ticks_of(minutes_of(step, one, room))
        if not ticks:
            continue
        sheet = one.sheet.id in whole
        area = round(one.sheet.across_mm * one.sheet.around_mm) if sheet else one.area
        work = Work(place=place, ticks=ticks, after=making.after(names), area=area, kind=step.name,
                    hands=hands_of(step.operator, step.operator_minutes, ticks))  # fmt: skip
        making.add(work, Stay(step=step.name, plates=names, load=one.sheet.id if sheet else ""))


def _by_sheet(plates: Sequence[BatchPlate]) -> dict[str, list[BatchPlate]]:
    sheets: dict[str, list[BatchPlate]] = {}
    for one in plates:
        sheets.setdefault(one.sheet.id, []).append(one)
    return sheets


def _exposed_whole(plates: Sequence[BatchPlate], room: Room, making: _Making) -> dict[str, list[BatchPlate]]:
    """Return the sheets that are back-exposed before they are cut, with their plates; notes why others are not."""
    names = [step.name for step in room.line.steps]
    if CUTTING not in names or BACK not in names[: names.index(CUTTING)]:
        return {}
    step = room.line.steps[names.index(BACK)]
    station = room.station(step.station)
    whole: dict[str, list[BatchPlate]] = {}
    for name, own in _by_sheet(plates).items():
        sheet = own[0].sheet
        if len(sheet.plates) == 1 and not sheet.cuts:
            continue
        reason = _not_whole(own, sheet, station, room, step)
        if reason is None:
            whole[name] = own
        else:
            making.notes.append(f"sheet {name} is back-exposed after cutting, plate by plate: {reason}")
    return whole


def _not_whole(own: Sequence[BatchPlate], sheet: PlannedSheet, station: Station, room: Room, step: Step) -> str | None:
    """Return why a sheet cannot be back-exposed before it is cut, None where it can."""
    if any(rest.kept for rest in sheet.rests):
        return "a rest of it goes back to the store, and must stay unexposed"
    if len(own) < len(sheet.plates):
        return "its plates are made in several batches"
    if len({minutes_of(step, one, room) - step.minutes_per_m2 * one.area / 1e6 for one in own}) > 1:
        return "its plates need different floors"
    sides = sorted((sheet.across_mm, sheet.around_mm))
    limits = sorted(float("inf") if limit is None else limit for limit in (station.max_a_mm, station.max_b_mm))
    return None if sides[0] <= limits[0] and sides[1] <= limits[1] else f"it is too large for {station.name}"
