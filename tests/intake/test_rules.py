from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.intake.samples import HEADER, INCH_ROOM, ROW, SMALL_ROOM, cell_fault, jobs_faults, one_row, rows_of

if TYPE_CHECKING:
    from pathlib import Path

PITCHED = "pitch = 3.175\n" + SMALL_ROOM
TWO_MATERIALS = SMALL_ROOM + "[materials.XC284]\nthickness = 2.84\nbase = 0.175\n"


def test_an_unknown_material_offers_the_nearest(tmp_path: Path) -> None:
    assert cell_fault(tmp_path, "material", "HB-17O") == (
        "material: no such material in room.toml; got 'HB-17O'; did you mean 'HB170'?"
    )
    assert cell_fault(tmp_path, "material", "zzz") == (
        "material: no such material in room.toml; got 'zzz'; known here: HB170"
    )


def test_job_separation_and_part_are_unique(tmp_path: Path) -> None:
    rows = f"{HEADER},part\n1,Cyan,HB170,1,1,\n1,Cyan,HB170,1,1,P1\n2,Cyan,HB170,1,1,\n"
    assert len(rows_of(tmp_path, rows)) == 3
    assert jobs_faults(tmp_path, rows + " 1 ,Cyan,HB170,x,1,P1\n")[1] == (
        "jobs.csv:5: separation: job, separation and part must be unique, line 3 has the same; "
        "got '1' / 'Cyan' / 'P1'; raise copies for identical pieces, or name a part"
    )


@pytest.mark.parametrize(
    ("ready", "due"),
    [
        ("2027-03-05", "2027-03-05"),
        ("2027-03-05 14:00", "2027-03-05"),
        ("2027-03-05 14:00", "2027-03-05 14:00"),
        ("", "2027-03-05"),
    ],
)
def test_due_on_the_day_of_ready_or_later_is_in_order(tmp_path: Path, ready: str, due: str) -> None:
    assert one_row(tmp_path, "ready,due", f"{ready},{due}").due is not None


@pytest.mark.parametrize(("ready", "due"), [("2027-03-05", "2027-03-04"), ("2027-03-05 14:00", "2027-03-05 13:59")])
def test_due_before_ready_is_a_fault(tmp_path: Path, ready: str, due: str) -> None:
    (fault,) = jobs_faults(tmp_path, f"{HEADER},ready,due\n{ROW},{ready},{due}\n")
    assert fault.startswith("jobs.csv:2: due: must not be before ready (2027-03-05 ")
    assert fault.endswith("; correct one of the two dates")


@pytest.mark.parametrize("together", ["plate", "copies"])
def test_copies_apart_cannot_lie_on_one_plate(tmp_path: Path, together: str) -> None:
    assert one_row(tmp_path, "together,apart,copies", f"{together},yes,1").apart
    assert one_row(tmp_path, "together,apart,copies", f"{together},no,2").copies == 2
    assert jobs_faults(tmp_path, f"{HEADER},together,apart,copies\n{ROW},{together},yes,2\n") == [
        f"jobs.csv:2: apart: 2 copies cannot lie apart and on one plate (together = {together}); got 'yes'; "
        "drop apart, or drop together"
    ]


@pytest.mark.parametrize("together", ["lot", "batch", ""])
def test_copies_may_lie_apart_in_one_lot_or_batch(tmp_path: Path, together: str) -> None:
    assert one_row(tmp_path, "together,apart,copies", f"{together},yes,2").apart


# teeth: CP gears, 96 teeth of 1/8 in = 12 in = 304.8 mm ("CP Versus DP", the pitch is the repeat per tooth)


def test_teeth_alone_make_the_repeat(tmp_path: Path) -> None:
    assert one_row(tmp_path, "teeth", "96", PITCHED).repeat_mm == pytest.approx(304.8, abs=1e-9)
    inch = 'unit = "in"\npitch = 0.125\n' + INCH_ROOM.partition("\n")[2]
    assert rows_of(tmp_path, f"{HEADER},teeth\n1,Cyan,HB170,5,5,96\n", inch)[0].repeat_mm == pytest.approx(304.8)


def test_teeth_without_a_pitch_are_a_fault_also_beside_a_repeat(tmp_path: Path) -> None:
    rule, remedy = "teeth need the room's pitch", "give pitch in room.toml, or write the repeat instead"
    text = f"jobs.csv:2: teeth: {rule}; got '96'; {remedy}"
    assert jobs_faults(tmp_path, f"{HEADER},teeth\n{ROW},96\n") == [text]
    assert jobs_faults(tmp_path, f"{HEADER},repeat,teeth\n{ROW},304.8,96\n") == [text]


