from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from nest.domain.room import Unit
from nest.domain.stock import CutState, Delivery, Found
from nest.errors import InputError
from nest.intake.stock_tables import CUT_COLUMNS, STOCK_COLUMNS, read_counts, read_cuts, read_stock_list
from nest.output.stock_csv import STOCK_HEAD

if TYPE_CHECKING:
    from pathlib import Path

    from nest.intake.stock_tables import StockList

DAY = date(2027, 3, 1)
HEAD = "kind,id,material,across,around,on_hand,price,lot,expiry,received,place,relief,parent\n"


def stock_list(folder: Path, text: str, unit: Unit = Unit.MM) -> StockList:
    path = folder / "stock.csv"
    path.write_bytes(text.encode())
    return read_stock_list(path, unit, DAY)


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        stock_list(folder, text)
    return [str(fault).removeprefix(str(folder / "stock.csv")) for fault in caught.value.faults]


def test_what_is_exported_is_what_comes_in() -> None:
    assert STOCK_COLUMNS == STOCK_HEAD


def test_lots_and_offcuts_are_read_with_all_that_is_stated(tmp_path: Path) -> None:
    got = stock_list(tmp_path, HEAD + (
        "sheet,,QF170,900,1200,12,86.40,A6-118,2027-09-30,2027-01-11,B2,,\n"
        "offcut,F-7,QF170,410,880.5,1,12,,,,,0.6,L-1\n"
    ))  # fmt: skip
    assert got.deliveries == (
        Delivery(material="QF170", across_mm=900.0, around_mm=1200.0, sheets=12, price_cents=8640,
                 received=date(2027, 1, 11), lot="A6-118", expiry=date(2027, 9, 30), place="B2"),
    )  # fmt: skip
    assert got.offcuts == (
        Found(id="F-7", material="QF170", across_mm=410.0, around_mm=880.5, value_cents=1200, made=DAY, relief=0.6,
              parent="L-1"),
    )  # fmt: skip


def test_inches_semicolons_and_decimal_commas_are_read(tmp_path: Path) -> None:
    got = stock_list(
        tmp_path, "kind;material;across;around;on_hand;price\nsheet;QF170;24,5;30 1/2;3;86,40\n", Unit.INCH
    )
    (one,) = got.deliveries
    assert (one.across_mm, one.around_mm, one.price_cents) == (622.3, 774.7, 8640)


def test_a_parent_comes_before_what_was_cut_from_it(tmp_path: Path) -> None:
    got = stock_list(
        tmp_path, HEAD + "offcut,F-9,Q,4,8,1,1,,,,,,F-7\noffcut,F-8,Q,4,8,1,1,,,,,,\noffcut,F-7,Q,4,8,1,1,,,,,,F-8\n"
    )
    assert [one.id for one in got.offcuts] == ["F-8", "F-7", "F-9"]


def test_formulas_and_control_characters_stay_text(tmp_path: Path) -> None:
    cells = ["=1+1", "+49 30", "-x", "@SUM(A1)", "'=2", "\uff1dx", "'plain'", "=cmd|' /C calc'!A0"]
    for cell in cells:
        row = f'sheet,,QF170,900,1200,1,1,"{cell}",,,"{cell}",,\n'
        (one,) = stock_list(tmp_path, HEAD + row).deliveries
        want = cell[1:] if cell == "'=2" else cell
        assert (one.lot, one.place) == (want, want)
    # a tab or a line break inside a cell becomes a space, as in a jobs file; other control characters are a fault
    (one,) = stock_list(tmp_path, HEAD + 'sheet,,QF170,900,1200,1,1,"a\tb\r\nc",,,"\t=1",,\n').deliveries
    assert (one.lot, one.place) == ("a b c", "=1")
    assert faults(tmp_path, HEAD + 'sheet,,QF170,900,1200,1,1,"bell\x07",,,,,\n') == [
        ":2: lot: must not hold the control character U+0007; got 'bell\\x07'; remove it"]  # fmt: skip


