"""A timetable as text, tables, charts and cards."""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import pytest

from nest.calendar.timetable import When, make_timetable
from nest.domain.line import Line
from nest.domain.room import Guides, Paper, Room, Unit
from nest.output.drawing import FONT
from nest.output.timetable.cards import plate_cards
from nest.output.timetable.clock import clock, day_words, moment
from nest.output.timetable.tables import CSV_HEAD, timetable_csv, timetable_json
from nest.output.timetable.text import timetable_text
from nest.output.timetable.wall import plates_chart, stations_chart
from tests.calendar.line_plans import THICK, hand_plan, invented_sizes, line_room, rows_of
from tests.output.browsing import opened

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.plan import Plan
    from nest.domain.timetable import Timetable

MONDAY = datetime(2027, 3, 1, 6)
SVG = "{http://www.w3.org/2000/svg}"


def table_of(plan: Plan, room: Room, start: datetime | None = MONDAY, batch: str = "") -> Timetable:
    return make_timetable(plan, room, rows_of(plan), When(batch=batch, start=start), 0.02)


PLAN = hand_plan([("QF170", 600.0, 700.0), ("QF170", 580.0, 800.0), ("QF284", 900.0, 1200.0)], cut=True)
ROOM = line_room(Line(operators=2))
TABLE = table_of(PLAN, ROOM)


def test_clocks_count_days_and_name_them_where_they_are_stated() -> None:
    assert (clock(TABLE, 90.6), clock(TABLE, 24 * 60.0 + 5)) == ("07:31", "+1 06:05")
    assert day_words(TABLE, 24 * 60.0 + 5) == "Tue 2027-03-02 06:05"
    bare = replace(TABLE, start=None)
    assert (clock(bare, 18 * 60.0), day_words(bare, 18 * 60.0), moment(bare, 1.0)) == ("+1 00:00", "day 2 00:00", None)


def test_the_text_tells_the_end_the_bottleneck_the_loads_and_every_stay() -> None:
    text = timetable_text(TABLE, Unit.MM)
    assert text.startswith("TIMETABLE of all plates of the plan: 3 plates in 2 drum loads\n  starts               Mon ")
    assert re.search(r"^  last ready to mount  Mon 2027-03-01 \d\d:\d\d, S0\d-A, after .*; (no timetable ends|within)",
                     text, re.MULTILINE)  # fmt: skip
    assert "S02-A at 0 on the ruler, taped 715 behind the clamp line, laser from 10 across / 729 around" in " ".join(
        text.split()
    )
    for plate in TABLE.plates:
        ins = " ".join(re.findall(rf"^  {plate.plate}  in +(.*)$", text, re.MULTILINE)).split()
        assert ins == [clock(TABLE, visit.start) for visit in plate.visits]
    assert max(len(line) for line in text.splitlines()) <= 130


def test_plates_that_miss_their_batchs_end_come_on_top() -> None:
    late = replace(TABLE, end=datetime(2027, 3, 1, 8))
    text = timetable_text(late, Unit.MM)
    assert text.index("READY ONLY AFTER THE BATCH'S END at 08:00") < text.index("DRUM LOADS")
    assert "3 plates of 3: S01-A (Mon 2027-03-01 " in text


def test_the_csv_has_a_line_for_each_stay_with_times_that_add_up() -> None:
    rows = list(csv.DictReader(io.StringIO(timetable_csv(TABLE))))
    assert tuple(rows[0]) == CSV_HEAD
    assert len(rows) == sum(len(plate.visits) for plate in TABLE.plates)
    for row in rows:
        minutes = (datetime.fromisoformat(row["leaves"]) - datetime.fromisoformat(row["enters"])).total_seconds() / 60
        assert minutes == pytest.approx(float(row["to_minute"]) - float(row["from_minute"]), abs=0.03)
    assert {row["enters"] for row in csv.DictReader(io.StringIO(timetable_csv(replace(TABLE, start=None))))} == {""}
    # a name that a spreadsheet would run stays text
    odd = replace(TABLE, batch="=1+1")
    assert next(csv.DictReader(io.StringIO(timetable_csv(odd))))["batch"] == "'=1+1"


def test_the_document_tells_everything_a_program_needs() -> None:
    (told,) = json.loads(timetable_json((TABLE,)))["timetables"]
    assert (told["start"], told["end"], told["optimal"]) == ("2027-03-01T06:00:00", None, TABLE.gap == 0)
    assert told["bound"] <= told["makespan"]
    assert [plate["plate"] for plate in told["plates"]] == ["S01-A", "S02-A", "S03-A"]
    assert told["plates"][0]["visits"][0]["step"] == "cutting"
    assert not any(plate["late"] for plate in told["plates"])


def bars(svg: str) -> list[str]:
    """Return what pointing at each bar shows."""
    return [node.text or "" for node in ET.fromstring(svg).iterfind(f".//{SVG}rect/{SVG}title")]


