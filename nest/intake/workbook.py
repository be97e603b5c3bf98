"""The first worksheet of an .xlsx workbook as text cells.

A look into the file comes before the reader: it refuses what would not fit in memory, and finds cells whose value is an
error or was never computed, which the reader hands over as empty.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
import zlib
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import python_calamine

from nest.intake.source import OLE_MARK, ZIP_MARK
from nest.intake.table import Line, Table, column_letters, make_table, sheet_word

if TYPE_CHECKING:
    from nest.intake.faults import FaultList

MAX_UNPACKED = 256 * 1024 * 1024
MAX_CELLS = 4_000_000
CELL = re.compile(rb"<(?:\w+:)?c\b([^>]*?)(?:/>|>(.*?)</(?:\w+:)?c>)", re.DOTALL)
ADDRESS = re.compile(rb'\br="([A-Z]{1,3})([0-9]{1,7})"')
ERROR_TYPE = re.compile(rb'\bt="e"')
FORMULA = re.compile(rb"<(?:\w+:)?f\b")
VALUE = re.compile(rb"<(?:\w+:)?(?:v|t)\b[^>]*(?<!/)>[^<]")
RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
SAVE_AGAIN = "open it and save it again as .xlsx, or as CSV in UTF-8"

CellValue = int | float | str | bool | date | datetime | time | timedelta


def read_workbook(data: bytes, faults: FaultList) -> Table | None:
    """Return the table of the first worksheet, or None after noting why it cannot be read."""
    if data.startswith(OLE_MARK):
        faults.add(
            rule="must be an .xlsx workbook; got one of the older kind, or one locked with a password",
            remedy="save it as .xlsx without a password",
        )
        return None
    if not data.startswith(ZIP_MARK):
        faults.add(rule="must be an .xlsx workbook; got something else", remedy="name text files .csv; " + SAVE_AGAIN)
        return None
    try:
        name, raw = _first_sheet(data)
    except (zipfile.BadZipFile, zlib.error, ElementTree.ParseError, OSError, EOFError, KeyError, ValueError,
            NotImplementedError, RuntimeError) as error:
        faults.add(rule=f"must be a whole .xlsx workbook ({_short(error)})", remedy=SAVE_AGAIN)
        return None
    if not _looks_right(name, raw, faults):
        return None
    cells = _cells(data, name, faults)
    if cells is None:
        return None
    records = [
        Line(number=number, cells=tuple(as_text(value) for value in row)) for number, row in enumerate(cells, start=1)
    ]
    return make_table([line for line in records if any(line.cells)], faults, sheet=name)


def as_text(value: CellValue) -> str:
    """Return a typed cell as it would be typed in a text file.

    Examples
    --------
    >>> as_text(4100.0), as_text(0.5), as_text(True), as_text(datetime(2027, 3, 5)), as_text(" Cyan ")
    ('4100', '0.5', 'yes', '2027-03-05', 'Cyan')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime):
        midnight = value.time() == time()
        return value.date().isoformat() if midnight else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return str(value).strip()


def _first_sheet(data: bytes) -> tuple[str, bytes]:
    """Return the first worksheet's name and its XML.

    Raises
    ------
    ValueError
        If the workbook has no worksheet or unpacks to more than MAX_UNPACKED bytes.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if sum(entry.file_size for entry in archive.infolist()) > MAX_UNPACKED:
            raise ValueError(f"unpacks to more than {MAX_UNPACKED // 1024**2} MB")
        relations = {
            node.get("Id"): node for node in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
        }
        book = ElementTree.fromstring(archive.read("xl/workbook.xml"))
        for node in book.iter():
            if node.tag.rpartition("}")[2] != "sheet":
                continue
            relation = relations.get(node.get(RELATION))
            if relation is not None and str(relation.get("Type")).endswith("/worksheet"):
                target = posixpath.normpath(posixpath.join("/xl", str(relation.get("Target"))))
                return str(node.get("name")), archive.read(target.lstrip("/"))
    raise ValueError("has no worksheet")


def _looks_right(name: str, raw: bytes, faults: FaultList) -> bool:
    """Whether the sheet fits in memory and every cell has a value; notes what is wrong."""
    rows = columns = 0
    for attributes, content in CELL.findall(raw):
        address = ADDRESS.search(attributes)
        if not content or address is None:
            continue
        row, column = int(address[2]), _column_index(address[1])
        rows, columns = max(rows, row), max(columns, column + 1)
        error = ERROR_TYPE.search(attributes) is not None
        if error or (FORMULA.search(content) and not VALUE.search(content)):
            faults.add(
                line=row,
                show=False,
                where=f"{sheet_word(name)}!{column_letters(column)}{row}",
                rule="the cell holds an error" if error else "the cell holds a formula without a stored result",
                remedy="mend the formula, or type its result",
            )
    if rows * columns > MAX_CELLS:
        faults.add(
            rule=f"the sheet '{name}' must have at most {MAX_CELLS} cells",
            got=f"{rows} rows of {columns}",
            remedy="delete stray cells far below or beside the table",
        )
        return False
    return True


def _cells(data: bytes, name: str, faults: FaultList) -> list[list[CellValue]] | None:
    """Return the sheet's cells from A1 on, or None after noting why not."""
    try:
        with python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)) as book:
            return list(book.get_sheet_by_name(name).to_python(skip_empty_area=False))
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # the reader's own panics derive from BaseException
        faults.add(rule=f"must be a whole .xlsx workbook ({_short(error)})", remedy=SAVE_AGAIN)
    return None


def _column_index(letters: bytes) -> int:
    index = 0
    for letter in letters:
        index = index * 26 + letter - ord("A") + 1
    return index - 1


def _short(error: BaseException) -> str:
    return " ".join(str(error).split())[:80] or type(error).__name__
