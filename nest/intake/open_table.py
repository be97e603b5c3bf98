"""Opening a jobs file of either format."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.intake.delimited import table_of_text
from nest.intake.source import decode, read_bytes
from nest.intake.workbook import read_workbook

if TYPE_CHECKING:
    from pathlib import Path

    from nest.intake.faults import FaultList
    from nest.intake.table import Table

SAVE_AS_UTF8 = "save it as CSV in UTF-8, or as .xlsx"


def read_table(path: Path, known: frozenset[str], faults: FaultList) -> Table | None:
    """Return the cells of a jobs file, or None after noting why it cannot be read.

    ``known`` are the headers that have a meaning: they decide between separators where the header holds several.
    """
    data = read_bytes(path, faults)
    if data is None:
        return None
    if path.suffix.lower() == ".xlsx":
        return read_workbook(data, faults)
    text = decode(data, faults, SAVE_AS_UTF8)
    return None if text is None else table_of_text(text, known, faults)
