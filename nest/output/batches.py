"""A plan on the calendar, as words and as a table: what each batch makes, what is late, what planning whole saves."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from nest.output.tables import csv_text, written
from nest.output.text_columns import aligned
from nest.output.words import counted, decimal, length_words, one_line, percent, row_words
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from nest.domain.calendar import Batch, LateRow, OneByOne
    from nest.domain.job import Row
    from nest.domain.plan import Plan, PlannedPlate, PlannedSheet
    from nest.domain.room import Room

NAME = "calendar.csv"
HEAD = (
    "batch", "start", "end", "plate", "sheet", "material", "across", "around", "pieces", "ready_to_mount", "first_due",
    "late_pieces",
)  # fmt: skip
NO_BATCH = "on no batch"


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchView:
    """One batch: its hours, how many plates it makes of how many, which, and how many pieces lie on them."""

    name: str
    hours: str
    count: int
    most: int | None
    plates: tuple[str, ...]
    pieces: int

    @property
    def filled(self) -> str:
        """How full it is, in words."""
        return f"{self.count}" if self.most is None else f"{self.count} of {self.most}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LateView:
    """Pieces of a row that come late."""

    row: str
    copies: int
    mountable: str
    due: str
    days: str
    cost: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarView:
    """What a page says about a plan's calendar."""

    batches: tuple[BatchView, ...]
    late: tuple[LateView, ...]
    late_pieces: int
    lateness: float
    least: float
    opened: float
    apart: OneByOne | None
    saving: float
    saving_share: str


def moment_words(moment: datetime) -> str:
    """Return a date and time as a plate room writes it: the end of a day instead of the beginning of the next."""
    if moment.hour == moment.minute == moment.second == 0:
        return f"{(moment - timedelta(days=1)).date()} 24:00"
    return f"{moment:%Y-%m-%d %H:%M}"


def due_words(due: datetime) -> str:
    """Return a due date as it was typed: without a time where it lasts all day."""
    return f"{due.date()}" if due.hour == due.minute == due.second == 0 else f"{due:%Y-%m-%d %H:%M}"


def hours_words(batch: Batch) -> str:
    """Return a batch's hours."""
    return f"{batch.start:%H:%M}–{batch.end:%H:%M}"


def calendar_view(plan: Plan) -> CalendarView | None:
    """Return what a page says about the calendar, None for a plan without one."""
    calendar = plan.calendar
    if calendar is None:
        return None
    made: dict[str, list[PlannedPlate]] = defaultdict(list)
    for sheet in plan.sheets:
        for plate in sheet.plates:
            made[plate.batch].append(plate)
    views = [_batch_view(batch.id, hours_words(batch), batch.plates, made[batch.id]) for batch in calendar.batches]
    if made[""]:
        views.append(_batch_view(NO_BATCH, "", None, made[""]))
    apart = calendar.one_by_one
    whole = 0.0 if apart is None else apart.cost + apart.lateness + apart.opened
    saving = 0.0 if apart is None else money(whole - plan.totals.cost - calendar.lateness - calendar.opened)
    return CalendarView(
        batches=tuple(views),
        late=tuple(_late_view(row) for row in calendar.late),
        late_pieces=sum(row.copies for row in calendar.late),
        lateness=calendar.lateness,
        least=calendar.least_lateness,
        opened=calendar.opened,
        apart=apart,
        saving=saving,
        saving_share=percent(saving / whole if whole else 0.0),
    )


def _batch_view(name: str, hours: str, most: int | None, plates: Sequence[PlannedPlate]) -> BatchView:
    return BatchView(
        name=name,
        hours=hours,
        count=len(plates),
        most=most,
        plates=tuple(plate.id for plate in plates),
        pieces=sum(len(plate.pieces) for plate in plates),
    )


def _late_view(row: LateRow) -> LateView:
    return LateView(
        row=row_words(row.job, row.separation, row.part),
        copies=row.copies,
        mountable=moment_words(row.mountable),
        due=moment_words(row.due),
        days=days_words(row.days),
        cost=row.cost,
        reason=row.reason.value,
    )


def days_words(days: float) -> str:
    """Return a time in hours below two days, else in days.

    Examples
    --------
    >>> days_words(0.0833), days_words(2.5)
    ('2 h', '2.5 days')
    """
    return f"{decimal(24 * days, 1)} h" if days < 2 else f"{decimal(days, 1)} days"


