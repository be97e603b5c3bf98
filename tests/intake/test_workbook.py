from __future__ import annotations

import io
import zipfile
from datetime import date, datetime
from typing import TYPE_CHECKING

import openpyxl
import pytest

from nest.intake import read_room, workbook
from nest.intake.faults import FaultList
from nest.intake.jobs import read_jobs
from nest.intake.workbook import read_workbook
from tests.intake.samples import HEADER, SMALL_ROOM, jobs_faults, rows_of, write

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


def book(*records: Sequence[object], title: str = "Sheet1", first: bool = True) -> bytes:
    made = openpyxl.Workbook()
    sheet = made.active if first else made.create_sheet()
    sheet.title = title
    for record in records:
        sheet.append(record)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def edited(data: bytes, old: bytes, new: bytes) -> bytes:
    """Return the workbook with bytes of its first sheet replaced."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w") as target:
        for entry in source.infolist():
            content = source.read(entry)
            if entry.filename == "xl/worksheets/sheet1.xml":
                assert old in content
                content = content.replace(old, new)
            target.writestr(entry, content)
    return out.getvalue()


def refusal(data: bytes) -> str:
    faults = FaultList("f.xlsx")
    read_workbook(data, faults)
    (fault,) = faults.in_order()
    return str(fault)


def test_typed_cells_are_read_as_numbers_words_and_dates(tmp_path: Path) -> None:
    header = [*HEADER.split(","), "copies", "apart", "ready", "due", "relief", "note"]
    record = [2417, "Cyan", "HB170", 200, 300.9, 3.0, True, date(2027, 3, 1), datetime(2027, 3, 2, 14, 30), 0.5, "x\ny"]
    (row,) = rows_of(tmp_path, book(header, record), name="week.xlsx")
    assert (row.job, row.image_across_mm, row.image_around_mm, row.copies) == ("2417", 200.0, 300.9, 3)
    assert (row.apart, row.ready, row.due) == (True, datetime(2027, 3, 1), datetime(2027, 3, 2, 14, 30))
    assert (row.relief, row.note, row.line) == (0.5, "x y", 2)


def test_only_the_first_sheet_is_read(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    made.active.append(HEADER.split(","))
    made.active.append([1, "Cyan", "HB170", 2, 3])
    made.create_sheet("second").append(["nonsense"])
    made.save(tmp_path / "week.xlsx")
    room = write(tmp_path, "room.toml", SMALL_ROOM)
    assert len(read_jobs(tmp_path / "week.xlsx", read_room(room), room)) == 1


def test_faults_name_the_cell(tmp_path: Path) -> None:
    data = book(HEADER.split(","), [1, "Cyan", "HB170", -1, "12,5"], ["", "Cyan", "HB170", 1, 1])
    assert jobs_faults(tmp_path, data, name="week.xlsx") == [
        "week.xlsx: Sheet1!D2 image_across: must be above 0; got '-1'; write a length above 0",
        "week.xlsx: Sheet1!E2 image_around: a decimal comma is only read in files separated by ';'; got '12,5'; "
        "write 12.5",
        "week.xlsx: Sheet1!A3 job: must be filled; give the job",
    ]


def test_a_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    made = openpyxl.Workbook()
    made.active.append(HEADER.split(","))
    made.active.append(["'=1+1", "=SUM(A1)", "HB170", 2, 3])
    made.active["B2"].data_type = "s"
    made.save(tmp_path / "week.xlsx")
    room = write(tmp_path, "room.toml", SMALL_ROOM)
    (row,) = read_jobs(tmp_path / "week.xlsx", read_room(room), room)
    assert (row.job, row.separation) == ("'=1+1", "=SUM(A1)")


def test_a_formula_without_a_stored_result_is_a_fault_instead_of_an_empty_cell(tmp_path: Path) -> None:
    data = book([*HEADER.split(","), "copies"], [1, "Cyan", "HB170", 2, 3, "=1+1"])
    assert jobs_faults(tmp_path, data, name="week.xlsx") == [
        "week.xlsx: Sheet1!F2: the cell holds a formula without a stored result; mend the formula, or type its result"
    ]


def test_a_formula_with_its_result_is_read(tmp_path: Path) -> None:
    data = book([*HEADER.split(","), "copies"], [1, "Cyan", "HB170", 2, 3, "=1+1"])
    stored = edited(data, b"<v />" if b"<v />" in sheet_xml(data) else b"<v></v>", b"<v>2</v>")
    (row,) = rows_of(tmp_path, stored, name="week.xlsx")
    assert row.copies == 2


def sheet_xml(data: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return archive.read("xl/worksheets/sheet1.xml")


def test_an_error_cell_is_a_fault(tmp_path: Path) -> None:
    data = book([*HEADER.split(","), "copies"], [1, "Cyan", "HB170", 2, 3, "#REF!"])
    assert jobs_faults(tmp_path, data, name="week.xlsx") == [
        "week.xlsx: Sheet1!F2: the cell holds an error; mend the formula, or type its result"
    ]


def test_a_stray_cell_far_away_is_refused_before_it_fills_the_memory() -> None:
    made = openpyxl.Workbook()
    made.active["A1"] = "job"
    made.active["XFD1048576"] = "x"
    out = io.BytesIO()
    made.save(out)
    assert refusal(out.getvalue()) == (
        "f.xlsx: the sheet 'Sheet' must have at most 4000000 cells; got 1048576 rows of 16384; "
        "delete stray cells far below or beside the table"
    )


def test_a_workbook_that_unpacks_to_too_much_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "MAX_UNPACKED", 1000)
    assert "unpacks to more than" in refusal(book(["job"]))


def test_an_empty_sheet_is_one_fault() -> None:
    assert refusal(book()) == "f.xlsx: the file is empty; give a header and at least one row"


@pytest.mark.parametrize(
    ("data", "text"),
    [
        (b"job,separation", "must be an .xlsx workbook; got something else"),
        (b"\xd0\xcf\x11\xe0junk", "must be an .xlsx workbook; got one of the older kind, or one locked with a passw"),
        (b"PK\x03\x04junk", "must be a whole .xlsx workbook ("),
    ],
)
def test_what_is_no_workbook_is_one_fault(data: bytes, text: str) -> None:
    assert refusal(data).startswith("f.xlsx: " + text)


def test_a_truncated_or_damaged_workbook_is_one_fault_or_read() -> None:
    whole = book(HEADER.split(","), [1, "Cyan", "HB170", 2, 3])
    for cut in range(0, len(whole), 97):
        assert refusal(whole[:cut])
    for at in range(30, len(whole), 61):
        faults = FaultList("f.xlsx")
        damaged = whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :]
        assert read_workbook(damaged, faults) is not None or faults


def test_an_archive_that_is_no_workbook_is_one_fault() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("hello.txt", "x")
    assert refusal(out.getvalue()).startswith("f.xlsx: must be a whole .xlsx workbook (")


def test_a_folder_or_a_missing_workbook_is_one_fault(tmp_path: Path) -> None:
    (tmp_path / "dir.xlsx").mkdir()
    room = write(tmp_path, "room.toml", SMALL_ROOM)
    for name in ("dir.xlsx", "none.xlsx"):
        with pytest.raises(ValueError, match="1 fault, nothing written"):
            read_jobs(tmp_path / name, read_room(room), room)
