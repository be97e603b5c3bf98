from __future__ import annotations

import csv
import io
import os
import tempfile
import time
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.job import Need, Row, Together, Turn
from nest.intake import read_jobs, read_room, read_week
from nest.plates.pieces import piece_of
from nest.units import to_units
from tests.intake.samples import (
    HEADER,
    INCH_ROOM,
    ROW,
    SMALL_ROOM,
    cell_fault,
    jobs_faults,
    one_row,
    room_of,
    rows_of,
    write,
)

WEEKS = Path(os.environ.get("NEST_WEEKS", Path(__file__).parents[3] / "shared" / "bench" / "weeks"))


def test_a_row_with_required_columns_only_has_every_default(tmp_path: Path) -> None:
    assert one_row(tmp_path) == Row(
        job="2417", separation="Cyan", material="HB170", image_across_mm=200.0, image_around_mm=300.9, line=2
    )


def test_every_column_is_read(tmp_path: Path) -> None:
    cells = {
        "job": "2417",
        "separation": "Cyan",
        "part": "P1",
        "material": "HB170",
        "image_across": "200",
        "image_around": "300.9",
        "repeat": "304.8",
        "teeth": "96",
        "at_plate_size": "Yes",
        "copies": "2",
        "border": "5",
        "border_lead": "6",
        "border_tail": "7",
        "border_left": "0",
        "border_right": "8.5",
        "turn": "FREE",
        "together": "Lot",
        "apart": "yes",
        "alone": "YES",
        "need": "Fill",
        "relief": "0.60",
        "resolution": "2540",
        "surface": "fine",
        "ready": "2027-03-01",
        "due": "2027-03-02T12:00",
        "outline": "",
        "artwork": "",
        "customer": "Müller & Co",
        "title": "<b>",
        "press": "P2",
        "note": "a, b",
    }
    out = io.StringIO()
    csv.writer(out).writerows([cells.keys(), cells.values()])
    (row,) = rows_of(tmp_path, out.getvalue(), "pitch = 3.175\n" + SMALL_ROOM)
    assert row == Row(
        job="2417",
        separation="Cyan",
        part="P1",
        material="HB170",
        image_across_mm=200.0,
        image_around_mm=300.9,
        repeat_mm=304.8,
        teeth=96.0,
        at_plate_size=True,
        copies=2,
        border_mm=5.0,
        border_lead_mm=6.0,
        border_tail_mm=7.0,
        border_left_mm=0.0,
        border_right_mm=8.5,
        turn=Turn.FREE,
        together=Together.LOT,
        apart=True,
        alone=True,
        need=Need.FILL,
        relief=0.6,
        resolution=2540.0,
        surface="fine",
        ready=datetime(2027, 3, 1),
        due=datetime(2027, 3, 2, 12),
        customer="Müller & Co",
        title="<b>",
        press="P2",
        note="a, b",
        line=2,
    )


@pytest.mark.parametrize(
    ("column", "value", "text"),
    [
        ("job", "", "job: must be filled; give the job"),
        ("image_across", "", "image_across: must be filled; give the image's size across"),
        ("image_across", "nan", "image_across: must be a finite number; got 'nan'; write the figure"),
        ("image_across", "inf", "image_across: must be a finite number; got 'inf'; write the figure"),
        ("image_across", "-5", "image_across: must be above 0; got '-5'; write a length above 0"),
        ("image_around", "0", "image_around: must be above 0; got '0'; write a length above 0"),
        ("image_around", '"1,200"', "image_around: thousands separators are not read; got '1,200'; write 1200"),
        (
            "copies",
            "1000000000",
            "copies: must be a whole number from 1 to 10000; got '1000000000'; write a count",
        ),
        ("border_left", "-1", "border_left: must be 0 or more; got '-1'; write a border of 0 or more"),
        ("apart", "maybe", "apart: must be yes or no; got 'maybe'; write yes or no"),
        (
            "turn",
            "crss",
            "turn: must be one of set, free, fixed, cross; got 'crss'; did you mean 'cross'?",
        ),
        (
            "due",
            "30.06.2027",
            "due: must be an ISO date; got '30.06.2027'; write a date such as 2027-06-30, or 2027-06-30 14:00",
        ),
        (
            "outline",
            '"POLYGON((0 0,1 0,1 1,0 0))"',
            "outline: 'outline' is not supported yet; got 'POLYGON((0 0,1 0,1 1,0 0))'; "
            "empty the cell and give image_across and image_around",
        ),
        (
            "artwork",
            "a.tif",
            "artwork: 'artwork' is not supported yet; got 'a.tif'; "
            "empty the cell and give image_across and image_around",
        ),
        ("separation", "a\x1bb", "separation: must not hold the control character U+001B; got 'a\\x1bb'; remove it"),
    ],
)
def test_a_wrong_cell_is_one_fault_with_rule_value_and_remedy(
    tmp_path: Path, column: str, value: str, text: str
) -> None:
    assert cell_fault(tmp_path, column, value) == text


