from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from tests.weeks import nest, planned

if TYPE_CHECKING:
    from pathlib import Path


def test_labels_are_written_beside_the_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    code, text, err = nest(capsys, "labels", str(out))
    assert (code, err) == (0, "")
    assert re.fullmatch(
        rf"\d+ labels on 2 pages, 70 x 37.12 mm each: {re.escape(str(out))}/labels.html; print at 100 %\n", text
    )
    page = (out / "labels.html").read_text(encoding="utf-8")
    assert page.count("<svg ") == 2
    assert "3101" in page


def test_drawings_go_into_the_folder_asked_for_and_old_ones_leave_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, other = planned(capsys, tmp_path), tmp_path / "other"
    assert nest(capsys, "labels", str(out / "plan.json"), "--grid", "1x2", "--svg", "--out", str(other))[0] == 0
    before = {path.name for path in other.iterdir()}
    assert {"labels.html", "labels-01.svg", "labels-03.svg"} <= before
    assert nest(capsys, "labels", str(out), "--what", "plates", "--svg", "--out", str(other))[0] == 0
    assert {path.name for path in other.iterdir()} == {"labels.html", "labels-01.svg"}


def test_labels_of_an_earlier_plan_go_with_a_new_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    assert nest(capsys, "labels", str(out), "--svg")[0] == 0
    planned(capsys, tmp_path)
    assert not list(out.glob("labels*"))


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--grid", "3"], "Invalid value for '--grid': '3' is not two numbers such as 3x8."),
        (["--grid", "0x8"], "Invalid value for '--grid': '0x8' is not two whole numbers from 1 such as 3x8."),
        (["--grid", "3x800"], "Invalid value for '--grid': '3x800' is above 100."),
        (["--cell", "wide"], "Invalid value for '--cell': 'wide' is not two numbers such as 63.5x38.1."),
        (["--paper", "A9"],
         "Invalid value for '--paper': 'A9' is none of A5, A4, A3, Letter and no size in mm such as 210x297."),
        (["--cell", "80x30"],
         "3 labels with their gaps are 240.0 mm wide; the paper has 210.0 mm from its margin on; nothing written"),
        (["--start", "25"], "a page has labels 1 to 24; got 25; nothing written"),
    ],
)  # fmt: skip
def test_a_grid_that_cannot_be_is_wrong_use(
    options: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = planned(capsys, tmp_path)
    code, text, err = nest(capsys, "labels", str(out), *options)
    assert (code, text) == (2, "")
    assert f"Error: {message}\n" in err
    assert not (out / "labels.html").exists()


def test_sizes_may_be_written_with_a_comma_and_papers_in_any_case(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = planned(capsys, tmp_path)
    options = ["--grid", "3×7", "--cell", "63,5x38,1", "--margin", "7.25x15.15", "--gap", "2.5x0", "--paper", "a4"]
    code, text, _ = nest(capsys, "labels", str(out), *options)
    assert code == 0
    assert "63.5 x 38.1 mm each" in text


def test_a_plan_without_its_inputs_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    (out / "inputs.json").unlink()
    code, text, err = nest(capsys, "labels", str(out))
    assert (code, text) == (2, "")
    assert "the inputs of the plan must stand beside it" in err
