from __future__ import annotations

import pytest

from nest.intake.delimited import find_separator, table_of_text
from nest.intake.faults import FaultList

KNOWN = frozenset({"job", "separation", "note", "Width, mm"})


@pytest.mark.parametrize(
    ("header", "separator"),
    [
        ("job,separation", ","),
        ("job;separation", ";"),
        ("job\tseparation", "\t"),
        ('job;"x,y,z,w";separation', ";"),
        ("Width, mm;job", ";"),
        ("\n  \njob;separation", ";"),
        ("own;names;here,too", ";"),
        ("job", ","),
    ],
)
def test_the_separator_is_found_from_the_header(header: str, separator: str) -> None:
    assert find_separator(header + "\na,b,c,d,e", KNOWN) == separator


def test_a_quoted_line_break_keeps_the_later_line_numbers_right() -> None:
    table = table_of_text('job,note\n1,"two\nlines"\n\n2,x\n', KNOWN, FaultList("f"))
    assert table is not None
    assert [(line.number, line.cells) for line in table.lines] == [(2, ("1", "two\nlines")), (5, ("2", "x"))]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_line_end_counts_lines_alike(end: str) -> None:
    table = table_of_text(end.join(["job,note", "", ",", "1,x"]), KNOWN, FaultList("f"))
    assert table is not None
    assert [line.number for line in table.lines] == [4]


def test_cells_and_headers_are_trimmed() -> None:
    table = table_of_text("  job , note\n 1 ,\tx \n", KNOWN, FaultList("f"))
    assert table is not None
    assert (table.header, table.lines[0].cells) == (("job", "note"), ("1", "x"))


@pytest.mark.parametrize(
    ("text", "place"),
    [('job,note\n1,"x\n2,y\n', "f:2: "), ('job,note\n1,"x"y\n', "f:2: "), ("job,note\n1," + "x" * 200_000, "f:2: ")],
)
def test_a_line_that_cannot_be_split_names_the_line_it_starts_on(text: str, place: str) -> None:
    faults = FaultList("f")
    assert table_of_text(text, KNOWN, faults) is None
    (fault,) = faults.in_order()
    assert str(fault).startswith(place + "the line cannot be split into cells (")
