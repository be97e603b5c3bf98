"""A second opinion on a timetable: every limit of the line and the drum counted anew, moment by moment."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, time, timedelta
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

from nest.check.violation import Violation, differs
from nest.domain.line import BACK, CUTTING, IMAGING
from nest.domain.plan import Edge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from nest.domain.job import Row
    from nest.domain.plan import Plan, PlannedPlate, PlannedSheet
    from nest.domain.room import Room, Station
    from nest.domain.timetable import LoadedPlate, PlateTimes, Timetable, Visit

SLACK = 0.002
"""Minutes: a tick of the timetable is a tenth of a second."""
SLACK_MM = 0.001
SIX = time(6)


def check_timetable(table: Timetable, plan: Plan, rows: Sequence[Row], room: Room) -> tuple[Violation, ...]:
    """Return everything in which a timetable breaks the line, the drum or its own figures; empty where it holds."""
    facts = _Facts(table, plan, rows, room)
    found = list(facts.plates())
    if not found:
        # nothing else can be looked at where plates are unknown
        for rule in (facts.order, facts.lengths, facts.stations, facts.operators, facts.drum, facts.figures):
            found += rule()
    return tuple(found)


class _Facts:
    """A timetable with what it is of; lives only inside `check_timetable`."""

    def __init__(self, table: Timetable, plan: Plan, rows: Sequence[Row], room: Room) -> None:
        self.table, self.room = table, room
        self.rows = {(row.job, row.separation, row.part): row for row in rows}
        self.made: dict[str, tuple[PlannedPlate, PlannedSheet]] = {
            plate.id: (plate, sheet) for sheet in plan.sheets for plate in sheet.plates if plate.batch == table.batch
        }
        self.visits = [(plate, visit) for plate in table.plates for visit in plate.visits]

    def plates(self) -> Iterator[Violation]:
        """Each plate of the batch is there once."""
        names = sorted(plate.plate for plate in self.table.plates)
        if names != sorted(self.made):
            yield Violation(place="timetable", rule="plates", text=f"of {sorted(self.made)}, got {names}")

    def order(self) -> Iterator[Violation]:
        """Every plate passes the line's steps in order, each at its station, one after another."""
        order = {step.name: (n, step.station) for n, step in enumerate(self.room.line.steps)}
        for plate in self.table.plates:
            for before, after in pairwise(plate.visits):
                if order[before.step][0] >= order[after.step][0] or after.start < before.end - SLACK:
                    yield Violation(place=plate.plate, rule="order",
                                    text=f"{after.step} at {after.start:g} before {before.step} ends {before.end:g}")
            for visit in plate.visits:
                if visit.start < -SLACK or order[visit.step][1] != visit.station:
                    yield Violation(place=plate.plate, rule="order", text=f"{visit.step} at {visit.station}")

    def lengths(self) -> Iterator[Violation]:
        """Every stay is as long as its step takes, and no step that takes time is left out."""
        for plate in self.table.plates:
            got = {visit.step: visit.end - visit.start for visit in plate.visits}
            for step in self.room.line.steps:
                wanted = self._minutes(plate, step.name)
                if wanted is not None and not -SLACK <= got.get(step.name, 0.0) - wanted <= SLACK:
                    yield Violation(place=plate.plate, rule="length",
                                    text=f"{step.name} takes {wanted:g} min, got {got.get(step.name, 0.0):g}")

    def _minutes(self, plate: PlateTimes, name: str) -> float | None:
        """Return what a step takes for a plate, None where it depends on more than the plate."""
        made, sheet = self.made[plate.plate]
        material = self.room.materials[sheet.material]
        step = next(one for one in self.room.line.steps if one.name == name)
        if name == IMAGING:
            return sum(load.imaging_minutes + load.load_minutes for load in self.table.loads if load.id == plate.load)
        if name == CUTTING or (name == BACK and any(visit.step == BACK and visit.company for visit in plate.visits)):
            return None
        if name == BACK:
            if any(one.id == sheet.source.ref and one.relief is not None for one in self.room.offcuts):
                return 0.0
            reliefs = {self.rows[piece.row].relief for piece in made.pieces if piece.row in self.rows}
            relief = next((one for one in reliefs if isinstance(one, float)), material.relief)
            for one in material.back_exposures:
                if one.relief == relief:
                    return one.seconds / 60
        own = material.times.get(name)
        fixed = own.minutes if own and own.minutes is not None else step.minutes
        per_m2 = own.minutes_per_m2 if own and own.minutes_per_m2 is not None else step.minutes_per_m2
        speed = own.speed_mm if own and own.speed_mm is not None else step.speed_mm
        upright = made.lead in (Edge.Y0, Edge.Y1)
        length = made.rect.h if upright else made.rect.w
        return fixed + per_m2 * made.rect.w * made.rect.h / 1e6 + (length / speed if speed else 0.0)

    def stations(self) -> Iterator[Violation]:
        """No machine holds more plates, or more area, than it takes; what goes together, goes together."""
        inside: dict[tuple[str, int], dict[tuple[float, float, frozenset[str]], Visit]] = defaultdict(dict)
        for plate, visit in self.visits:
            whole = frozenset((plate.plate, *visit.company))
            inside[visit.station, visit.machine][visit.start, visit.end, whole] = visit
        for (name, machine), stays in sorted(inside.items()):
            station = self.room.station(name)
            if not 1 <= machine <= station.count:
                yield Violation(place=name, rule="machines", text=f"there is no machine {machine}")
            for moment in {start for start, _, _ in stays}:
                now = [key for key in stays if key[0] <= moment + SLACK / 2 < key[1] - SLACK / 2]
                yield from self._full(name, station, moment, [(key[2], stays[key].step) for key in now])
                if station.start_together and len(now) > 1:
                    yield Violation(place=name, rule="together", text=f"{len(now)} goes at {moment:g} min")

    def _full(
        self, name: str, station: Station, moment: float, now: list[tuple[frozenset[str], str]]
    ) -> Iterator[Violation]:
        """Check one moment of one machine; a sheet, and a load, are one thing in it."""
        # a sheet that is not cut yet, and a load of the drum, are one thing
        things = [set(whole) if self._apart(step) else {min(whole)} for whole, step in now]
        most = station.places
        count = sum(map(len, things))
        if count > most:
            yield Violation(place=name, rule="capacity", text=f"takes {most}, got {count} at {moment:g} min")
        if station.max_a_mm is None or station.max_b_mm is None or most == 1:
            return
        area = sum(self.made[plate][0].rect.w * self.made[plate][0].rect.h for one in things for plate in one)
        if area > station.max_a_mm * station.max_b_mm + len(things):
            yield Violation(place=name, rule="area", text=f"got {area / 1e6:g} m2 at {moment:g} min")

    def _apart(self, step: str) -> bool:
        names = [one.name for one in self.room.line.steps]
        whole = step == BACK and CUTTING in names and names.index(BACK) < names.index(CUTTING)
        return step not in (IMAGING, CUTTING) and not whole

    def operators(self) -> Iterator[Violation]:
        """There are never more tended at once than operators, and none outside their hours."""
        spans = {
            (start, end, visit.station, visit.machine, frozenset((plate.plate, *visit.company)))
            for plate, visit in self.visits for start, end in visit.tended
        }  # fmt: skip
        for moment in sorted({start for start, *_ in spans}):
            now = [one for one in spans if one[0] <= moment + SLACK / 2 < one[1] - SLACK / 2]
            if len(now) > self.room.line.operators:
                yield Violation(place="operators", rule="capacity",
                                text=f"{self.room.line.operators}, needed {len(now)} at {moment:g} min")
        for start, end, station, *_ in sorted(spans, key=lambda one: one[:3]):
            if not self._there(start, end):
                yield Violation(place="operators", rule="hours", text=f"{station} from {start:g} to {end:g} min")

    def _there(self, start: float, end: float) -> bool:
        """Whether operators' hours cover a span, looking at it minute by minute."""
        hours = self.room.line.operator_hours
        if not hours:
            return True
        zero = self.table.start or datetime(2001, 1, 1, SIX.hour)
        steps = max(1, round((end - start) * 2))
        for n in range(steps):
            clock = (zero + timedelta(minutes=start + (n + 0.5) * (end - start) / steps)).time()
            if not any(
                one.start <= clock < one.end if one.start < one.end else clock >= one.start or clock < one.end
                for one in hours
            ):
                return False
        return True

    def drum(self) -> Iterator[Violation]:
        """Every load is inside the drum, a gap apart, of one thickness, and takes its minutes; each plate is in one."""
        imager = self.room.imager
        loaded = [one.plate for load in self.table.loads for one in load.plates]
        if self.table.loads and sorted(loaded) != sorted(self.made):
            yield Violation(place="drum", rule="plates", text=f"got {sorted(loaded)}")
        for load in self.table.loads:
            if len({self.room.materials[self.made[one.plate][1].material].thickness_mm for one in load.plates}) > 1:
                yield Violation(place=load.id, rule="thickness", text="differs")
            for one in load.plates:
                upright = self.made[one.plate][0].lead in (Edge.Y0, Edge.Y1)
                rect = self.made[one.plate][0].rect
                size = (rect.w, rect.h) if upright else (rect.h, rect.w)
                right, tail = one.axial_mm + size[0], one.turn_mm + size[1]
                if right > imager.max_across_mm + SLACK_MM or tail > imager.max_around_mm + SLACK_MM:
                    yield Violation(place=load.id, rule="drum", text=f"{one.plate} reaches {right:g} / {tail:g}")
            for a, b in combinations(load.plates, 2):
                if not _apart(a, b, imager.load_gap_mm):
                    yield Violation(place=load.id, rule="gap", text=f"{a.plate} and {b.plate}")
            width = max(one.axial_mm + one.across_mm for one in load.plates)
            beams = imager.beams or 32
            wanted = width * load.ppi / 25.4 / beams / load.rpm
            if differs(wanted, load.imaging_minutes, 1e-6):
                yield Violation(place=load.id, rule="minutes", text=f"{wanted:g}, got {load.imaging_minutes:g}")

    def figures(self) -> Iterator[Violation]:
        """Every figure of the end agrees with the stays, and the bound is not above it."""
        last = max(visit.end for _, visit in self.visits)
        if differs(last, self.table.makespan, SLACK) or self.table.bound > self.table.makespan + SLACK:
            text = f"last at {last:g}, says {self.table.makespan:g}, bound {self.table.bound:g}"
            yield Violation(place="timetable", rule="makespan", text=text)


def _apart(a: LoadedPlate, b: LoadedPlate, gap: float) -> bool:
    across = max(a.axial_mm - b.axial_mm - b.across_mm, b.axial_mm - a.axial_mm - a.across_mm)
    around = max(a.turn_mm - b.turn_mm - b.around_mm, b.turn_mm - a.turn_mm - a.around_mm)
    return max(across, around) >= gap - SLACK_MM
