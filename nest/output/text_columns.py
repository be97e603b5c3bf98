"""Rows of text aligned in columns, as a terminal shows them."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from nest.output.words import one_line

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence


def columns_of(text: str) -> int:
    """Return how many columns of a terminal a text takes."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1 for sign in text
    )


def aligned(rows: Sequence[Sequence[str]], *, right: Collection[int] = ()) -> list[str]:
    """Return the rows with their cells aligned, two blanks apart; ``right`` are columns aligned right.

    Examples
    --------
    >>> aligned([("image", "2.5"), ("unused", "10.5")], right={1})
    ['image    2.5', 'unused  10.5']
    """
    widths = [max(columns_of(row[at]) for row in rows) for at in range(len(rows[0]))] if rows else []
    out = []
    for row in rows:
        cells = []
        for at, (word, width) in enumerate(zip(row, widths, strict=True)):
            blank = " " * (width - columns_of(word))
            cells.append(blank + word if at in right else word + blank)
        out.append("  ".join(cells).rstrip())
    return out


def aligned_table(head: Sequence[str], rows: Sequence[Sequence[str]], numbers: Collection[int]) -> str:
    """Return a table with a line a row, ending in a newline; the columns in ``numbers`` are set to the right."""
    lines = [head, *([one_line(word) for word in row] for row in rows)]
    return "".join(f"{line}\n" for line in aligned(lines, right=numbers))
