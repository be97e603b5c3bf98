"""A plan's plates put on the calendar: their batches, what comes late and why, and the least lateness of any plan."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.calendar.assign import Assignment, Wish, assigned
from nest.calendar.imaging import imaging_minutes
from nest.calendar.least import least_lateness
from nest.calendar.timing import Timing, days_late, due_moment, mountable, timing_of
from nest.domain.calendar import LateReason, LateRow, PlannedCalendar
from nest.domain.job import Together
from nest.packing.problem import NEVER

if TYPE_CHECKING:
    from collections.abc import Container, Mapping, Sequence
    from datetime import date

    from nest.domain.calendar import Batch
    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlannedPlate, PlannedSheet
    from nest.domain.room import Room

MOST_MORE, STEP = 400, 50
"""Batches looked at behind the usual ones at most, where plates find no room in those."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
    """Sheets whose plates name their batch, the calendar of the plan, and what room in each batch is worth.

    ``homeless`` are the plates that no batch has room for.
    """

    sheets: tuple[PlannedSheet, ...]
    calendar: PlannedCalendar
    prices: tuple[float, ...]
    homeless: tuple[str, ...]
    job_batches: Mapping[str, str]


def dated(
    sheets: Sequence[PlannedSheet],
    rows: Sequence[Row],
    room: Room,
    first: date,
    since: date | None = None,
    fixed: Container[str] = (),
) -> Dated:
    """Return the sheets with each plate in a batch, least lateness first, then as early as can be.

    Plates that name a batch keep it where nothing is lost by it, those of the sheets ``fixed`` whatever is lost.
    Batches before the day ``since`` are over for all others.
    """
    by_key = {row.key: row for row in rows}
    held_in = {plate.batch for sheet in sheets if sheet.id in fixed for plate in sheet.plates if plate.batch}
    more = batches_up_to(held_in, rows, room, first)
    for last in (False, True):
        timing = timing_of(rows, room, first, more)
        still = timing_of(rows, room, first, more, since)
        wishes = [
            held(plate, by_key, timing, room) if sheet.id in fixed and plate.batch
            else wish_of(plate, by_key, still, room)
            for sheet in sheets for plate in sheet.plates
        ]  # fmt: skip
        found = assigned(wishes, timing.batches, 0.0 if room.calendar is None else room.calendar.per_batch)
        if last or all(found.batch.get(wish.plate) is not None for wish in wishes):
            break
        more = max(more, batches_for(wishes, timing.batches))
    return _dated(sheets, by_key, room, timing, found)


def batches_up_to(names: set[str], rows: Sequence[Row], room: Room, first: date) -> int:
    """Return how many batches behind the usual ones to look at so that these are among them, where they can be."""
    more = 0
    while more < MOST_MORE and not names <= {batch.id for batch in timing_of(rows, room, first, more).batches}:
        more += STEP
    return more if more < MOST_MORE else 0


def batches_for(wishes: Sequence[Wish], batches: Sequence[Batch]) -> int:
    """Return how many batches all plates would fill by themselves, as far as it helps to look."""
    plates = [batch.plates for batch in batches if batch.plates is not None]
    minutes = [batch.minutes for batch in batches if batch.minutes is not None]
    by_count = len(wishes) / min(plates) if plates else 0.0
    # a batch may be filled to little more than a half where the next plate does not fit any more
    by_minutes = 2.0 * sum(wish.minutes for wish in wishes) / min(minutes) if minutes else 0.0
    return min(MOST_MORE, 1 + int(max(by_count, by_minutes)))


def homeless_warnings(found: Dated) -> tuple[str, ...]:
    """Return a warning about plates that no batch has room for, if there are any."""
    if not found.homeless:
        return ()
    names = ", ".join(found.homeless[:12]) + (f" and {len(found.homeless) - 12} more" if found.homeless[12:] else "")
    return (f"no batch of the calendar has room for {names}: give the calendar further batches, or larger ones",)


def wish_of(plate: PlannedPlate, rows: Mapping[RowKey, Row], timing: Timing, room: Room) -> Wish:
    """Return what a plate asks of the calendar: the sum of what its pieces cost in each batch."""
    counts = Counter(piece.row for piece in plate.pieces)
    costs = [0.0] * len(timing.batches)
    for key, copies in sorted(counts.items()):
        costs = [min(NEVER, cost + copies * own) for cost, own in zip(costs, timing.late[key], strict=True)]
    names = [batch.id for batch in timing.batches]
    jobs = {key[0] for key in counts if rows[key].together is Together.BATCH}
    return Wish(
        plate=plate.id, costs=tuple(costs), minutes=minutes_of(plate, rows, room), jobs=tuple(sorted(jobs)),
        usual=names.index(plate.batch) if plate.batch in names else None,
    )  # fmt: skip


