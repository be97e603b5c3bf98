"""Two plans side by side as text, and as one page that fetches nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.output.notices import job_rows_words
from nest.output.pages.shell import page
from nest.output.text_columns import aligned
from nest.output.words import counted, one_line

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.domain.job import RowKey
    from nest.output.comparison.facts import Comparison, Line
    from nest.output.comparison.moves import Moves

_MOST = 60
"""Longest list printed; the page has all of it."""
_LISTS = ("Sheets drawn", "Plates")
"""Tables of which only the lines that differ are printed as text."""


def comparison_text(comparison: Comparison) -> str:
    """Return the comparison as text, ending in a newline; long lists are cut short."""
    lines = [f"A  {one_line(comparison.first)}", f"B  {one_line(comparison.second)}"]
    for title, table in comparison.titled.items():
        lines += ["", title.upper()]
        shown = [line for line in table if title not in _LISTS or line.differs]
        if len(shown) < len(table):
            lines[-1] += ": those that differ" if shown else ": no difference"
        lines += _table(shown[:_MOST])
        if len(shown) > _MOST:
            lines.append(f"  and {len(shown) - _MOST} more")
    return "\n".join([*lines, "", *_moves(comparison.moves)]) + "\n"


def _table(table: Iterable[Line]) -> list[str]:
    table = list(table)
    if not table:
        return []
    rows = [("", "A", "B", "B - A", ""), *((one_line(t.name), t.first, t.second, t.difference, t.note) for t in table)]
    return [f"  {line}" for line in aligned(rows, right=frozenset((1, 2, 3)))]


def _moves(told: Moves) -> list[str]:
    title = (
        f"PIECES: {told.stayed} on the same sheet, {told.moved_count} on another, "
        f"{sum(count for _, count in told.new)} new, {sum(count for _, count in told.gone)} gone"
    )
    lines = [f"  {row_words(one.row)}: {one.count} from {', '.join(one.left)} of A to {', '.join(one.now)} of B"
             for one in told.moved]  # fmt: skip
    lines += [f"  {row_words(row)}: {counted(count, 'piece')} new in B" for row, count in told.new]
    lines += [f"  {row_words(row)}: {counted(count, 'piece')} gone from A" for row, count in told.gone]
    more = [f"  and {len(lines) - _MOST} more"] if len(lines) > _MOST else []
    return [title, *(f"  {one_line(line)}" for line in lines[:_MOST]), *more]


def row_words(row: RowKey) -> str:
    """Return a row in words."""
    job, *names = row
    return job_rows_words(job, [names])


def comparison_html(comparison: Comparison) -> str:
    """Return the comparison as one HTML page."""
    return page(
        "compare.html", ("page.css", "compare.css"), ("page.js",),
        title="Two plans compared", key="", told=comparison, words=row_words,
    )  # fmt: skip
