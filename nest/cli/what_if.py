"""What `nest what-if` does: the week on other rhythms, or with rows approved later."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from nest.cli.engine import engine
from nest.cli.interrupt import interruptible
from nest.cli.progress import Lines
from nest.cli.streams import show, show_exact, tell
from nest.errors import Interrupted
from nest.intake.week import read_week
from nest.output.batches import days_words, moment_words
from nest.output.what_if_text import rhythm_text, slip_text, what_if_csv, what_if_json
from nest.output.words import counted, row_words

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from nest.domain.calendar import Answer
    from nest.domain.plan import Plan

COMPLETE, UNPLACED = 0, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What to ask: days of further rhythms, or a job (and separation) that slips by so many days."""

    jobs: Path
    room: Path
    rhythms: tuple[tuple[int, ...], ...] = ()
    slip: tuple[str, str | None] | None = None
    slip_days: float = 1.0
    seed: int = 0
    work_limit: int | None = None
    effort: str | None = None
    cores: int | None = None
    first_day: date | None = None
    as_csv: bool = False
    as_json: bool = False


def what_if(request: WhatIf) -> int:
    """Plan every case and print them side by side; return the exit code.

    Raises
    ------
    InputError
        If the jobs or the room are wrong.
    click.UsageError
        If the room has no calendar, the rows no dates, or no row is meant.
    """
    quiet = request.as_csv or request.as_json
    with interruptible(quiet=quiet) as interrupt:
        rows, room = read_week(request.jobs, request.room)
        if room.calendar is None:
            raise click.UsageError(f"{request.room}: what-if asks about batches: give the room a [calendar]")
        with engine(quiet=quiet) as pipeline:
            from nest.calendar.timing import first_day
            from nest.outlook import what_if as ask

            first = request.first_day or first_day(rows)
            if first is None:
                raise click.UsageError(f"{request.jobs}: no row has a date: name the first day with --from")
            settings = pipeline.Settings(
                seed=request.seed, work_limit=request.work_limit, cores=request.cores, first_day=first,
                effort=None if request.effort is None else pipeline.Effort(request.effort),
            )  # fmt: skip
            try:
                if request.slip is None:
                    cases = ask.rhythm_cases(rows, room, request.rhythms)
                else:
                    later = ask.slipped(rows, *request.slip, request.slip_days, first)
                    who = "/".join(word for word in request.slip if word)
                    name = f"{who} approved {_days(request.slip_days)} later"
                    cases = [ask.Case(name="as it is", rows=tuple(rows), room=room),
                             ask.Case(name=name, rows=later, room=room)]  # fmt: skip
            except ValueError as wrong:
                raise click.UsageError(str(wrong)) from None
            found = []
            for case in cases:
                if not quiet:
                    tell(f"planning: {case.name}")
                found.append(ask.answer(case, settings, None if quiet else Lines(room.currency), interrupt))
                if interrupt.is_set():
                    raise Interrupted("interrupted before all cases were planned; nothing to compare")
            answers = [one for one, _ in found]
            _print(request, answers, ask.best(answers), found[-1][1].plan, room.currency)
    return UNPLACED if any(one.unplaced for one in answers) else COMPLETE


def _print(request: WhatIf, answers: list[Answer], chosen: Answer, last: Plan, currency: str) -> None:
    if request.as_json:
        show_exact(what_if_json(answers, chosen, currency))
    elif request.as_csv:
        show_exact(what_if_csv(answers, chosen))
    elif request.slip is None:
        show(rhythm_text(answers, chosen, currency))
    else:
        show(slip_text(answers[0], answers[1], _late(last, request.slip[0]), currency))


def _late(plan: Plan, job: str) -> list[str]:
    """Return the late rows of a job in words, or when its plates are made."""
    calendar = plan.calendar
    if calendar is None:
        return []
    late = [
        f"{row_words(one.job, one.separation, one.part)}, {counted(one.copies, 'copy')}: batch {one.batch}, ready to "
        f"mount {moment_words(one.mountable)}, due {moment_words(one.due)} ({days_words(one.days)} late)"
        for one in calendar.late if one.job == job
    ]  # fmt: skip
    made = sorted({plate.batch for sheet in plan.sheets for plate in sheet.plates for piece in plate.pieces
                   if piece.job == job and plate.batch})  # fmt: skip
    return late or [f"job {job} is made in batch {', '.join(made)}, in time" if made else f"job {job} is on no batch"]


def _days(days: float) -> str:
    return "1 day" if days == 1 else f"{days:g} days"