@pytest.mark.parametrize("repeat", ["304.75", "304.8", "304.85"])
def test_repeat_and_teeth_may_differ_by_a_twentieth_of_a_millimetre_and_the_repeat_counts(
    tmp_path: Path, repeat: str
) -> None:
    assert one_row(tmp_path, "repeat,teeth", f"{repeat},96", PITCHED).repeat_mm == float(repeat)


@pytest.mark.parametrize("repeat", ["304.7499", "304.8501"])
def test_repeat_and_teeth_further_apart_are_a_fault(tmp_path: Path, repeat: str) -> None:
    assert jobs_faults(tmp_path, f"{HEADER},repeat,teeth\n{ROW},{repeat},96\n", PITCHED) == [
        "jobs.csv:2: teeth: repeat and teeth must agree within 0.05 mm: 96 teeth make 304.8 mm, "
        f"the repeat is {repeat} mm; got '96'; correct one of them, or leave one empty"
    ]


# K = 2 * pi * (1.70 - 0.125) = 9.896017 mm (derived from geometry, case E)


def test_a_repeat_not_longer_than_k_is_a_fault(tmp_path: Path) -> None:
    remedy = "check the repeat and the material's thickness"
    assert cell_fault(tmp_path, "repeat", "9.896") == (
        f"repeat: the repeat must be longer than K = 9.896017 mm of HB170; got '9.896 mm'; {remedy}"
    )
    assert one_row(tmp_path, "repeat", "9.95").repeat_mm == 9.95


def test_a_measured_k_counts_instead_of_thickness_and_base(tmp_path: Path) -> None:
    room = SMALL_ROOM.replace("base = 0.125", "k = 10.5")
    assert "K = 10.5 mm" in cell_fault(tmp_path, "repeat", "10.5", room)
    assert one_row(tmp_path, "repeat", "10.51", room).repeat_mm == 10.51


def test_a_repeat_that_shortens_the_image_to_nothing_is_a_fault(tmp_path: Path) -> None:
    assert cell_fault(tmp_path, "repeat", "9.8961").startswith(
        "repeat: shortened by this repeat the image is less than 0.1 mm around"
    )
    assert one_row(tmp_path, "repeat,at_plate_size", "9.8961,yes").at_plate_size


def test_teeth_that_make_too_short_a_repeat_are_named_as_teeth(tmp_path: Path) -> None:
    assert cell_fault(tmp_path, "teeth", "3", PITCHED).startswith("teeth: the repeat must be longer than K")


def test_a_relief_is_less_than_the_thickness_in_the_rooms_unit(tmp_path: Path) -> None:
    assert one_row(tmp_path, "relief", "1.69").relief == 1.69
    assert cell_fault(tmp_path, "relief", "1.7") == (
        "relief: must be less than the thickness of HB170, 1.7 mm; got '1.7'; relief is thickness less floor"
    )
    assert "0.067 in" in jobs_faults(tmp_path, f"{HEADER},relief\n1,Cyan,HB170,5,5,0.5\n", INCH_ROOM)[0]


def test_rows_on_one_plate_agree_in_material_and_groups(tmp_path: Path) -> None:
    header = f"{HEADER},together,relief,resolution\n"
    agree = "1,Cyan,HB170,1,1,plate,0.5,2540\n1,Black,HB170,1,1,plate,0.50,2540.0\n1,White,XC284,1,1,,0.6,4000\n"
    assert len(rows_of(tmp_path, header + agree, TWO_MATERIALS)) == 3
    differ = "2,Cyan,HB170,1,1,plate,0.5,2540\n2,Black,XC284,1,1,plate,0.6,\n"
    rule = "rows of one job with together = plate must agree: line 5 has "
    assert jobs_faults(tmp_path, header + agree + differ, TWO_MATERIALS) == [
        f"jobs.csv:6: {column}: {rule}{want}; got {got}; make them agree, or drop together"
        for column, want, got in (
            ("material", "'HB170'", "'XC284'"),
            ("relief", "'0.5'", "'0.6'"),
            ("resolution", "'2540'", "''"),
        )
    ]


def test_what_the_room_does_not_group_by_may_differ_on_one_plate(tmp_path: Path) -> None:
    rows = f"{HEADER},together,relief\n1,Cyan,HB170,1,1,plate,0.5\n1,Black,HB170,1,1,plate,0.6\n"
    assert len(rows_of(tmp_path, rows, 'group_by = ["surface"]\n' + SMALL_ROOM)) == 2
