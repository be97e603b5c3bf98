"""Delimited text (commas, semicolons or tabs) as a table; a record keeps the line it starts on."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING

from nest.intake.table import SEPARATOR_WORDS, Line, Table, make_table

if TYPE_CHECKING:
    from nest.intake.faults import FaultList

QUOTED = re.compile(r'"[^"]*"?')


def table_of_text(text: str, known: frozenset[str], faults: FaultList) -> Table | None:
    """Return the table of delimited text; a record keeps the line it starts on."""
    separator = find_separator(text, known)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    records: list[Line] = []
    while True:
        number = reader.line_num + 1
        try:
            cells = tuple(cell.strip() for cell in next(reader))
        except StopIteration:
            break
        except csv.Error as error:
            faults.add(
                line=number,
                rule=f"the line cannot be split into cells ({error})",
                remedy='close every opening ", and double a " that belongs to a quoted text',
            )
            return None
        if any(cells):
            records.append(Line(number=number, cells=cells))
    return make_table(records, faults, separator=separator)


def find_separator(text: str, known: frozenset[str]) -> str:
    """Return the separator that makes most known headers of the first line that is not empty."""
    header = next((line for line in io.StringIO(text) if line.strip()), "")
    bare = QUOTED.sub("", header)

    def score(separator: str) -> tuple[int, int]:
        try:
            cells = next(csv.reader([header], delimiter=separator))
        except csv.Error:
            return (0, 0)
        return (sum(cell.strip() in known for cell in cells), bare.count(separator))

    return max(SEPARATOR_WORDS, key=score)