def test_a_shaped_row_is_one_fault_even_without_image_columns(tmp_path: Path) -> None:
    (fault,) = jobs_faults(tmp_path, "job,separation,material,outline\n1,Cyan,HB170,POINT(0 0)\n")
    assert fault.startswith("jobs.csv:2: outline: 'outline' is not supported yet; got 'POINT(0 0)'")
    (fault,) = jobs_faults(tmp_path, f"{HEADER},artwork\n1,Cyan,HB170,,,a.tif\n")
    assert fault.startswith("jobs.csv:2: artwork: 'artwork' is not supported yet; got 'a.tif'")


def test_all_faults_come_at_once_in_line_order(tmp_path: Path) -> None:
    faults = jobs_faults(tmp_path, f"{HEADER},copies\n1,,XB170,x,-1,0\n2,Cyan\n1,Cyan,HB170,1,1,99999\n")
    assert [fault.split(": ")[0] + " " + fault.split(": ")[1] for fault in faults] == [
        "jobs.csv:2 image_across",
        "jobs.csv:2 image_around",
        "jobs.csv:2 copies",
        "jobs.csv:2 separation",
        "jobs.csv:2 material",
        "jobs.csv:3 the row must have 6 cells as the header has; got 2; "
        "add the empty cells; check quotes and line breaks",
        "jobs.csv:4 copies",
    ]


@pytest.mark.parametrize("name", ["<svg onload=x>", "'; DROP TABLE x;--", "j" * 300, "\u202eevil", "👩‍🎨 rush", "=1+1"])
def test_hostile_job_names_are_kept_as_text(tmp_path: Path, name: str) -> None:
    (row,) = rows_of(tmp_path, f'{HEADER}\n"{name}",Cyan,HB170,1,1\n')
    assert row.job == name


def test_a_latin_1_file_is_one_fault_with_what_to_do(tmp_path: Path) -> None:
    text = f"{HEADER},customer\n{ROW},Müller\n".encode("latin-1")
    assert jobs_faults(tmp_path, text) == [
        "jobs.csv:2: must be UTF-8 text; got byte 0xfc; save it as CSV in UTF-8, or as .xlsx"
    ]


def test_files_that_are_no_text_are_one_fault_each(tmp_path: Path) -> None:
    assert jobs_faults(tmp_path, b"\x00\x01\x02") == [
        "jobs.csv: must be UTF-8 text; got a binary file; save it as CSV in UTF-8, or as .xlsx"
    ]
    assert jobs_faults(tmp_path, b"") == ["jobs.csv: the file is empty; give a file with content"]
    assert jobs_faults(tmp_path, HEADER) == ["jobs.csv:1: there is no row under the header; give at least one row"]


def test_what_may_be_thousands_beside_decimal_commas_is_a_fault(tmp_path: Path) -> None:
    header, start = HEADER.replace(",", ";"), "1;Cyan;HB170;"
    assert rows_of(tmp_path, f"{header}\n{start}1.200;300\n")[0].image_across_mm == 1.2
    assert jobs_faults(tmp_path, f"{header}\n{start}1.200;300,5\n") == [
        "jobs.csv:2: image_across: a point with three digits beside decimal commas may mean thousands; got '1.200'; "
        "write a decimal comma"
    ]


# ---- one week, written in every way a shop writes it ----

