"""Warnings told by job, so that one fault of a colour set is one line."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from nest.output.words import one_line, row_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.domain.job import RowKey
    from nest.domain.plan import Plan


def plan_rows(plan: Plan) -> set[RowKey]:
    """Return the rows a plan places or leaves over."""
    placed = {piece.row for sheet in plan.sheets for plate in sheet.plates for piece in plate.pieces}
    return placed | {(row.job, row.separation, row.part) for row in plan.unplaced}


def warnings_by_job(warnings: Iterable[str], rows: Iterable[RowKey]) -> list[tuple[str | None, list[RowKey], str]]:
    """Return warnings with the rows they tell of, those of one job that say the same as one.

    Parameters
    ----------
    warnings
        Warnings as the plan has them; those of a row start with its words and a colon.
    rows
        The rows that may be named.

    Returns
    -------
    list of (job, rows, text)
        In the order of the warnings. Job None and no rows for a warning that names no row; ``text`` is one line and
        does not repeat the names.
    """
    by_name = {one_line(row_words(*key)): key for key in rows}
    grouped: dict[tuple[str | None, str], list[RowKey]] = defaultdict(list)
    for warning in warnings:
        words = one_line(warning)
        named = [name for name in _heads(words) if name in by_name]
        if named:
            key = by_name[max(named, key=len)]
            grouped[key[0], words[len(max(named, key=len)) + 2 :]].append(key)
        else:
            grouped[None, words] += []
    return [(job, keys, text) for (job, text), keys in grouped.items()]


def _heads(words: str) -> list[str]:
    """Return every start of a text that a colon ends."""
    parts = words.split(": ")
    return [": ".join(parts[:count]) for count in range(1, len(parts))]


def told_warnings(warnings: Iterable[str], rows: Iterable[RowKey]) -> list[str]:
    """Return warnings in words: ``job 2417 Cyan, Magenta: around 300 mm is ...``."""
    return [
        text if job is None else f"{job_rows_words(job, [name for _, *name in keys])}: {text}"
        for job, keys, text in warnings_by_job(warnings, rows)
    ]


def job_rows_words(job: str, names: Iterable[Iterable[str]]) -> str:
    """Return rows of one job in words; ``names`` are separation and part of each.

    Examples
    --------
    >>> job_rows_words("2417", [("Cyan", ""), ("Black", "left")])
    'job 2417 Cyan, Black left'
    """
    rows = (one_line(" ".join(words)) for words in names)
    return one_line(f"job {job} " + ", ".join(rows))