def test_every_fault_is_reported_at_once_with_its_place(tmp_path: Path) -> None:
    assert faults(tmp_path, HEAD + (
        "box,,QF170,900,1200,12,86.40,,,,,,\n"
        "sheet,L-1,,x,0,1.5,86.405,,30.09.2027,,,,\n"
        "sheet,L-1,QF170,900,1200,1,-3,,,,,,\n"
        "offcut,F-1,QF170,900,1200,2,3,,2027-02-30,,,-1,\n"
        "offcut,F-1,QF170,900,1200,1,3,,,,,,\n"
    )) == [
        ":2: kind: must be sheet or offcut; got 'box'; write sheet or offcut",
        ":3: on_hand: must be a whole number from 0 to 1000000; got '1.5'; write a count",
        ":3: material: must not be empty; fill the cell in",
        ":3: across: must be a number; got 'x'; write a figure such as 304.8",
        ":3: around: must be above 0; got '0'; write a length above 0",
        ":3: price: must have at most two decimals; got '86.405'; round it to cents",
        ":3: expiry: must be an ISO date; got '30.09.2027'; write a date such as 2027-06-30",
        ":4: price: must be from 0 to 1000000000; got '-3'; correct the amount",
        ":5: expiry: there is no such date; got '2027-02-30'; write a date such as 2027-06-30",
        ":5: relief: must be above 0; got '-1'; write the relief in the ledger's unit",
        ":5: on_hand: an offcut is there once; got '2'; write 1",
        ":6: id: the id must be unique, line 5 has it too; got 'F-1'; correct one of them",
    ]  # fmt: skip


def test_unknown_and_missing_columns_are_faults(tmp_path: Path) -> None:
    assert faults(tmp_path, "kind,material,across,arround,on_hand,price\nsheet,Q,1,1,1,1\n")[:2] == [
        ":1: column 4: unknown column; got 'arround'; did you mean 'around'?",
        ":1: the required column 'around' is missing; add it",
    ]


def test_a_count_reads_what_was_counted_and_passes_over_the_rest(tmp_path: Path) -> None:
    path = tmp_path / "counted.csv"
    path.write_text(
        "kind,id,material,across,around,on_hand,counted,price,place\n"
        "sheet,L-0001,QF170,900,1200,12,11,86.40,B2\n"
        "sheet,L-0002,QF170,900,1200,5,,86.40,\n"
        "offcut,F-0001,QF170,410,880,1,0,12,\n"
        "sheet,,QF170,600,800,,4,30,B3\n"
        "offcut,,QF170,300,400,,1,5,\n"
        "offcut,,QF170,300,400,,0,5,\n"
    )
    got = read_counts(path, Unit.MM, DAY)
    assert [(one.ref, one.count, one.place) for one in got] == [
        ("L-0001", 11, "B2"), ("F-0001", 0, ""), (None, 4, "B3"), (None, 1, "")]  # fmt: skip
    assert isinstance(got[2].fresh, Delivery)
    assert got[2].fresh.sheets == 4
    assert isinstance(got[3].fresh, Found)


def test_one_thing_counted_twice_is_a_fault(tmp_path: Path) -> None:
    path = tmp_path / "counted.csv"
    path.write_text("id,counted\nL-0001,3\nL-0001,4\nF-1,-1\n")
    with pytest.raises(InputError) as caught:
        read_counts(path, Unit.MM, DAY)
    assert [fault.rule for fault in caught.value.faults] == [
        "line 2 counts it too",
        "must be a whole number from 0 to 1000000",
    ]


def test_an_as_cut_file_is_read_and_its_faults_told(tmp_path: Path) -> None:
    path = tmp_path / "cut.csv"
    path.write_text(
        "sheet,rest,state,across,around,source,place,note\n"
        "S01,S01-R1,kept,900,395,,R1,blunt knife\nS02,,Damaged,,,,,=1\nS03,,drawn,,,L-0002,,\n"
    )
    first, second, third = read_cuts(path, Unit.MM)
    assert (first.state, first.across_mm, first.around_mm, first.place, first.line) == (
        CutState.KEPT,
        900.0,
        395.0,
        "R1",
        2,
    )
    assert (second.state, second.note, third.source) == (CutState.DAMAGED, "=1", "L-0002")
    path.write_text("sheet,rest,state,across,around\n,S01-R1,kept,,395\nS02,,lost,,\nS03,,drawn,,\nS04,,scrap,,\n")
    with pytest.raises(InputError) as caught:
        read_cuts(path, Unit.MM)
    assert [(fault.line, fault.where) for fault in caught.value.faults] == [
        (2, "sheet"), (2, "across"), (3, "state"), (4, "source"), (5, "rest")]  # fmt: skip
    assert len(CUT_COLUMNS) == 8