COLUMNS = ("job", "separation", "material", "image_across", "image_around", "copies", "border", "relief", "due", "note")
FIGURES = st.decimals(min_value=1, max_value=2000, places=3).map(lambda value: f"{value:f}")
ROWS = st.lists(
    st.tuples(
        st.just("HB170"),
        FIGURES,
        FIGURES,
        st.integers(1, 10_000).map(str),
        st.sampled_from(["", "0", "5", "7.25"]),
        st.sampled_from(["", "0.5", "1.25", "deep"]),
        st.sampled_from(["", "2027-03-05", "2027-03-05T06:30:00"]),
        st.text(st.characters(blacklist_categories=["C", "Z"]), max_size=8).map(lambda text: "n" + text),
    ),
    min_size=1,
    max_size=6,
).map(lambda rows: [(str(4100 + n), "Cyan", *row) for n, row in enumerate(rows)])


def as_csv(rows: list[tuple[str, ...]], separator: str) -> str:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([comma(cell) if separator == ";" and n in (3, 4, 6, 7) else cell for n, cell in enumerate(row)])
    return out.getvalue()


def comma(cell: str) -> str:
    return cell.replace(".", ",")


def typed(cell: str, column: int) -> object:
    if column in (3, 4, 5, 6, 7) and cell and cell != "deep":
        return float(cell)
    return datetime.fromisoformat(cell) if column == 8 and cell else cell or None


def as_workbook(rows: list[tuple[str, ...]], path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(COLUMNS)
    for n, row in enumerate(rows, start=2):
        for column, cell in enumerate(row):
            made = book.active.cell(row=n, column=column + 1, value=typed(cell, column))
            if made.data_type == "f":
                made.data_type = "s"
    book.save(path)


@settings(max_examples=25, deadline=None)
@given(ROWS)
def test_commas_semicolons_tabs_byte_marks_and_workbooks_give_equal_rows(rows: list[tuple[str, ...]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        room_path = write(folder, "room.toml", SMALL_ROOM)
        room = read_room(room_path)
        plain = read_jobs(write(folder, "plain.csv", as_csv(rows, ",")), room, room_path)
        assert [row.copies for row in plain] == [int(row[5]) for row in rows]
        for separator in ";\t":
            assert read_jobs(write(folder, "other.csv", as_csv(rows, separator)), room, room_path) == plain
        marked = write(folder, "marked.csv", b"\xef\xbb\xbf" + as_csv(rows, ",").encode())
        assert read_jobs(marked, room, room_path) == plain
        as_workbook(rows, folder / "week.xlsx")
        assert read_jobs(folder / "week.xlsx", room, room_path) == plain


@settings(max_examples=50, deadline=None)
@given(st.integers(1, 60 * 64), st.integers(1, 40 * 64), st.integers(0, 64))
def test_an_inch_week_and_its_mm_week_have_equal_lengths(across: int, around: int, border: int) -> None:
    """Sixty-fourths of an inch as fractions, against the same in mm: 25.4/64 mm = 0.396875 mm exactly."""

    def mm(parts: int) -> str:
        return f"{parts * 396875 / 1_000_000:.6f}"

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fractions = f"1,Cyan,HB170,{across // 64} {across % 64}/64,{around // 64} {around % 64}/64,{border}/64\n"
        (inch,) = rows_of(folder, f"{HEADER},border\n{fractions}", INCH_ROOM)
        (metric,) = rows_of(folder, f"{HEADER},border\n1,Cyan,HB170,{mm(across)},{mm(around)},{mm(border)}\n")
        assert inch == metric


def test_eight_pieces_of_3_1_16_fill_24_1_2_inches_exactly(tmp_path: Path) -> None:
    (row,) = rows_of(tmp_path, f"{HEADER},border\n1,Cyan,HB170,3 1/16,5/8,0\n", INCH_ROOM)
    assert 8 * piece_of(row, room_of(tmp_path, INCH_ROOM)).w == to_units(24.5 * 25.4)


@pytest.mark.skipif(not WEEKS.is_dir(), reason="the benchmark weeks are not at hand")
def test_every_benchmark_week_reads_without_a_fault_and_fast() -> None:
    for folder in sorted(WEEKS.iterdir()):
        records = (folder / "jobs.csv").read_text(encoding="utf-8").count("\n") - 1
        start = time.perf_counter()
        rows, room = read_week(folder / "jobs.csv", folder / "room.toml")
        assert time.perf_counter() - start < 3
        assert len(rows) == records
        assert {row.material for row in rows} <= set(room.materials)
