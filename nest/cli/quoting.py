"""What `nest quote` does: read a job or a jobs file, price it, say so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from nest.cli.engine import engine
from nest.cli.streams import show, show_exact, tell
from nest.output.notices import told_warnings

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.room import Room

USUAL_COLOURS = ("Cyan", "Magenta", "Yellow", "Black")
FEW, MOST_COLOURS = 4, 16


def quote(
    jobs: Path | None, room_path: Path, job: Mapping[str, str], share: float | None, source: Path | None, *,
    as_json: bool,
) -> int:  # fmt: skip
    """Price jobs and print the quote; return the exit code.

    Raises
    ------
    InputError
        With every fault of what was given.
    """
    rows, room = _rows(jobs, room_path, job)
    with engine(quiet=as_json):
        from nest.buying.quote import quote_jobs
        from nest.buying.quote_text import quote_json, quote_text
        from nest.buying.yields import read_yield, stated
        from nest.cli.inspection import wraps

        found = read_yield(source) if source is not None else None if share is None else stated(share)
        for text in told_warnings(wraps(rows, room), [row.key for row in rows]):
            tell(f"warning: {text}")
        quotes = quote_jobs(rows, room, found)
    if as_json:
        show_exact(quote_json(quotes, room, found))
    else:
        show(quote_text(quotes, room, found))
    return 0


def _rows(jobs: Path | None, room_path: Path, job: Mapping[str, str]) -> tuple[tuple[Row, ...], Room]:
    if jobs is not None:
        from nest.intake.week import read_week

        return read_week(jobs, room_path)
    from nest.intake.job_options import read_job

    return read_job({"--job": "quote", **{o: value for o, value in job.items() if o != "--colours"}},
                    colours_of(job.get("--colours", "")), room_path)  # fmt: skip


def colours_of(text: str) -> list[str]:
    """Return the names of the separations: as listed with commas, or for a number the usual names and further ones.

    Raises
    ------
    click.UsageError
        If the list is empty, holds one twice, or the number is out of bounds.

    Examples
    --------
    >>> colours_of("5"), colours_of("White, Black"), colours_of("")
    (['Cyan', 'Magenta', 'Yellow', 'Black', 'Colour 5'], ['White', 'Black'], ['Colour 1'])
    """
    text = text.strip() or "1"
    if text.isdecimal():
        count = int(text)
        if not 1 <= count <= MOST_COLOURS:
            raise click.UsageError(f"--colours: {text} is no number from 1 to {MOST_COLOURS}")
        usual = USUAL_COLOURS if count >= FEW else ()
        return [*usual, *(f"Colour {n}" for n in range(len(usual) + 1, count + 1))]
    names = [name.strip() for name in text.split(",")]
    if not all(names) or len(set(names)) < len(names):
        raise click.UsageError(f"--colours: {text!r} must be a number, or different names with commas between them")
    return names
