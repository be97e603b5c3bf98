from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Row
from nest.domain.room import Imager, Material, Room, Unit
from nest.output.pieces_table import pieces_csv, pieces_text
from nest.plates.pieces import Piece, piece_of

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOM = Room(
    border_mm=5.0,
    imager=Imager(max_across_mm=1000.0, max_around_mm=1000.0),
    materials={"QF170": Material(name="QF170", thickness_mm=0.067 * 25.4, base_mm=0.005 * 25.4)},
)


def piece(job: str = "1", separation: str = "Cyan", around: float = 304.8, repeat: float | None = 304.8) -> Piece:
    return piece_of(
        Row(job=job, separation=separation, material="QF170", image_across_mm=200.0, image_around_mm=around,
            repeat_mm=repeat), ROOM,
    )  # fmt: skip


def cells(pieces: Sequence[Piece], unit: Unit = Unit.MM) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(pieces_csv(pieces, unit))))


def test_the_packing_rule_of_a_label_cylinder_is_shown() -> None:
    # 96 teeth of 1/8 in circular pitch, 0.067 in plate on 0.005 in film: f = 0.9675369, 200 x 304.8 mm with 5 mm of
    # border becomes 210.0 x 304.9052 mm (arithmetic from K = 2 pi (T - B); Machinery's Handbook for the pitch)
    (line,) = cells([piece()])
    assert float(line["factor"]) == pytest.approx(0.9675369, abs=5e-8)
    assert float(line["cut_across"]) == 210.0
    assert float(line["cut_around"]) == pytest.approx(304.9052, abs=5e-5)
    assert float(line["plate_image_around"]) == pytest.approx(294.9052, abs=5e-5)
    # R - K - seam = 304.8 - 9.894755 - 2: the piece does not go round
    assert float(line["longest_around"]) == pytest.approx(292.9052, abs=5e-4)
    assert line["goes_round"] == "no"


def test_without_a_repeat_there_is_no_cylinder_to_go_round() -> None:
    (line,) = cells([piece(repeat=None)])
    assert (line["repeat"], line["factor"], line["longest_around"], line["goes_round"]) == ("", "1", "", "")
    assert pieces_text([piece(repeat=None)], Unit.MM).splitlines()[1].endswith("set   -")


def test_inches_are_written_where_the_room_writes_inches() -> None:
    (line,) = cells([piece()], Unit.INCH)
    assert (line["repeat"], line["unit"]) == ("12", "in")
    assert float(line["cut_across"]) == pytest.approx(210.0 / 25.4, abs=1e-7)


def test_columns_stay_aligned_with_long_wide_and_combining_text() -> None:
    names = ["Cyan", "藍色", "Ro\u0301se", "A very long name of a colour"]
    text = pieces_text([piece(separation=name) for name in names], Unit.MM)
    at = text.splitlines()[0].index("part")
    for name, line in zip(names, text.splitlines()[1:], strict=True):
        extra = {"藍色": -2, "Ro\u0301se": 1}.get(name, 0)
        assert line[: at + extra].rstrip().endswith(name)
        assert line[at + extra :].split()[:3] == ["QF170", "1", "200"]


def test_a_name_that_looks_like_a_formula_is_made_harmless() -> None:
    (line,) = cells([piece(job="=1+1", separation="@x")])
    assert (line["job"], line["separation"]) == ("'=1+1", "'@x")