def calendar_lines(plan: Plan) -> list[str]:
    """Return the calendar as lines of the summary, none for a plan without one."""
    view = calendar_view(plan)
    if view is None:
        return []
    currency = one_line(plan.currency)
    rows = [(one.name, one.hours, one.filled, str(one.pieces), _ids(one.plates)) for one in view.batches if one.count]
    lines = ["CALENDAR"]
    lines += [f"  {line}" for line in aligned([("batch", "hours", "plates", "pieces", ""), *rows], right={3})]
    if view.late:
        pieces = counted(view.late_pieces, "piece")
        lines.append(f"  LATE: {pieces}, {view.lateness:.2f} {currency} by the room's rate, not part of the cost; no")
        lines.append(f"  plan comes below {view.least:.2f}")
        lines += [f"    {_late_words(one)}" for one in view.late[:MOST_LATE]]
        if len(view.late) > MOST_LATE:
            lines.append(f"    and {len(view.late) - MOST_LATE} more, all of them in plan.json")
    else:
        lines.append("  Everything is ready to mount in time.")
    if view.opened:
        lines.append(f"  Running the batches costs {view.opened:.2f} {currency}, not part of the cost.")
    if view.apart is not None:
        late = "".join(
            f", {value:.2f} for {words}"
            for value, words in ((view.apart.opened, "its batches"), (view.apart.lateness, "lateness"))
            if value
        )
        lines.append(f"  Each batch planned on its own: {view.apart.cost:.2f} {currency}{late}, "
                     f"{counted(view.apart.sheets, 'sheet')}, gross yield {percent(view.apart.gross)}.")  # fmt: skip
        lines.append(f"  Planning them together saves {view.saving:.2f} {currency} ({view.saving_share}).")
    return lines


MOST_LATE = 20
"""Late rows that the summary prints."""


def _late_words(one: LateView) -> str:
    return (f"{one_line(one.row)}, {counted(one.copies, 'copy')}: ready to mount {one.mountable}, due {one.due} "
            f"({one.days} late): {one.reason}")  # fmt: skip


def _ids(plates: Sequence[str]) -> str:
    return ", ".join(plates[:6]) + (f" and {len(plates) - 6} more" if plates[6:] else "")


def calendar_csv(plan: Plan, room: Room, rows: Sequence[Row]) -> str:
    """Return one line a plate in order of batch, sizes on the drum in the room's unit."""
    calendar = plan.calendar
    if calendar is None:
        return csv_text(HEAD, [])
    by_id = {batch.id: (n, batch) for n, batch in enumerate(calendar.batches)}
    by_key = {row.key: row for row in rows}
    late = {(row.job, row.separation, row.part, row.batch) for row in calendar.late}
    found = [(by_id.get(plate.batch), sheet, plate) for sheet in plan.sheets for plate in sheet.plates]
    found.sort(key=lambda one: (len(by_id) if one[0] is None else one[0][0], one[2].id))
    lines = []
    for known, sheet, plate in found:
        dues = [due for piece in plate.pieces if (due := by_key[piece.row].due) is not None]
        lines.append([
            *_when(known), plate.id, sheet.id, written(sheet.material), length_words(plate.across_mm, room.unit),
            length_words(plate.around_mm, room.unit), len(plate.pieces), _mountable(known, sheet, room),
            due_words(min(dues)) if dues else "",
            sum((piece.job, piece.separation, piece.part, plate.batch) in late for piece in plate.pieces),
        ])  # fmt: skip
    return csv_text(HEAD, lines)


def _when(known: tuple[int, Batch] | None) -> tuple[str, str, str]:
    if known is None:
        return ("", "", "")
    batch = known[1]
    return (written(batch.id), f"{batch.start:%Y-%m-%d %H:%M}", f"{batch.end:%Y-%m-%d %H:%M}")


def _mountable(known: tuple[int, Batch] | None, sheet: PlannedSheet, room: Room) -> str:
    if known is None:
        return ""
    return f"{known[1].end + timedelta(hours=room.elapsed_of(sheet.material)):%Y-%m-%d %H:%M}"
