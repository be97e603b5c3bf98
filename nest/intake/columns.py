"""The columns of a jobs file, and which column of a shop's own file is which."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from nest.intake.faults import offer, quoted

if TYPE_CHECKING:
    from nest.intake.faults import FaultList
    from nest.intake.table import Table

IGNORE_ALL = "*"


class Kind(Enum):
    """What the cells of a column hold."""

    NAME = "name"
    TEXT = "text"
    SIZE = "size"
    BORDER = "border"
    TEETH = "teeth"
    COPIES = "copies"
    FLAG = "flag"
    CHOICE = "choice"
    GROUP_NUMBER = "group number"
    GROUP_TEXT = "group text"
    MOMENT = "moment"
    LATER = "later"


COLUMNS: dict[str, Kind] = {
    "job": Kind.NAME,
    "separation": Kind.NAME,
    "part": Kind.NAME,
    "material": Kind.NAME,
    "image_across": Kind.SIZE,
    "image_around": Kind.SIZE,
    "repeat": Kind.SIZE,
    "teeth": Kind.TEETH,
    "at_plate_size": Kind.FLAG,
    "copies": Kind.COPIES,
    "border": Kind.BORDER,
    "border_lead": Kind.BORDER,
    "border_tail": Kind.BORDER,
    "border_left": Kind.BORDER,
    "border_right": Kind.BORDER,
    "turn": Kind.CHOICE,
    "together": Kind.CHOICE,
    "apart": Kind.FLAG,
    "alone": Kind.FLAG,
    "need": Kind.CHOICE,
    "relief": Kind.GROUP_NUMBER,
    "resolution": Kind.GROUP_NUMBER,
    "surface": Kind.GROUP_TEXT,
    "ready": Kind.MOMENT,
    "due": Kind.MOMENT,
    "outline": Kind.LATER,
    "artwork": Kind.LATER,
    "customer": Kind.TEXT,
    "title": Kind.TEXT,
    "press": Kind.TEXT,
    "note": Kind.TEXT,
}
"""Every column of the contract, in its order."""

REQUIRED = ("job", "separation", "material", "image_across", "image_around")
SHAPED_BY = ("outline", "artwork")
"""Columns that stand in for the two image sizes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderMap:
    """A shop's own headers: ``columns`` maps own to ours, ``ignore`` names those passed over (or ``*``)."""

    columns: dict[str, str]
    ignore: tuple[str, ...] = ()

    def known(self) -> frozenset[str]:
        """Return every header that has a meaning."""
        return frozenset({*COLUMNS, *self.columns, *self.ignore} - {IGNORE_ALL})


def find_columns(table: Table, own: HeaderMap | None, faults: FaultList) -> dict[str, int]:
    """Return the place of each of our columns in the table; note unknown, double and missing headers.

    ``own`` is None where the room file could not be read: then nothing can be said of unknown and missing ones.
    """
    places: dict[str, list[int]] = defaultdict(list)
    for index, header in enumerate(table.header):
        name = _meaning(header, own)
        if name is not None:
            places[name].append(index)
        elif header and own is not None and header not in own.ignore and IGNORE_ALL not in own.ignore:
            hint = f"{offer(header, [*COLUMNS, *own.columns])} [columns] in the room file maps or ignores own headers"
            table.note(faults, table.header_line, index, rule="unknown column", got=quoted(header), remedy=hint)
    for name, found in places.items():
        if len(found) > 1:
            headers = " and ".join(quoted(table.header[index]) for index in found)
            table.note(
                faults,
                table.header_line,
                found[1],
                rule=f"two headers mean the column '{name}'",
                got=headers,
                remedy="keep one, or ignore the other in [columns] of the room file",
            )
    if own is not None:
        _note_missing(table, places, faults)
    return {name: found[0] for name, found in places.items()}


def _meaning(header: str, own: HeaderMap | None) -> str | None:
    """Return which of our columns a header means, None where it means none or is passed over."""
    if own is not None:
        if header in own.ignore:
            return None
        if header in own.columns:
            return own.columns[header]
    return header if header in COLUMNS else None


def _note_missing(table: Table, places: dict[str, list[int]], faults: FaultList) -> None:
    shaped = any(name in places for name in SHAPED_BY)
    for name in REQUIRED:
        if name not in places and not (shaped and name.startswith("image_")):
            table.note(
                faults,
                table.header_line,
                None,
                rule=f"the required column '{name}' is missing",
                remedy="add it, or map your own header to it in [columns] of the room file",
            )
