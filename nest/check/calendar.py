"""Batches: those of the room's calendar, none over its limits, no piece before its artwork, lateness told in full."""

from __future__ import annotations

from collections import Counter, defaultdict
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from nest.check.facts import row_name
from nest.check.violation import Violation
from nest.domain.job import Together
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts, Located
    from nest.domain.calendar import Batch
    from nest.domain.job import Row, RowKey

HALF_CENT = 0.0051
NOISE = 1e-6
MINUTES_ROUNDING = 0.001


def batches(facts: Facts) -> Iterator[Violation]:
    """Check that plates name batches of the plan, and batches are as the room's calendar has them."""
    plan, calendar = facts.plan, facts.room.calendar
    plates = [plate for sheet in plan.sheets for plate in sheet.plates]
    if plan.calendar is None:
        for plate in plates:
            if plate.batch:
                yield Violation(place=plate.id, rule="batch", text=f"no calendar, yet batch {plate.batch}")
        return
    if calendar is None:
        yield Violation(place="calendar", rule="calendar", text="a calendar, though the room has none")
        return
    names = Counter(batch.id for batch in plan.calendar.batches)
    for name, count in sorted(names.items()):
        if count > 1:
            yield Violation(place=name, rule="batch", text=f"an id of its own expected, {count} batches have it")
    for plate in plates:
        if plate.batch and plate.batch not in names:
            yield Violation(place=plate.id, rule="batch", text=f"no such batch in the plan: {plate.batch}")
    for batch in plan.calendar.batches:
        yield from _as_the_room_has_it(facts, batch)


def _as_the_room_has_it(facts: Facts, batch: Batch) -> Iterator[Violation]:
    day, name = batch.start.date(), batch.id.partition(" ")[2]
    calendar = facts.room.calendar
    told = [] if calendar is None else [c for c in calendar.changes if c.day == day and c.shift in (None, name)]
    usual = [] if calendar is None else [s for s in calendar.shifts if s.name == name and day.weekday() in s.days]
    week = [] if calendar is None else [s for s in calendar.shifts if s.name == name]
    if any(change.closed for change in told) or not (usual or told) or not batch.id.startswith(day.isoformat()):
        yield Violation(place=batch.id, rule="batch", text="the room's calendar has no such batch")
        return
    expected: list[object] = []
    for field in ("start", "end", "plates", "minutes"):
        values = [getattr(one, field) for one in (*told, *week)]
        expected.append(next((value for value in values if value is not None), None))
    hours = [datetime.combine(day, clock) if isinstance(clock, time) else None for clock in expected[:2]]
    if hours[0] is not None and hours[1] is not None and hours[1] <= hours[0]:
        hours[1] += timedelta(days=1)
    if [batch.start, batch.end, batch.plates, batch.minutes] != [*hours, *expected[2:]]:
        yield Violation(place=batch.id, rule="batch", text="hours and limits differ from those of the room's calendar")


def batch_limits(facts: Facts) -> Iterator[Violation]:
    """Check that no batch makes more plates, or takes more imager minutes, than it has."""
    if facts.plan.calendar is None:
        return
    count: Counter[str] = Counter()
    minutes: dict[str, float] = defaultdict(float)
    for found in facts.by_plate().values():
        if found and found[0].plate.batch:
            count[found[0].plate.batch] += 1
            minutes[found[0].plate.batch] += _minutes(facts, found)
    for batch in facts.plan.calendar.batches:
        if batch.plates is not None and count[batch.id] > batch.plates:
            text = f"at most {batch.plates} plates expected, got {count[batch.id]}"
            yield Violation(place=batch.id, rule="batch-plates", text=text)
        if batch.minutes is not None and minutes[batch.id] > batch.minutes + MINUTES_ROUNDING:
            text = f"at most {batch.minutes:g} minutes of the imager expected, got {minutes[batch.id]:.2f}"
            yield Violation(place=batch.id, rule="batch-minutes", text=text)


def _minutes(facts: Facts, found: list[Located]) -> float:
    imager, rows = facts.room.imager, [one.wanted.row for one in found]
    if not imager.rpm or not imager.beams:
        return 0.0
    stated = [row.resolution for row in rows if isinstance(row.resolution, float) and row.resolution > 0]
    dots = found[0].plate.across_mm / MM_PER_INCH * (max(stated) if stated else imager.resolution)
    return dots / imager.beams / imager.rpm


def approved(facts: Facts) -> Iterator[Violation]:
    """Check that no piece is made in a batch that begins before its artwork is ready."""
    known = _known(facts)
    for one in facts.located:
        batch, ready = known.get(one.plate.batch), one.wanted.row.ready
        if batch is not None and ready is not None and ready > batch.start:
            text = f"ready {ready}, made in batch {batch.id} that begins {batch.start}"
            yield Violation(place=one.name, rule="batch-ready", text=text)


