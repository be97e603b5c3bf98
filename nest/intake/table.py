"""A jobs file as lines of trimmed text cells, each with the place it came from."""

from __future__ import annotations

from dataclasses import dataclass

from nest.intake.faults import FaultList, quoted
from nest.intake.typed_numbers import DECIMAL_COMMA

SEPARATOR_WORDS = {",": "commas", ";": "semicolons", "\t": "tabs"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One record: the line it starts on and its cells."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """All records under one header. ``sheet`` names the worksheet, None for text files."""

    header: tuple[str, ...]
    header_line: int
    lines: tuple[Line, ...]
    separator: str | None = None
    sheet: str | None = None

    @property
    def decimal_comma(self) -> bool:
        """Whether a decimal comma is read."""
        return self.separator == ";"

    def comma_used(self, columns: list[int]) -> bool:
        """Whether any cell of these columns is written with a decimal comma."""
        if not self.decimal_comma:
            return False
        return any(DECIMAL_COMMA.fullmatch(line.cells[column]) for line in self.lines for column in columns)

    def note(
        self,
        faults: FaultList,
        line: int,
        column: int | None,
        *,
        rule: str,
        remedy: str,
        got: str | None = None,
        name: str | None = None,
    ) -> None:
        """Note a fault at a cell: as line and column, in a workbook as its cell such as ``Sheet1!C7``."""
        where = name
        if self.sheet is not None:
            cell = f"{sheet_word(self.sheet)}!{column_letters(column or 0)}{line}"
            where = cell if name is None else f"{cell} {name}"
        elif name is None and column is not None:
            where = f"column {column + 1}"
        faults.add(line=line, show=self.sheet is None, where=where, rule=rule, got=got, remedy=remedy)


def make_table(
    records: list[Line], faults: FaultList, *, separator: str | None = None, sheet: str | None = None
) -> Table | None:
    """Return the table of non-empty records, the first of which is the header; note those of a wrong length."""
    if not records:
        faults.add(rule="the file is empty", remedy="give a header and at least one row")
        return None
    header = records[0].cells
    while header and not header[-1]:
        header = header[:-1]
    table = Table(
        header=header,
        header_line=records[0].number,
        lines=(),
        separator=separator,
        sheet=sheet,
    )
    lines = tuple(line for line in records[1:] if _fits(line, table, faults))
    if len(records) == 1:
        faults.add(line=records[0].number, rule="there is no row under the header", remedy="give at least one row")
    return Table(header=header, header_line=table.header_line, lines=lines, separator=separator, sheet=sheet)


def _fits(line: Line, table: Table, faults: FaultList) -> bool:
    """Whether a record has a cell for every header and none without one; an empty header holds nothing."""
    width = len(table.header)
    if len(line.cells) < width:
        faults.add(
            line=line.number,
            rule=f"the row must have {width} cells as the header has",
            got=str(len(line.cells)),
            remedy="add the empty cells; check quotes and line breaks",
        )
        return False
    for column, cell in enumerate(line.cells):
        if cell and (column >= width or not table.header[column]):
            hint = ""
            if table.separator is not None and column >= width:
                hint = f", or put cells that hold {SEPARATOR_WORDS[table.separator]} in quotes"
            table.note(
                faults,
                line.number,
                column,
                rule="a cell without a header",
                got=quoted(cell),
                remedy=f"give the column a header{hint}",
            )
            return False
    return True


def column_letters(index: int) -> str:
    """Return a workbook's letters for a column counted from 0.

    Examples
    --------
    >>> column_letters(0), column_letters(25), column_letters(26), column_letters(16383)
    ('A', 'Z', 'AA', 'XFD')
    """
    letters = ""
    index += 1
    while index > 0:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def sheet_word(name: str) -> str:
    """Return a worksheet's name as cell addresses write it: quoted where it holds more than letters and digits."""
    if name.isascii() and name.replace("_", "").isalnum():
        return name
    return "'" + name.replace("'", "''") + "'"
