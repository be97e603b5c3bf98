from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.domain.job import Need, Row, Together, Turn
from nest.domain.room import Room
from nest.domain.standing import Standing
from nest.errors import InputError
from nest.intake import read_week
from nest.output.inputs_file import Inputs, dump_inputs, load_inputs

if TYPE_CHECKING:
    from pathlib import Path

ROOM = """\
unit = "in"
[imager]
max_across = 60
max_around = 42
beams = 32
[stations.washer]
max_a = 45
[materials."QF 170"]
thickness = 0.067
base = 0.005
[[sheets]]
material = "QF 170"
across = 36
around = 48
price = 86.4
expiry = 2027-06-30
[[offcuts]]
id = "F-1"
material = "QF 170"
across = 16
around = 34
value = 18
relief = 0.02
"""
JOBS = """\
job,separation,material,image_across,image_around,relief,resolution,ready,due,turn,together,need,title
1,Röt,QF 170,3 1/16,8,0.02,2540,2027-03-01,2027-03-03 14:30,free,lot,must,"say ""b"" twice"
2,Black,QF 170,3,8,,screen 3,,,,,fill,
"""


@pytest.fixture
def inputs(tmp_path: Path) -> Inputs:
    (tmp_path / "jobs.csv").write_text(JOBS, encoding="utf-8")
    (tmp_path / "room.toml").write_text(ROOM, encoding="utf-8")
    rows, room = read_week(tmp_path / "jobs.csv", tmp_path / "room.toml")
    return Inputs(rows=rows, room=room, use_reserve=True)


def test_written_inputs_are_read_back_equal_and_give_the_same_bytes(inputs: Inputs, tmp_path: Path) -> None:
    text = dump_inputs(inputs)
    (tmp_path / "inputs.json").write_text(text, encoding="utf-8")
    read = load_inputs(tmp_path / "inputs.json")
    assert read == inputs
    assert dump_inputs(read) == text
    assert read.rows[0].due == datetime(2027, 3, 3, 14, 30)
    assert (read.rows[0].turn, read.rows[0].together, read.rows[1].need) == (Turn.FREE, Together.LOT, Need.FILL)


def test_what_stands_is_read_back_and_left_out_where_nothing_does(inputs: Inputs, tmp_path: Path) -> None:
    made = replace(inputs, standing=Standing(sheets=frozenset({"S02", "S01"}), withdrawn={("1", "Röt", ""): 2}))
    (tmp_path / "inputs.json").write_text(dump_inputs(made), encoding="utf-8")
    assert load_inputs(tmp_path / "inputs.json") == made
    assert "standing" not in dump_inputs(inputs)


def test_every_field_of_the_records_is_in_the_file(inputs: Inputs) -> None:
    document = json.loads(dump_inputs(inputs))
    assert (document["format"], document["version"], document["use_reserve"]) == ("nest-inputs", 1, True)
    assert set(document["rows"][0]) == {field.name for field in fields(Row)}
    assert set(document["room"]) == {field.name for field in fields(Room)}


@given(
    across=st.floats(0.1, 1e5),
    repeat=st.none() | st.floats(1, 1e4),
    text=st.text(st.characters(exclude_categories=["Cs"])),
    relief=st.floats(0.01, 9) | st.sampled_from(["", "fine"]),
    copies=st.integers(1, 10_000),
    apart=st.booleans(),
)
def test_any_row_is_read_back_exactly(
    across: float, repeat: float | None, text: str, relief: float | str, copies: int, apart: bool,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:  # fmt: skip
    folder = tmp_path_factory.mktemp("inputs")
    (folder / "jobs.csv").write_text(JOBS, encoding="utf-8")
    (folder / "room.toml").write_text(ROOM, encoding="utf-8")
    rows, room = read_week(folder / "jobs.csv", folder / "room.toml")
    row = replace(rows[0], image_across_mm=across, repeat_mm=repeat, note=text)
    row = replace(row, relief=relief, copies=copies, apart=apart)
    path = folder / "inputs.json"
    path.write_bytes(dump_inputs(Inputs(rows=(row,), room=room)).encode())
    assert load_inputs(path) == Inputs(rows=(row,), room=room)


def changed(document: dict[str, Any], change: str) -> object:
    row, room = document["rows"][0], document["room"]
    if change == "a missing field":
        del row["job"]
    elif change == "an unknown field":
        row["colour"] = "x"
    elif change == "text for a number":
        row["image_across_mm"] = "77"
    elif change == "yes for a number":
        room["gap_mm"] = True
    elif change == "an unknown choice":
        row["turn"] = "sideways"
    elif change == "no date":
        room["sheets"][0]["expiry"] = "soon"
    elif change == "another version":
        document["version"] = 2
    elif change == "a list":
        return [document]
    return document


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("a missing field", "inputs.json: rows[0].job: is missing; got None; "),
        ("an unknown field", "inputs.json: rows[0].colour: is unknown; got 'x'; "),
        ("text for a number", "inputs.json: rows[0].image_across_mm: must be a float; got '77'; "),
        ("yes for a number", "inputs.json: room.gap_mm: must be a float; got True; "),
        ("an unknown choice", "inputs.json: rows[0].turn: must be a turn; got 'sideways'; "),
        ("no date", "inputs.json: room.sheets[0].expiry: must be a date; got 'soon'; "),
        ("another version", "inputs.json: format: must be nest-inputs, version 1; got 'nest-inputs, version 2'; "),
        ("a list", "inputs.json: must be an object; got [{'format': "),
    ],
)
def test_a_changed_file_is_one_clear_fault(change: str, message: str, inputs: Inputs, tmp_path: Path) -> None:
    path = tmp_path / "inputs.json"
    path.write_text(json.dumps(changed(json.loads(dump_inputs(inputs)), change)), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_inputs(path)
    (fault,) = caught.value.faults
    assert str(fault).replace(f"{tmp_path}/", "").startswith(message)
    assert fault.remedy == "make the plan again with nest plan, or give --jobs and --room"


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"{", b"[" * 100_000])
def test_what_is_no_json_is_one_clear_fault(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "inputs.json"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        load_inputs(path)
    assert [fault.rule for fault in caught.value.faults] == ["the inputs of a plan are readable JSON"]


def test_a_field_younger_than_the_file_has_its_usual_value(inputs: Inputs, tmp_path: Path) -> None:
    document = json.loads(dump_inputs(inputs))
    del document["room"]["buying"]
    path = tmp_path / "older.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    assert load_inputs(path) == inputs