def one_batch(facts: Facts) -> Iterator[Violation]:
    """Check that the rows of a job that ask for it are made in one batch."""
    made: dict[str, set[str]] = defaultdict(set)
    for one in facts.located:
        if one.plate.batch and one.wanted.row.together is Together.BATCH:
            made[one.wanted.row.job].add(one.plate.batch)
    for job, names in sorted(made.items()):
        if len(names) > 1:
            text = f"one batch expected, got {', '.join(sorted(names))}"
            yield Violation(place=job, rule="together-batch", text=text)


def lateness(facts: Facts) -> Iterator[Violation]:
    """Check that exactly what comes late is told, with its days and cost, and that the proven least is no more."""
    calendar = facts.plan.calendar
    if calendar is None:
        return
    expected = _late(facts)
    told: dict[tuple[RowKey, str], tuple[int, float, float]] = {}
    for late in calendar.late:
        told[((late.job, late.separation, late.part), late.batch)] = (late.copies, late.days, late.cost)
    for key, batch in sorted(expected.keys() | told.keys()):
        want, got = expected.get((key, batch)), told.get((key, batch))
        if want is None or got is None:
            text = f"{'not late' if want is None else 'late'} in batch {batch}, told as {'late' if got else 'in time'}"
            yield Violation(place=row_name(key), rule="late", text=text)
        elif want[0] != got[0] or abs(want[1] - got[1]) > 1e-4 or abs(want[2] - got[2]) > HALF_CENT:
            yield Violation(
                place=row_name(key), rule="late",
                text=f"{want[0]} copies {want[1]:.4f} days late at {want[2]:.2f} expected, "
                     f"got {got[0]} copies {got[1]:.4f} days at {got[2]:.2f}",
            )
    whole = sum(cost for _, _, cost in expected.values())
    if abs(whole - calendar.lateness) > HALF_CENT:
        text = f"{whole:.2f} expected, got {calendar.lateness:.2f}"
        yield Violation(place="calendar", rule="lateness", text=text)
    used = {plate.batch for sheet in facts.plan.sheets for plate in sheet.plates if plate.batch}
    opened = len(used) * (0.0 if facts.room.calendar is None else facts.room.calendar.per_batch)
    if abs(opened - calendar.opened) > HALF_CENT:
        text = f"{opened:.2f} expected for {len(used)} batches, got {calendar.opened:.2f}"
        yield Violation(place="calendar", rule="batch-cost", text=text)
    if calendar.least_lateness > whole + HALF_CENT:
        text = f"at most the lateness itself ({whole:.2f}) expected, got {calendar.least_lateness:.2f}"
        yield Violation(place="calendar", rule="lateness-bound", text=text)


def _late(facts: Facts) -> dict[tuple[RowKey, str], tuple[int, float, float]]:
    """Return copies, days late and cost of every row and batch that is late."""
    known, rate = _known(facts), 0.0 if facts.room.calendar is None else facts.room.calendar.late_per_day
    found: dict[tuple[RowKey, str], tuple[int, float, float]] = {}
    for one in facts.located:
        batch = known.get(one.plate.batch)
        days = 0.0 if batch is None else days_late(facts, one.wanted.row, batch)
        if days > 0:
            key = (one.piece.row, one.plate.batch)
            copies = found.get(key, (0, 0.0, 0.0))[0] + 1
            found[key] = (copies, days, copies * days * rate)
    return found


def days_late(facts: Facts, row: Row, batch: Batch) -> float:
    """Return how many days after its due moment a row is ready to mount; a due date without a time lasts all day."""
    if row.due is None:
        return 0.0
    due = row.due if row.due.time() != time() else row.due + timedelta(hours=24)
    there = batch.end + timedelta(hours=_elapsed(facts, row.material))
    return max(0.0, (there - due).total_seconds() / 86400)


def _elapsed(facts: Facts, material: str) -> float:
    own = facts.room.materials[material]
    if own.elapsed_hours is not None:
        return own.elapsed_hours
    return 4.0 if own.thickness_mm <= 2.84 else 20.0


def some_batch(facts: Facts, row: Row) -> bool:
    """Return whether a row has a batch to be made in: one that does not begin before its artwork is ready."""
    calendar = facts.room.calendar
    if facts.plan.calendar is None or calendar is None or row.ready is None or any(s.days for s in calendar.shifts):
        return True
    own = [one for one in calendar.changes if not one.closed and one.start is not None]
    return any(one.start is not None and datetime.combine(one.day, one.start) >= row.ready for one in own)


def suits_batch(facts: Facts, found: list[Located], row: Row) -> bool:
    """Return whether one more piece of a row could join a plate in its batch, none of whose own pieces is late."""
    batch = _known(facts).get(found[0].plate.batch)
    if batch is None:
        return facts.plan.calendar is None
    if row.ready is not None and row.ready > batch.start:
        return False
    return not any(days_late(facts, one, batch) for one in (row, *(other.wanted.row for other in found)))


def _known(facts: Facts) -> dict[str, Batch]:
    return {} if facts.plan.calendar is None else {batch.id: batch for batch in facts.plan.calendar.batches}
