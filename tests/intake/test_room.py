from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from nest.domain.job import Turn
from nest.domain.room import Costs, Cutting, Imager, Material, Offcut, Room, Sheet, Station, Unit
from nest.intake import read_room
from tests.intake.samples import IMAGER, INCH_ROOM, MATERIAL, SMALL_ROOM, room_faults, room_of, write

if TYPE_CHECKING:
    from pathlib import Path

FULL = """
unit = "mm"
currency = "SEK"
cutting = "free"
gap = 3.0
border = 5.0
bevel_deg = 30
turn = "Free"
group_by = ["relief", "resolution", "surface"]
seam = 1.6
pitch = 3.175
[imager]
max_across = 1524.0
max_around = 1067.0
min_across = 200.0
min_around = 210.0
clamp = 12.0
drum_tape = 10.0
trim = 8.0
rpm = 300
beams = 32
border_under_hold = true
[stations.washer]
max_a = 1200.0
max_b = 1600.0
min_a = 100.0
min_b = 150.0
bar = 15.0
[stations.dryer]
[materials.HB170]
thickness = 1.70
base = 0.125
[materials.XC284]
thickness = 2.84
k = 17.1
gap = 4
border = 10
trim = 12
bevel_deg = 0
[[sheets]]
id = "HB170 900x1200"
material = "HB170"
across = 900.0
around = 1200.0
price = 86.40
on_hand = 12
keep_back = 1
per_box = 10
delivery_days = 5
lot = "L-7"
expiry = 2027-06-30
[[offcuts]]
id = "F-0031"
material = "HB170"
across = 410.0
around = 880.0
value = 18.0
relief = 0.6
lot = "L-6"
expiry = 2027-05-31
[costs]
plate = 12.0
process_per_m2 = 14.0
cut = 1.50
offcut_value = 0.6
offcut_handling = 2.0
offcut_full_side = 400.0
offcut_min_side = 250.0
offcut_min_area_m2 = 0.12
offcuts_per_sheet = 3
raw_min_strip = 50.0
raw_parts_max = 5
[columns]
Colour = "separation"
ignore = ["Operator"]
"""


def test_a_room_with_required_keys_only_has_every_default(tmp_path: Path) -> None:
    assert room_of(tmp_path, SMALL_ROOM) == Room(
        unit=Unit.MM,
        currency="EUR",
        cutting=Cutting.GUILLOTINE,
        gap_mm=0.0,
        border_mm=0.0,
        bevel_deg=0.0,
        turn=Turn.SET,
        group_by=("relief", "resolution"),
        seam_mm=2.0,
        pitch_mm=None,
        imager=Imager(max_across_mm=1524.0, max_around_mm=1067.0),
        materials={"HB170": Material(name="HB170", thickness_mm=1.7, base_mm=0.125)},
        costs=Costs(),
    )


def test_every_key_is_read(tmp_path: Path) -> None:
    found = read_room(write(tmp_path, "room.toml", FULL))
    assert (found.columns, found.ignore) == ({"Colour": "separation"}, ("Operator",))
    assert found.room == Room(
        currency="SEK",
        cutting=Cutting.FREE,
        gap_mm=3.0,
        border_mm=5.0,
        bevel_deg=30.0,
        turn=Turn.FREE,
        group_by=("relief", "resolution", "surface"),
        seam_mm=1.6,
        pitch_mm=3.175,
        imager=Imager(
            max_across_mm=1524.0,
            max_around_mm=1067.0,
            min_across_mm=200.0,
            min_around_mm=210.0,
            clamp_mm=12.0,
            drum_tape_mm=10.0,
            trim_mm=8.0,
            rpm=300.0,
            beams=32,
            border_under_hold=True,
        ),
        stations=(
            Station(name="washer", max_a_mm=1200.0, max_b_mm=1600.0, min_a_mm=100.0, min_b_mm=150.0, bar_mm=15.0),
            Station(name="dryer", count=10),
        ),
        materials={
            "HB170": Material(name="HB170", thickness_mm=1.7, base_mm=0.125),
            "XC284": Material(
                name="XC284", thickness_mm=2.84, k_mm=17.1, gap_mm=4.0, border_mm=10.0, trim_mm=12.0, bevel_deg=0.0
            ),
        },
        sheets=(
            Sheet(
                id="HB170 900x1200",
                material="HB170",
                across_mm=900.0,
                around_mm=1200.0,
                price=86.4,
                on_hand=12,
                keep_back=1,
                per_box=10,
                delivery_days=5,
                lot="L-7",
                expiry=date(2027, 6, 30),
            ),
        ),
        offcuts=(
            Offcut(
                id="F-0031",
                material="HB170",
                across_mm=410.0,
                around_mm=880.0,
                value=18.0,
                relief=0.6,
                lot="L-6",
                expiry=date(2027, 5, 31),
            ),
        ),
        costs=Costs(
            plate=12.0,
            process_per_m2=14.0,
            cut=1.5,
            offcut_value=0.6,
            offcut_handling=2.0,
            offcut_full_side_mm=400.0,
            offcut_min_side_mm=250.0,
            offcut_min_area_m2=0.12,
            offcuts_per_sheet=3,
            raw_min_strip_mm=50.0,
            raw_parts_max=5,
        ),
    )


