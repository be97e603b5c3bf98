from __future__ import annotations

from typing import TYPE_CHECKING

from nest.intake.columns import COLUMNS, HeaderMap, find_columns
from nest.intake.faults import FaultList
from nest.intake.table import Line, Table
from tests.intake.samples import HEADER, ROW, SMALL_ROOM, jobs_faults, rows_of

if TYPE_CHECKING:
    from pathlib import Path

MAPPED = SMALL_ROOM + '[columns]\nColour = "separation"\nColor = "separation"\nignore = ["Operator"]\n'


def test_every_column_of_the_contract_is_known() -> None:
    listed = """job separation part material image_across image_around repeat teeth at_plate_size copies
    border border_lead border_tail border_left border_right turn together apart alone need relief resolution surface
    ready due outline artwork customer title press note"""
    assert list(COLUMNS) == listed.split()


def test_own_headers_are_mapped_and_ignored_ones_passed_over(tmp_path: Path) -> None:
    (row,) = rows_of(tmp_path, HEADER.replace("separation", " Colour ") + ",Operator\n" + ROW + ",Kim\n", MAPPED)
    assert row.separation == "Cyan"


def test_an_unknown_header_offers_the_nearest_of_ours_and_of_the_shops_own(tmp_path: Path) -> None:
    fault = "unknown column; got {}; did you mean '{}'? [columns] in the room file maps or ignores own headers"
    assert jobs_faults(tmp_path, f"{HEADER},Copies,colors\n{ROW},1,x\n", MAPPED) == [
        "jobs.csv:1: column 6: " + fault.format("'Copies'", "copies"),
        "jobs.csv:1: column 7: " + fault.format("'colors'", "Color"),
    ]


def test_a_star_passes_over_every_unknown_header_but_reads_the_known(tmp_path: Path) -> None:
    room = SMALL_ROOM + '[columns]\nignore = ["*"]\n'
    (row,) = rows_of(tmp_path, f"{HEADER},whatever,copies\n{ROW},x,3\n", room)
    assert row.copies == 3


def test_an_ignored_header_of_ours_is_passed_over(tmp_path: Path) -> None:
    room = SMALL_ROOM + '[columns]\nignore = ["note"]\n'
    (row,) = rows_of(tmp_path, f"{HEADER},note\n{ROW},\x07\n", room)
    assert row.note == ""


def test_a_header_given_twice_or_mapped_twice_is_a_fault(tmp_path: Path) -> None:
    remedy = "keep one, or ignore the other in [columns] of the room file"
    assert jobs_faults(tmp_path, f"{HEADER},job\n{ROW},1\n") == [
        f"jobs.csv:1: column 6: two headers mean the column 'job'; got 'job' and 'job'; {remedy}"
    ]
    assert jobs_faults(tmp_path, f"{HEADER},Colour\n{ROW},x\n", MAPPED) == [
        f"jobs.csv:1: column 6: two headers mean the column 'separation'; got 'separation' and 'Colour'; {remedy}"
    ]


def test_a_missing_required_column_is_a_fault_each(tmp_path: Path) -> None:
    remedy = "add it, or map your own header to it in [columns] of the room file"
    assert jobs_faults(tmp_path, "job,material,image_across\n1,HB170,5\n") == [
        f"jobs.csv:1: the required column 'separation' is missing; {remedy}",
        f"jobs.csv:1: the required column 'image_around' is missing; {remedy}",
    ]


def test_without_the_room_unknown_and_missing_headers_are_not_judged() -> None:
    table = Table(header=("job", "Colour"), header_line=1, lines=(Line(number=2, cells=("1", "x")),))
    faults = FaultList("f")
    assert find_columns(table, None, faults) == {"job": 0}
    assert not faults


def test_a_mapping_wins_over_a_column_of_ours() -> None:
    table = Table(header=("note", "title"), header_line=1, lines=())
    faults = FaultList("f")
    found = find_columns(table, HeaderMap(columns={"note": "title", "title": "note"}), faults)
    assert found == {"title": 0, "note": 1}
