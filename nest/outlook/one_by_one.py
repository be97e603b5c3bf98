"""Each batch planned on its own, in order of time: what a room without a plan of its week does.

A batch makes what is approved when it begins and not made yet, as much as it holds, what is due first going first. It
draws from the store as the batches before it left it, their offcuts included.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.calendar.dated import late_rows, minutes_of
from nest.calendar.horizon import batches_from
from nest.calendar.timing import last_day, timing_of
from nest.domain.calendar import OneByOne
from nest.domain.job import Need, Together, Turn
from nest.domain.totals import areas_of, sheet_cost
from nest.outlook.joined import Stage, Unjoinable, joined
from nest.outlook.store_after import store_after
from nest.pipeline import drafted, work_limit
from nest.units import money

if TYPE_CHECKING:
    import threading
    from collections.abc import Sequence
    from datetime import date, datetime

    from nest.domain.calendar import Batch
    from nest.domain.job import Row, RowKey
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room
    from nest.pipeline import Settings

BEHIND = 40
"""Batches tried behind the last date before what is left counts as never made."""
WHOLE = (Together.BATCH, Together.LOT, Together.PLATE)
"""Rows of a job that carry one of these wait for each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Plans of the batches one after another: their sheets as one plan if that could be, and what they cost.

    ``sheets`` is None where they cannot be one plan, or where pieces were left over.
    """

    sheets: tuple[PlannedSheet, ...] | None
    figures: OneByOne | None


def one_by_one(
    rows: Sequence[Row], room: Room, settings: Settings, first: date, interrupt: threading.Event | None = None
) -> Chain:
    """Return each batch from a day on planned on its own.

    The work of one search of the whole is shared between the batches by how many pieces each is offered. Figures are
    None where some must piece is never made.
    """
    run = _Run(rows, room, settings, first, interrupt)
    if room.calendar is None:
        return Chain(sheets=None, figures=None)
    end, behind = last_day(rows, first), 0
    for batch in batches_from(room.calendar, first):
        behind += batch.start.date() > end
        if run.is_done or behind > BEHIND:
            break
        run.make(batch)
    return run.chain()


class _Run:
    """The state of the chain: what is still to be made, the store, the plans so far."""

    def __init__(
        self, rows: Sequence[Row], room: Room, settings: Settings, first: date, interrupt: threading.Event | None
    ) -> None:
        self.first = first
        self.rows = {row.key: row for row in sorted(rows, key=lambda row: row.key)}
        self.todo = {key: row.copies for key, row in self.rows.items()}
        self.room, self.store, self.settings, self.interrupt = room, replace(room, calendar=None), settings, interrupt
        self.work = work_limit(sum(row.copies for row in rows if row.need is Need.MUST), settings)
        self.seconds = settings.time_limit
        self.axis: dict[tuple[str, str], Turn] = {}
        self.stages: list[Stage] = []
        self.never: set[RowKey] = set()

    @property
    def is_done(self) -> bool:
        """Whether no must piece is left that could be made."""
        return not any(n and self.rows[key].need is Need.MUST and key not in self.never
                       for key, n in self.todo.items())  # fmt: skip

    def make(self, batch: Batch) -> None:
        """Plan what is approved when a batch begins, keep what it holds, and carry the store on."""
        rows = self.open_rows(batch)
        units = sum(row.copies for row in rows if row.need is Need.MUST)
        if not units:
            return
        share = units / max(1, sum(n for key, n in self.todo.items() if self.rows[key].need is Need.MUST))
        work, seconds = round(self.work * share), None if self.seconds is None else self.seconds * share
        self.work -= work
        self.seconds = None if seconds is None or self.seconds is None else self.seconds - seconds
        settings = replace(self.settings, work_limit=work, time_limit=seconds)
        sheets, left = drafted(rows, self.store, settings, self.interrupt)
        self.never |= {(one.job, one.separation, one.part) for one in left if one.need is Need.MUST}
        kept = self.within(batch, sheets)
        named = tuple(
            replace(sheet, plates=tuple(replace(plate, batch=batch.id) for plate in sheet.plates)) for sheet in kept
        )
        self.stages.append(Stage(name=batch.id, sheets=named))
        self.store = store_after(self.store, kept, batch.id)
        for sheet in kept:
            for piece in (piece for plate in sheet.plates for piece in plate.pieces):
                self.todo[piece.row] -= 1
                row = self.rows[piece.row]
                if (row.turn or self.room.turn) is Turn.SET:
                    self.axis[row.job, row.material] = Turn.FIXED if piece.turn % 180 == 0 else Turn.CROSS

    def open_rows(self, batch: Batch) -> list[Row]:
        """Return the rows that can be made in a batch, with the copies still wanted.

        Rows that have to share a plate, a lot or a batch wait for each other; sets lie as their first pieces do.
        """
        waiting = {row.job for row in self.rows.values()
                   if row.together in WHOLE and row.ready is not None and row.ready > batch.start}  # fmt: skip
        out = []
        for key, row in self.rows.items():
            if not self.todo[key] or key in self.never or (row.ready is not None and row.ready > batch.start):
                continue
            if row.together in WHOLE and row.job in waiting:
                continue
            turn = row.turn or self.room.turn
            if turn is Turn.SET:
                turn = self.axis.get((row.job, row.material), turn)
            out.append(replace(row, copies=self.todo[key], turn=turn))
        return out

    def within(self, batch: Batch, sheets: Sequence[PlannedSheet]) -> tuple[PlannedSheet, ...]:
        """Return the sheets a batch has room for, those with the earliest due piece first, in the plan's order.

        Jobs whose pieces have to be made together are made whole or not at all.
        """
        if batch.plates is None and batch.minutes is None:
            return tuple(sheets)
        plates, minutes, taken = 0, 0.0, set()
        for sheet in sorted(sheets, key=lambda sheet: (self.due(sheet) is None, self.due(sheet), sheet.id)):
            more = sum(minutes_of(plate, self.rows, self.room) for plate in sheet.plates)
            if batch.plates is not None and plates + len(sheet.plates) > batch.plates:
                continue
            if batch.minutes is not None and minutes + more > batch.minutes:
                continue
            plates, minutes = plates + len(sheet.plates), minutes + more
            taken.add(sheet.id)
        split = self.split_jobs(sheets, taken)
        return tuple(sheet for sheet in sheets if sheet.id in taken and not split & self.whole_jobs(sheet))

    def split_jobs(self, sheets: Sequence[PlannedSheet], taken: set[str]) -> set[str]:
        """Return the jobs that must stay whole and lie on sheets that do not fit, and those that lie beside them."""
        split: set[str] = set()
        out = [sheet for sheet in sheets if sheet.id not in taken]
        while out:
            split |= {job for sheet in out for job in self.whole_jobs(sheet)}
            out = [sheet for sheet in sheets if sheet.id in taken and split & self.whole_jobs(sheet)]
            taken -= {sheet.id for sheet in out}
        return split

    def whole_jobs(self, sheet: PlannedSheet) -> set[str]:
        """Return the jobs on a sheet of which rows have to be made together."""
        pieces = (piece for plate in sheet.plates for piece in plate.pieces)
        return {piece.job for piece in pieces if self.rows[piece.row].together in WHOLE}

    def due(self, sheet: PlannedSheet) -> datetime | None:
        """Return when the first piece of a sheet is due, None where none is."""
        dates = [self.rows[piece.row].due for plate in sheet.plates for piece in plate.pieces]
        return min((due for due in dates if due is not None), default=None)

    def chain(self) -> Chain:
        """Return what was made as one plan, and its figures."""
        left = any(n and self.rows[key].need is Need.MUST for key, n in self.todo.items())
        if left:
            return Chain(sheets=None, figures=None)
        sheets = [sheet for stage in self.stages for sheet in stage.sheets]
        areas, piece_m2 = areas_of(sheets)
        timing = timing_of(list(self.rows.values()), self.room, self.first, BEHIND)
        late = late_rows([plate for sheet in sheets for plate in sheet.plates], self.rows, self.room, timing)
        figures = OneByOne(
            cost=money(sum(sheet_cost(sheet, self.room) for sheet in sheets)),
            lateness=money(sum(row.cost for row in late)),
            sheets=len(sheets),
            plates=sum(len(sheet.plates) for sheet in sheets),
            opened=(0.0 if self.room.calendar is None else self.room.calendar.per_batch) * len(self.stages),
            gross=piece_m2 / areas.drawn if areas.drawn else 0.0,
        )
        try:
            one = joined(self.stages, self.room)
        except Unjoinable:
            return Chain(sheets=None, figures=figures)
        return Chain(sheets=one, figures=figures)