def test_an_inch_room_converts_lengths_but_not_areas_money_counts_and_reliefs(tmp_path: Path) -> None:
    extra = """[[offcuts]]
material = "HB170"
across = 24.5
around = 30
value = 5
relief = 0.02
[costs]
process_per_m2 = 14.0
offcut_min_area_m2 = 0.12
raw_min_strip = 2
"""
    room = room_of(tmp_path, "pitch = 0.125\nborder = 0.25\n" + INCH_ROOM + extra)
    assert (room.pitch_mm, room.border_mm, room.imager.max_across_mm) == (3.175, 6.35, 1524.0)
    assert room.materials["HB170"].thickness_mm == 1.7018
    assert (room.offcuts[0].across_mm, room.offcuts[0].relief, room.offcuts[0].value) == (622.3, 0.02, 5.0)
    assert (room.costs.process_per_m2, room.costs.offcut_min_area_m2, room.costs.raw_min_strip_mm) == (14.0, 0.12, 50.8)


def test_the_default_seam_is_two_millimetres_in_an_inch_room_too(tmp_path: Path) -> None:
    assert room_of(tmp_path, INCH_ROOM).seam_mm == 2.0
    assert room_of(tmp_path, "seam = 0.125\n" + INCH_ROOM).seam_mm == 3.175


def test_equal_rooms_in_inches_and_millimetres_are_equal_but_for_the_unit_and_ids(tmp_path: Path) -> None:
    body = "[imager]\nmax_across = {}\nmax_around = {}\n[materials.M]\nthickness = {}\nbase = {}\n"
    sheet = '[[sheets]]\nid = "s"\nmaterial = "M"\nacross = {}\naround = {}\nprice = 9\n'
    inch = room_of(tmp_path, ('unit = "in"\n' + body + sheet).format(60, 42, 0.067, 0.007, 25.5, 30))
    metric = room_of(tmp_path, (body + sheet).format(1524, 1066.8, 1.7018, 0.1778, 647.7, 762))
    assert (inch.imager, inch.materials, inch.sheets) == (metric.imager, metric.materials, metric.sheets)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("gap = \n", "room.toml:1: column 7: not valid TOML (Invalid value); correct the line; text stands in quotes"),
        (
            'a = 1\nunit = "mm\n',
            "room.toml:2: column 11: not valid TOML (Illegal character '\\n'); correct the line; text stands in quotes",
        ),
        (
            "gap = 1\ngroup_by = [",
            "room.toml:2: end of the file: not valid TOML (Invalid value); correct the line; text stands in quotes",
        ),
        ("x = " + "[" * 5000, "room.toml: must be a plain TOML file; look for figures of thousands of digits"),
        ("x = " + "9" * 5000, "room.toml: must be a plain TOML file; look for figures of thousands of digits"),
    ],
)
def test_a_syntax_error_is_one_fault_with_its_place(tmp_path: Path, text: str, fault: str) -> None:
    (found,) = room_faults(tmp_path, text)
    assert found.startswith(fault)


