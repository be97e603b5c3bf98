from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from nest.output.patterns import patterns
from nest.output.report.sheet_picture import SheetPicture, sheet_picture
from tests.output import sample_plans as samples


def picture(number: int = 0, name: str = "sheet-1") -> SheetPicture:
    pattern = patterns(samples.week())[number]
    jobs = {piece.job: f"job-{piece.job}" for plate in pattern.first.plates for piece in plate.pieces}
    return sheet_picture(pattern, samples.room(), name, jobs)


def test_every_piece_stands_in_the_drawing_under_its_job() -> None:
    kinds = re.findall(r'class="piece (job-\d+)"', picture().inside)
    plate = samples.week().sheets[0].plates[0]
    assert sorted(kinds) == sorted(f"job-{piece.job}" for piece in plate.pieces)


def test_nothing_but_hatches_has_a_name_and_those_are_the_drawings_own() -> None:
    one, other = picture(0, "sheet-1").inside, picture(1, "sheet-2").inside
    names = [re.findall(r' id="([^"]*)"', text) for text in (one, other)]
    assert names == [["sheet-1-keep-out-hatch"], ["sheet-2-keep-out-hatch"]]
    assert set(re.findall(r"url\(#([^)]*)\)", one)) == {"sheet-1-keep-out-hatch"}


def test_a_job_named_like_markup_stays_text() -> None:
    pattern = patterns(samples.hostile())[0]
    pieces = [piece for plate in pattern.first.plates for piece in plate.pieces]
    jobs = {piece.job: f"job-{n}" for n, piece in enumerate(pieces)}
    inside = sheet_picture(pattern, samples.room(), "sheet-1", jobs).inside
    assert "<script" not in inside
    root = ET.fromstring(f"<svg>{inside}</svg>")
    assert {element.tag for element in root.iter()} <= {
        "svg", "defs", "pattern", "g", "title", "rect", "line", "text", "polygon"
    }  # fmt: skip
    assert any("<script>" in (element.text or "") for element in root.iter("title"))


def test_the_drawing_has_no_style_that_the_policy_would_refuse() -> None:
    assert "style=" not in picture().inside
    assert "xmlns" not in picture().inside