def test_the_plates_chart_has_a_bar_for_each_stay_and_every_ready_time() -> None:
    (svg,) = plates_chart(TABLE, Paper.A3)
    told = bars(svg)
    assert len(told) == sum(len(plate.visits) for plate in TABLE.plates)
    for plate in TABLE.plates:
        for visit in plate.visits:
            assert any(one.startswith(f"{plate.plate}: ") and f"{clock(TABLE, visit.start)} to " in one for one in told)
        assert f">{clock(TABLE, plate.ready)}<" in svg
    assert 'width="420mm" height="297mm"' in svg
    assert 'width="279.4mm" height="215.9mm"' in plates_chart(TABLE, Paper.LETTER)[0]
    assert f'font-family="{FONT}"' in svg


def test_the_stations_chart_draws_what_goes_together_once() -> None:
    (svg,) = stations_chart(TABLE, Paper.A3)
    loads = [one for one in bars(svg) if ": imaging, " in one]
    assert len(loads) == len(TABLE.loads) == 2
    assert ">operators<" in svg
    assert ">L1<" in svg


def test_charts_of_many_plates_go_on_on_further_pages() -> None:
    many = replace(TABLE, plates=tuple(replace(TABLE.plates[0], plate=f"P{n:03d}") for n in range(100)))
    pages = plates_chart(many, Paper.A4)
    assert len(pages) > 1
    assert sum(len(bars(page)) for page in pages) == 100 * len(TABLE.plates[0].visits)
    assert f"(1 of {len(pages)})" in pages[0]


@pytest.mark.parametrize("paper", [Paper.A3, Paper.LETTER])
def test_no_words_of_a_chart_of_25_plates_overlap_or_leave_the_page(tmp_path: Path, paper: Paper) -> None:
    plan = hand_plan(invented_sizes(25, 1), cut=True)
    table = table_of(plan, ROOM)
    with opened() as browser:
        for name, pages in (("plates", plates_chart(table, paper)), ("stations", stations_chart(table, paper))):
            for svg in pages:
                path = tmp_path / f"{name}.svg"
                path.write_text(svg, encoding="utf-8")
                page = browser.new_page(viewport={"width": 1600, "height": 1200})
                page.goto(path.as_uri())
                boxes = page.evaluate(
                    "[...document.querySelectorAll('text')].map(t => {const b = t.getBoundingClientRect();"
                    "return [b.left, b.top, b.right, b.bottom, t.textContent]})"
                )
                size = page.evaluate("(() => {const b = document.documentElement.getBoundingClientRect();"
                                     "return [b.right, b.bottom]})()")  # fmt: skip
                page.close()
                assert all(b[0] >= 0 and b[2] <= size[0] and b[3] <= size[1] for b in boxes)
                # boxes carry some air above capitals, so a little may overlap
                clashes = [
                    (a[4], b[4]) for n, a in enumerate(boxes) for b in boxes[n + 1 :]
                    if a[0] < b[2] - 1 and b[0] < a[2] - 1 and a[1] < b[3] - 3 and b[1] < a[3] - 3
                ]  # fmt: skip
                assert clashes == []


# ---- cards ----


def cards(plan: Plan, room: Room) -> str:
    return plate_cards(table_of(plan, room), plan, room, rows_of(plan), "abc123")


def test_a_card_tells_size_target_drum_and_cautions() -> None:
    page = cards(PLAN, ROOM)
    assert page.count('<section class="card"') == 3
    assert "KEY IN across <b>600</b> · around <b>700</b> mm" in page
    assert "floor 1.2 mm, relief 0.5 mm; back exposure 60 s" in page
    assert "with S02-A at 0" in page
    assert "at 10 mm on the ruler and 14 mm from the clamp line: behind clamp, tape and trim" in page
    assert "lead edge taped 715 mm behind the clamp line" in page
    for words in ("thickness measured", "floor measured", "initials", "Local codes, the material&#39;s own data sheet"):
        assert words in page
    assert "Two people" not in page


def test_a_heavy_plate_takes_two_people_and_an_inch_room_its_unit() -> None:
    thick = replace(THICK, thickness_mm=12.0)
    plan = hand_plan([("QF284", 1000.0, 1200.0)])
    page = cards(plan, replace(ROOM, materials={"QF284": replace(thick, relief=1.0)}))
    # 1.2 m2 * (11.822 mm polymer + 1.39 * 0.178 mm film) = 14.5 kg
    assert "about 14.5 kg" in page
    assert "Two people lift this plate." in page
    materials = {"QF284": replace(THICK, relief=0.028)}
    inches = replace(ROOM, unit=Unit.INCH, guides=Guides(fractions=16), materials=materials)
    page = cards(hand_plan([("QF284", 508.0, 762.0)]), inches)
    assert "KEY IN across <b>20</b> · around <b>30</b> in" in page


def test_cards_print_one_to_a_page(tmp_path: Path) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    path = tmp_path / "cards.html"
    path.write_text(cards(PLAN, ROOM), encoding="utf-8")
    with opened() as browser:
        page = browser.new_page()
        page.goto(path.as_uri())
        page.pdf(path=str(tmp_path / "cards.pdf"), prefer_css_page_size=True)
        page.close()
    document = pdfium.PdfDocument(tmp_path / "cards.pdf")
    sizes = [tuple(round(side / 72 * 25.4) for side in document[n].get_size()) for n in range(len(document))]
    document.close()
    assert sizes == [(148, 210)] * 3