def test_a_byte_mark_and_windows_line_ends_change_nothing(tmp_path: Path) -> None:
    path = write(tmp_path, "room.toml", b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert read_room(path) == read_room(write(tmp_path, "plain.toml", FULL))
    (fault,) = room_faults(tmp_path, (SMALL_ROOM + "bse = 1\n").replace("\n", "\r\n"))
    assert fault.startswith("room.toml:7: materials.HB170.bse: unknown key")


def test_a_binary_room_and_one_in_another_encoding_are_one_fault_each(tmp_path: Path) -> None:
    assert room_faults(tmp_path, b"\x00\x01") == [
        "room.toml: must be UTF-8 text; got a binary file; save it as plain UTF-8 text"
    ]
    assert room_faults(tmp_path, 'currency = "kr\xe9"'.encode("latin-1")) == [
        "room.toml:1: must be UTF-8 text; got byte 0xe9; save it as plain UTF-8 text"
    ]


def test_an_empty_room_and_one_of_comments_only_say_what_is_missing(tmp_path: Path) -> None:
    assert room_faults(tmp_path, "") == ["room.toml: the file is empty; give a file with content"]
    assert room_faults(tmp_path, "# nothing\n") == [
        "room.toml: the required table [imager] is missing; add [imager] with max_across and max_around",
        "room.toml: the required table [materials] is missing; "
        "add [materials] such as [materials.HB170] with thickness and base",
    ]


def test_all_faults_of_the_room_come_at_once_in_line_order(tmp_path: Path) -> None:
    text = 'gpa = 1\nborder = -1\ncutting = "knife"\nturn = 5\n' + IMAGER + "clmap = 1\n" + MATERIAL + "[cost]\n"
    places = [fault.split(": ")[:2] for fault in room_faults(tmp_path, text)]
    assert places == [
        ["room.toml:1", "gpa"],
        ["room.toml:2", "border"],
        ["room.toml:3", "cutting"],
        ["room.toml:4", "turn"],
        ["room.toml:8", "imager.clmap"],
        ["room.toml:12", "cost"],
    ]


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("gpa = 1", "gpa: unknown key; got 'gpa'; did you mean 'gap'?"),
        ('unit = "cm"', "unit: must be one of mm, in; got 'cm'; known here: in, mm"),
        ("bevel_deg = 75.1", "bevel_deg: must be at most 75; got 75.1; correct the figure"),
        ("pitch = 0", "pitch: must be above 0; got 0; correct the figure"),
        ("seam = -1", "seam: must be 0 or more; got -1; correct the figure"),
        ('currency = ""', "currency: must not be empty; got ''; correct the text"),
        (
            'group_by = "relief"',
            "group_by: must be a list of column names; got 'relief'; write it like [\"relief\", \"resolution\"]",
        ),
        (
            'group_by = ["releif"]',
            "group_by: must name columns among relief, resolution, surface; got 'releif'; did you mean 'relief'?",
        ),
        ('group_by = ["relief", "relief"]', "group_by: must name each column once; got 'relief'; remove one"),
        ("sheets = 3", "sheets: must be an array of tables; got 3; head each entry with [[sheets]]"),
        ("stations = 3", "stations: must be a table; got 3; head it with [stations]"),
        ("costs = []", "costs: must be a table; got a list; head it with [costs]"),
    ],
)
def test_a_wrong_top_key_is_one_fault(tmp_path: Path, line: str, fault: str) -> None:
    assert room_faults(tmp_path, line + "\n" + SMALL_ROOM) == ["room.toml:1: " + fault]


def test_grouping_by_nothing_is_allowed(tmp_path: Path) -> None:
    assert room_of(tmp_path, "group_by = []\n" + SMALL_ROOM).group_by == ()


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ('Colour = "seperation"', "columns.Colour: must name a column of ours; got 'seperation'; "
         "did you mean 'separation'?"),
        ("Colour = 1", "columns.Colour: must name a column of ours; got 1; write the column in quotes"),
        ('ignore = ["Colour", 1]', "columns.ignore: must be a list of headers; got a list; "
         'write it like ["Operator"], or ["*"] for all'),
        ('ignore = "Operator"', "columns.ignore: must name a column of ours; got 'Operator'; did you mean"),
    ],
)
def test_wrong_header_mappings_are_faults(tmp_path: Path, line: str, fault: str) -> None:
    (found,) = room_faults(tmp_path, SMALL_ROOM + "[columns]\n" + line + "\n")
    assert found.startswith("room.toml:8: " + fault)


def test_a_header_is_mapped_or_ignored_but_not_both(tmp_path: Path) -> None:
    assert room_faults(tmp_path, SMALL_ROOM + '[columns]\nA = "job"\nignore = ["A", "B"]\n') == [
        "room.toml:9: columns.ignore: a header is either mapped or ignored; got 'A'; remove one of them"
    ]


def test_a_shops_own_column_may_be_called_ignore(tmp_path: Path) -> None:
    found = read_room(write(tmp_path, "room.toml", SMALL_ROOM + '[columns]\nignore = "note"\n'))
    assert (found.columns, found.ignore) == ({"ignore": "note"}, ())
