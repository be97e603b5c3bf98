from __future__ import annotations

import pytest

from nest.intake.faults import FaultList
from nest.intake.table import Line, Table, column_letters, make_table, sheet_word


def lines(*records: tuple[str, ...]) -> list[Line]:
    return [Line(number=n, cells=cells) for n, cells in enumerate(records, start=1)]


def built(*records: tuple[str, ...], separator: str | None = ",", sheet: str | None = None) -> tuple[Table, list[str]]:
    faults = FaultList("f")
    table = make_table(lines(*records), faults, separator=separator, sheet=sheet)
    assert table is not None
    return table, [str(fault) for fault in faults.in_order()]


def test_the_first_record_is_the_header_and_empty_headers_at_its_end_do_not_count() -> None:
    table, faults = built(("a", "b", "", ""), ("1", "2"), ("3", "4", ""))
    assert table.header == ("a", "b")
    assert [line.cells[:2] for line in table.lines] == [("1", "2"), ("3", "4")]
    assert faults == []


def test_a_row_with_too_few_cells_is_one_fault() -> None:
    _, faults = built(("a", "b"), ("1",))
    assert faults == [
        "f:2: the row must have 2 cells as the header has; got 1; add the empty cells; check quotes and line breaks"
    ]


def test_a_row_with_a_filled_cell_too_many_is_one_fault_and_an_empty_one_is_none() -> None:
    _, faults = built(("a", "b"), ("1", "2", "3"))
    assert faults == [
        "f:2: column 3: a cell without a header; got '3'; "
        "give the column a header, or put cells that hold commas in quotes"
    ]
    assert built(("a", "b"), ("1", "2", ""))[1] == []


def test_a_cell_under_an_empty_header_is_a_fault_named_by_its_cell_in_a_workbook() -> None:
    _, faults = built(("a", "", "b"), ("1", "x", "2"), separator=None, sheet="Week 7")
    assert faults == ["f: 'Week 7'!B2: a cell without a header; got 'x'; give the column a header"]
    assert built(("a", "", "b"), ("1", "", "2"))[1] == []


def test_a_header_alone_is_a_fault_and_nothing_at_all_is_another() -> None:
    assert built(("a", "b"))[1] == ["f:1: there is no row under the header; give at least one row"]
    faults = FaultList("f")
    assert make_table([], faults) is None
    assert [str(fault) for fault in faults.in_order()] == [
        "f: the file is empty; give a header and at least one row"
    ]


def test_decimal_commas_are_seen_only_in_the_columns_asked_for() -> None:
    table, _ = built(("a", "b"), ("1,5", "2"), separator=";")
    assert table.comma_used([0])
    assert not table.comma_used([1])


@pytest.mark.parametrize(("index", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")])
def test_columns_have_a_workbooks_letters(index: int, letters: str) -> None:
    assert column_letters(index) == letters


@pytest.mark.parametrize(
    ("name", "word"), [("Sheet1", "Sheet1"), ("Week 7", "'Week 7'"), ("it's", "'it''s'"), ("Größe", "'Größe'")]
)
def test_sheet_names_are_quoted_as_cell_addresses_need(name: str, word: str) -> None:
    assert sheet_word(name) == word
