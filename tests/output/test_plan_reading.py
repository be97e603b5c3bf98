from __future__ import annotations

import json
import time
from collections import Counter
from copy import deepcopy
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from jsonschema import Draft202012Validator

from nest.errors import InputError
from nest.output.plan_file import dump_plan, load_plan, plan_to_json
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from pathlib import Path


def faults_of(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        load_plan(path)
    return [str(fault).replace(str(path), "plan.json") for fault in caught.value.faults]


def faults_of_data(data: Any, tmp_path: Path) -> list[str]:
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return faults_of(path)


@pytest.fixture
def data() -> dict[str, Any]:
    return deepcopy(plan_to_json(samples.small()))


AGAIN = "make the plan again with nest plan"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", f"plan.json: a plan file holds a plan; got an empty file; {AGAIN}"),
        (b" \n ", f"plan.json: a plan file holds a plan; got an empty file; {AGAIN}"),
        (b"\x89PNG\0\0", "plan.json: a plan file is UTF-8 text; got a binary file; give a plan.json"),
        (b'{\n"a": "\xff"}', "plan.json:2: a plan file is UTF-8 text; got byte 0xff; save it as UTF-8"),
        (b'{"a": 1,\n "b" 2}', f"plan.json:2: a plan file is JSON; got expecting ':' delimiter in column 6; {AGAIN}"),
        (b'{"seed": NaN}', f"plan.json: numbers must be finite; got NaN; {AGAIN}"),
        (b'{"seed": -Infinity}', f"plan.json: numbers must be finite; got -Infinity; {AGAIN}"),
        (b'{"seed": 1e999}', f"plan.json: numbers must be finite; got 1e999; {AGAIN}"),
        (b'{"seed": ' + b"9" * 5000 + b"}",
         f"plan.json: numbers must have at most 40 digits; got {'9' * 20}…; {AGAIN}"),
        (b'{"seed": 1, "seed": 2}', f"plan.json: a key may stand once in an object; got 'seed' twice; {AGAIN}"),
        (b"[" * 200_000, f"plan.json: a plan file is JSON of a few levels; got lists nested too deep; {AGAIN}"),
        (b'{"currency": "\\ud800"}', f"plan.json: text must be Unicode; got half of a surrogate pair; {AGAIN}"),
        (b"[1, 2]", "plan.json: $: must be an object; got a list of 2; give a plan.json"),
        (b"null", "plan.json: $: must be an object; got null; give a plan.json"),
        (b"{}", f'plan.json: $.format: must be "nest-plan"; got no such key; {AGAIN}'),
        (b'{"format": "nest-plan", "version": 2}', f"plan.json: $.version: must be 1; got 2; {AGAIN}"),
        (b'{"format": "nest-plan", "version": true}', f"plan.json: $.version: must be 1; got true; {AGAIN}"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_plan_gives_one_clear_fault(content: bytes, told: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(content)
    assert faults_of(path) == [told]


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    assert faults_of(tmp_path) == ["plan.json: a plan is a file; got a folder; give the plan.json inside this folder"]
    missing = tmp_path / "none.json"
    assert faults_of(missing) == ["plan.json: the plan file must exist; give the path of a plan.json"]


def test_a_byte_order_mark_is_read_over(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text("\ufeff" + dump_plan(samples.small()), encoding="utf-8")
    assert load_plan(path).totals.pieces == 3


def test_every_fault_is_told_with_its_path_rule_and_value(data: dict[str, Any], tmp_path: Path) -> None:
    sheet = data["sheets"][0]
    plate = sheet["plates"][0]
    del plate["pieces"][1]["turn"]
    plate["pieces"][0]["copy"] = 0
    plate["pieces"][2]["x"] = "10"
    plate["lead"] = "z"
    sheet["rests"][0]["keept"] = sheet["rests"][0].pop("kept")
    data["totals"]["cost"] = None
    data["colour"] = 1
    assert faults_of_data(data, tmp_path) == [
        "plan.json: $: may hold known keys only; got \"colour\"; take it out",
        "plan.json: $.sheets[0].plates[0].lead: must be one of \"x0\", \"x1\", \"y0\", \"y1\"; got \"z\"; " + AGAIN,
        "plan.json: $.sheets[0].plates[0].pieces[0].copy: must be at least 1; got 0; " + AGAIN,
        "plan.json: $.sheets[0].plates[0].pieces[1]: must have the key 'turn'; got none; " + AGAIN,
        "plan.json: $.sheets[0].plates[0].pieces[2].x: must be a number; got \"10\"; " + AGAIN,
        "plan.json: $.sheets[0].rests[0]: must have the key 'kept'; got none; " + AGAIN,
        "plan.json: $.sheets[0].rests[0]: may hold known keys only; got \"keept\"; did you mean 'kept'?",
        "plan.json: $.totals.cost: must be a number; got null; " + AGAIN,
    ]


@pytest.mark.parametrize(
    ("path", "value", "rule"),
    [
        (("seed",), 1.5, "must be a whole number"),
        (("seed",), True, "must be a whole number"),
        (("stopped_by",), "luck", "must be one of"),
        (("sheets",), {}, "must be a list"),
        (("warnings",), [1], "must be text"),
        (("sheets", 0, "across"), 0, "must be above 0"),
        (("sheets", 0, "id"), "", "must not be empty"),
        (("sheets", 0, "plates", 0, "pieces", 0, "turn"), 45, "must be one of 0, 90, 180, 270"),
        (("sheets", 0, "plates", 0, "pieces", 0, "outline"), [[0, 0], [1, 1]], "must have at least 3 members"),
        (("sheets", 0, "plates", 0, "pieces", 0, "outline"), "round", "must be a list or null"),
        (("sheets", 0, "plates", 0, "keep_out", "x0"), -1, "must be at least 0"),
        (("sheets", 0, "cuts", 0, "plate"), 3, "must be text or null"),
        (("sheets", 0, "rests", 0, "kept"), "yes", "must be true or false"),
        (("totals", "bound"), -0.01, "must be at least 0"),
        (("unplaced",), [{}], "must have the key 'job'"),
    ],
)
def test_each_rule_of_the_schema_holds(
    data: dict[str, Any], tmp_path: Path, path: tuple[str | int, ...], value: Any, rule: str
) -> None:
    place: Any = data
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    assert any(rule in fault for fault in faults_of_data(data, tmp_path))


def test_whole_numbers_and_a_missing_outline_are_read(data: dict[str, Any], tmp_path: Path) -> None:
    del data["sheets"][0]["plates"][0]["pieces"][0]["outline"]
    data["sheets"][0]["across"] = 420
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    plan = load_plan(path)
    assert isinstance(plan.sheets[0].across_mm, float)
    assert plan.sheets[0].plates[0].pieces[0].outline is None


def test_the_shipped_schema_is_a_valid_schema_and_takes_what_is_written() -> None:
    from importlib import resources

    schema = json.loads(resources.files("nest.output").joinpath("plan.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    # As shipped, with its references, for readers other than ours.
    assert [*Draft202012Validator(schema).iter_errors(plan_to_json(samples.week()))] == []


def test_five_thousand_pieces_are_read_in_three_seconds(tmp_path: Path) -> None:
    dense = samples.dense_sheet(Counter())
    sheets = tuple(replace(dense, id=f"S{n:03}") for n in range(5000 // len(dense.plates[0].pieces) + 1))
    plan = replace(samples.small(), sheets=sheets)
    path = tmp_path / "plan.json"
    path.write_text(dump_plan(plan), encoding="utf-8")
    start = time.process_time()
    pieces = sum(len(plate.pieces) for sheet in load_plan(path).sheets for plate in sheet.plates)
    assert pieces >= 5000
    assert time.process_time() - start < 3.0