def held(plate: PlannedPlate, rows: Mapping[RowKey, Row], timing: Timing, room: Room) -> Wish:
    """Return the wish of a plate that stays in its batch: it has no choice, so it costs nothing there."""
    wish = wish_of(plate, rows, timing, room)
    costs = tuple(0.0 if at == wish.usual else NEVER for at in range(len(wish.costs)))
    return replace(wish, costs=costs)


def minutes_of(plate: PlannedPlate, rows: Mapping[RowKey, Row], room: Room) -> float:
    """Return the minutes a plate takes of the imager on its own."""
    stated = {rows[piece.row].resolution for piece in plate.pieces}
    ppi = max((float(one) for one in stated if isinstance(one, float) and one > 0), default=room.imager.resolution)
    return imaging_minutes(room.imager, plate.across_mm, ppi)


def _dated(
    sheets: Sequence[PlannedSheet], rows: Mapping[RowKey, Row], room: Room, timing: Timing, found: Assignment
) -> Dated:
    def named(plate: PlannedPlate) -> PlannedPlate:
        at = found.batch.get(plate.id)
        return replace(plate, batch="" if at is None else timing.batches[at].id)

    put = tuple(replace(sheet, plates=tuple(named(plate) for plate in sheet.plates)) for sheet in sheets)
    used = {at for at in found.batch.values() if at is not None}
    horizon = timing.batches[: max(used, default=-1) + 1]
    plates = [plate for sheet in put for plate in sheet.plates]
    late = late_rows(plates, rows, room, timing)
    calendar = PlannedCalendar(
        batches=horizon,
        late=late,
        lateness=sum(row.cost for row in late),
        least_lateness=least_lateness(plates, rows, room, timing),
        opened=(0.0 if room.calendar is None else room.calendar.per_batch) * len(used),
    )
    job_batches = {
        piece.job: plate.batch
        for plate in plates
        for piece in plate.pieces
        if plate.batch and rows[piece.row].together is Together.BATCH
    }
    return Dated(
        sheets=put,
        calendar=calendar,
        prices=found.prices,
        homeless=tuple(plate.id for plate in plates if not plate.batch),
        job_batches=job_batches,
    )


def late_rows(
    plates: Sequence[PlannedPlate], rows: Mapping[RowKey, Row], room: Room, timing: Timing
) -> tuple[LateRow, ...]:
    """Return the rows that come late, a line for each batch their copies are made in, by job, separation, part."""
    by_id = {batch.id: batch for batch in timing.batches}
    counts: dict[tuple[RowKey, str], int] = defaultdict(int)
    for plate in plates:
        for piece in plate.pieces:
            if plate.batch:
                counts[(piece.row, plate.batch)] += 1
    full = full_batches(plates, rows, room, timing)
    rate = 0.0 if room.calendar is None else room.calendar.late_per_day
    late = []
    for (key, name), copies in sorted(counts.items()):
        row, batch = rows[key], by_id[name]
        days = days_late(batch, row, room)
        if days <= 0.0 or row.due is None:
            continue
        late.append(LateRow(
            job=row.job, separation=row.separation, part=row.part, copies=copies, batch=name,
            mountable=mountable(batch, row, room), due=due_moment(row.due), days=days, cost=rate * days * copies,
            reason=reason_of(row, batch, room, timing, full),
        ))  # fmt: skip
    return tuple(late)


def reason_of(row: Row, batch: Batch, room: Room, timing: Timing, full: frozenset[str]) -> LateReason:
    """Return why a row is made in a batch that is late for it."""
    sooner = [
        one for one in timing.batches
        if (row.ready is None or one.start >= row.ready) and days_late(one, row, room) < days_late(batch, row, room)
    ]  # fmt: skip
    if not sooner:
        return LateReason.READY
    if all(one.id in full for one in sooner):
        return LateReason.FULL
    return LateReason.TOGETHER if row.together is Together.BATCH else LateReason.CHEAPER


def full_batches(
    plates: Sequence[PlannedPlate], rows: Mapping[RowKey, Row], room: Room, timing: Timing
) -> frozenset[str]:
    """Return the batches that take no further plate of the usual size."""
    count: Counter[str] = Counter(plate.batch for plate in plates)
    minutes: dict[str, float] = defaultdict(float)
    for plate in plates:
        minutes[plate.batch] += minutes_of(plate, rows, room)
    usual = sum(minutes.values()) / max(1, len(plates))
    return frozenset(
        batch.id for batch in timing.batches
        if (batch.plates is not None and count[batch.id] >= batch.plates)
        or (batch.minutes is not None and minutes[batch.id] + usual > batch.minutes)
    )  # fmt: skip
