from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.plan import Edge, KeepOut, PlacedPiece, Plan, PlannedPlate, Rect
from nest.output.plan_file import dump_plan, load_plan, plan_to_json, rounded_plan
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from pathlib import Path

numbers = st.floats(min_value=0.001, max_value=5000.0, allow_nan=False)


@pytest.mark.parametrize("plan", [samples.week(), samples.small(), samples.hostile()])
def test_a_rounded_plan_is_read_back_equal(plan: Plan, tmp_path: Path) -> None:
    plan = rounded_plan(plan)
    path = tmp_path / "plan.json"
    path.write_text(dump_plan(plan), encoding="utf-8")
    assert load_plan(path) == plan
    assert dump_plan(load_plan(path)) == dump_plan(plan)


@settings(max_examples=60, deadline=None)
@given(x=numbers, y=numbers, w=numbers, h=numbers, turn=st.sampled_from([0, 90, 180, 270]), text=st.text(min_size=1),
       copy=st.integers(min_value=1, max_value=10_000))  # fmt: skip
def test_any_piece_survives_writing_and_reading(
    x: float, y: float, w: float, h: float, turn: int, text: str, copy: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    rect = Rect(x=x, y=y, w=w, h=h)
    piece = PlacedPiece(job=text, separation=text, part=text, copy=copy, rect=rect, turn=turn, image=rect,
                        outline=((x, y), (x + w, y), (x, y + h)))  # fmt: skip
    plate = PlannedPlate(id="S01-A", rect=rect, lead=Edge.X1, keep_out=KeepOut(x0=x, x1=0.0, y0=-0.0, y1=0.00004),
                         process=w, pieces=(piece,), free=(rect,))  # fmt: skip
    base = samples.small()
    plan = rounded_plan(replace(base, sheets=(replace(base.sheets[0], plates=(plate,)),)))
    path = tmp_path_factory.mktemp("plan") / "plan.json"
    path.write_text(dump_plan(plan), encoding="utf-8")
    assert load_plan(path) == plan


def test_figures_are_written_with_the_precision_of_the_contract() -> None:
    base = samples.small()
    rest = replace(base.sheets[0].rests[0], rect=Rect(x=-0.0, y=1 / 3, w=420.00004, h=219.99996), credit=2.345)
    plan = replace(base, sheets=(replace(base.sheets[0], rests=(rest,)),))
    written = plan_to_json(plan)["sheets"][0]["rests"][0]
    # Credits are rounded half-even to cents.
    assert written == {"id": "S01-R1", "x": 0.0, "y": 0.3333, "w": 420.0, "h": 220.0, "kept": True, "credit": 2.34}
    assert '"x": 0.0, "y": 0.3333' in dump_plan(plan)
    area = plan_to_json(base)["totals"]["area"]
    assert area["image"] == round(area["image"], 6)


def test_keys_stand_in_the_order_of_the_contract() -> None:
    data = plan_to_json(samples.small())
    assert [*data] == [
        "format", "version", "currency", "seed", "stopped_by", "sheets", "unplaced", "warnings", "totals",
    ]  # fmt: skip
    sheet = data["sheets"][0]
    assert [*sheet] == [
        "id", "source", "material", "lot", "expiry", "across", "around", "cost", "plates", "rests", "cuts",
    ]  # fmt: skip
    assert [*sheet["plates"][0]] == [
        "id", "group", "x", "y", "w", "h", "lead", "keep_out", "process", "pieces", "free",
    ]  # fmt: skip
    assert [*sheet["plates"][0]["pieces"][0]] == [
        "job", "separation", "part", "copy", "x", "y", "w", "h", "turn", "image", "outline",
    ]  # fmt: skip
    assert [*data["totals"]] == [
        "cost", "bound", "bound_gap", "sheets", "plates", "raw_cuts", "pieces", "cost_parts", "area", "yield",
    ]  # fmt: skip


def test_optional_keys_are_left_out_where_there_is_nothing_to_say() -> None:
    plan = samples.small()
    sheet = replace(plan.sheets[0], lot=None, expiry=None)
    sheet = replace(sheet, plates=(replace(sheet.plates[0], group=""),))
    data = plan_to_json(replace(plan, sheets=(sheet,)))
    assert not {"proof", "made_by"} & set(data)
    assert not {"lot", "expiry"} & set(data["sheets"][0])
    assert "group" not in data["sheets"][0]["plates"][0]
    assert data["sheets"][0]["plates"][0]["pieces"][0]["outline"] is None


def test_the_text_has_a_piece_a_line_and_ends_in_a_newline() -> None:
    plan = samples.week()
    text = dump_plan(plan)
    assert text.endswith("}\n")
    assert json.loads(text) == plan_to_json(plan)
    lines = [line for line in text.splitlines() if '"separation"' in line and '"turn"' in line]
    assert len(lines) == plan.totals.pieces
    assert all(line.count('"turn"') == 1 for line in lines)


def test_a_plan_with_a_figure_that_is_not_finite_cannot_be_written() -> None:
    plan = samples.small()
    broken = replace(plan, sheets=(replace(plan.sheets[0], across_mm=float("nan")),))
    with pytest.raises(ValueError, match="JSON"):
        dump_plan(broken)
