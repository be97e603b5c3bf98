"""Replan, remake and remakes on the command line: files, streams, exit codes, exact messages."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

import pytest

from nest.revise.remake import Reason
from tests.weeks import FILES, JOBS, WORK, nest, planned, week

if TYPE_CHECKING:
    from pathlib import Path

MORE = (*FILES, "changes.txt", "revision.json")
RUSH = JOBS + "3109,Red,QF170,100,120,,1,\n"


def now(folder: Path, text: str = RUSH) -> str:
    """Write the jobs as they are now; return their path."""
    path = folder / "now.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("guide-"))


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_revised_plan_replaces_the_earlier_one_and_holds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    code, said, err = nest(capsys, "replan", str(out), "--jobs", now(tmp_path), *WORK)
    assert code == 0
    assert "added 3109/Red, 1 copy" in said
    assert err.startswith("written to ")
    assert names(out) == sorted(MORE)
    assert (out / "changes.txt").read_text(encoding="utf-8") == said
    assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0
    # the plan file itself may be named as well; nothing is left to change
    code, said, _ = nest(capsys, "replan", str(out / "plan.json"), "--jobs", now(tmp_path), *WORK)
    assert (code, "0 added, 0 moved, 0 dropped" in said) == (0, True)


def test_released_sheets_are_byte_equal_and_remembered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    before = (out / "plan.json").read_text(encoding="utf-8")
    args = ("replan", str(out), "--jobs", now(tmp_path, RUSH.replace("3101,Cyan,QF170,200,280,96,1,\n", "")), *WORK)
    code, said, _ = nest(capsys, *args, "--released", "S01")
    assert code == 0
    assert "MADE FOR NOTHING: 1 piece on sheets that stay\n  S01, cancelled: 3101/Cyan#1" in said
    after = (out / "plan.json").read_text(encoding="utf-8")
    sheet = before[before.index('{"id": "S01"'):].split('\n  {"id": "S02"')[0].rsplit("]}", 1)[0]
    assert len(sheet) > 500
    assert sheet in after
    code, said, _ = nest(capsys, *args)
    assert "released: S01" in said
    assert json.loads((out / "revision.json").read_text(encoding="utf-8"))["released"] == ["S01"]
    assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0


def test_a_dry_run_and_another_folder_leave_the_plan_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = planned(capsys, tmp_path)
    before = contents(out)
    code, said, err = nest(capsys, "replan", str(out), "--jobs", now(tmp_path), "--dry-run", *WORK)
    assert (code, err, contents(out)) == (0, "dry run: nothing written\n", before)
    code, again, _ = nest(capsys, "replan", str(out), "--jobs", now(tmp_path), "--out", str(tmp_path / "b"), *WORK)
    assert (code, again, contents(out)) == (0, said, before)
    assert names(tmp_path / "b") == sorted(MORE)


def test_json_prints_the_record(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    code, said, err = nest(capsys, "replan", str(out), "--jobs", now(tmp_path), "--json", *WORK)
    assert (code, err) == (0, "")
    assert said.encode() == (out / "revision.json").read_bytes()
    assert json.loads(said)["format"] == "nest-revision"


def test_unplaced_pieces_end_with_3_and_come_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    huge = RUSH + "3110,Red,QF170,2000,120,,1,\n"
    code, said, _ = nest(capsys, "replan", str(out), "--jobs", now(tmp_path, huge), *WORK)
    assert code == 3
    assert said.startswith("NOT PLACED: 1 piece\n  3110/Red, 1 copy: ")


def test_a_record_of_another_plan_is_told_and_left_aside(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    args = ("replan", str(out), "--jobs", now(tmp_path), *WORK)
    nest(capsys, *args, "--released", "S01")
    planned(capsys, tmp_path)
    code, said, err = nest(capsys, *args)
    assert code == 0
    assert "revision.json is of another plan: no sheet counts as released by it" in err
    assert "SHEETS THAT STAY" not in said


def test_a_room_as_it_is_now_lacks_what_was_released(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    empty = tmp_path / "now.toml"
    text = (tmp_path / "room.toml").read_text(encoding="utf-8")
    empty.write_text(text.replace("on_hand = 5\nkeep_back = 1", "on_hand = 0"), encoding="utf-8")
    args = ("replan", str(out), "--jobs", now(tmp_path, JOBS + "3109,Red,QF170,500,700,,1,\n"), "--room", str(empty))
    code, said, _ = nest(capsys, *args, "--released", "S01", *WORK)
    assert code == 3
    assert "3109/Red, 1 copy: stock used up: needs 1 more sheet of QF170 600x800" in said
    assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0


def test_a_remake_is_noted_and_counted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    args = ("remake", str(out), "--reason", "scratch", "--date", "2027-03-01", *WORK)
    assert nest(capsys, *args, "--piece", "3101/Cyan")[0] == 0
    code, said, _ = nest(capsys, *args, "--piece", "3102/Black#1", "--piece", "3101/Black")
    assert code == 0
    assert "added 3102/Black/remake 1#1" in said
    lines = (out / "remakes.csv").read_text(encoding="utf-8").splitlines()
    assert [line.split(",")[:6] for line in lines[1:]] == [
        ["2027-03-01", "scratch", "3101", "Cyan", "", "1"],
        ["2027-03-01", "scratch", "3102", "Black", "", "1"],
        ["2027-03-01", "scratch", "3101", "Black", "", "1"],
    ]
    assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0
    code, said, err = nest(capsys, "remakes", str(out), str(out))
    assert (code, err) == (0, "")
    # four pieces of the jobs were placed, three made again
    assert said.splitlines()[1].split()[:5] == ["2027-W09", "4", "3", "75.0", "%"]
    assert nest(capsys, "remakes", str(out), "--csv")[1].startswith("week,reason,made,")
    # the notes go with the plan
    nest(capsys, "replan", str(out), "--jobs", now(tmp_path), "--out", str(tmp_path / "b"), *WORK)
    assert (tmp_path / "b" / "remakes.csv").read_bytes() == (out / "remakes.csv").read_bytes()


def test_a_remake_without_a_date_is_of_today_and_a_dry_run_notes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = planned(capsys, tmp_path)
    args = ("remake", str(out), "--reason", "wash", "--piece", "3101/Cyan", *WORK)
    assert nest(capsys, *args, "--dry-run")[0] == 0
    assert names(out) == sorted(FILES)
    days = {date.today().isoformat()}
    assert nest(capsys, *args)[0] == 0
    days.add(date.today().isoformat())
    assert (out / "remakes.csv").read_text(encoding="utf-8").splitlines()[1].split(",")[0] in days


def test_the_reasons_offered_are_those_known() -> None:
    from nest.cli.options import REASONS

    assert list(REASONS) == list(Reason)


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (["--released", "S09"], "--released: must name sheets of the plan; got S09; the plan has S01"),
        (["--pin", "S01,,"], "--pin: must name sheets of the plan; got an empty name; the plan has S01"),
    ],
)
def test_an_unknown_sheet_is_one_clear_fault(
    args: list[str], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = planned(capsys, tmp_path)
    before = contents(out)
    code, said, err = nest(capsys, "replan", str(out), "--jobs", now(tmp_path), *args)
    assert (code, said, err) == (2, "", f"{message}\n1 fault, nothing written\n")
    assert contents(out) == before


def test_wrong_files_are_clear_faults(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    jobs = now(tmp_path)
    cases = [
        (("replan", str(tmp_path / "no"), "--jobs", jobs), "the plan file must exist"),
        (("replan", str(out), "--jobs", str(tmp_path / "no.csv")), "no such file"),
        (("replan", str(out), "--jobs", now(tmp_path, RUSH.replace("QF170", "QF17", 1))), "no such material"),
        (("remake", str(out), "--reason", "wash", "--piece", "3101/Grey"), "must name a piece of the plan"),
        (("remakes", str(tmp_path / "no")), "the plan file must exist"),
    ]
    for args, words in cases:
        code, said, err = nest(capsys, *args)
        assert (code, said) == (2, ""), args
        assert words in err
        assert err.endswith("1 fault, nothing written\n"), err
    (out / "inputs.json").unlink()
    code, _, err = nest(capsys, "replan", str(out), "--jobs", now(tmp_path))
    assert code == 2
    assert "inputs.json: the inputs of the plan must stand beside it" in err


def test_inputs_of_another_plan_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    other = tmp_path / "other"
    other.mkdir()
    files = week(other, JOBS.replace("3101,", "3105,"))
    code, _, err = nest(capsys, "plan", *files, "--out", str(other / "out"), *WORK)
    assert code == 0, err
    (out / "inputs.json").write_bytes((other / "out" / "inputs.json").read_bytes())
    code, _, err = nest(capsys, "replan", str(out), "--jobs", now(tmp_path), *WORK)
    assert code == 2
    assert "inputs.json: must hold every row of the plan beside it; got no row 3101/Black" in err


def test_a_released_sheet_that_breaks_a_rule_now_is_refused_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = planned(capsys, tmp_path)
    before = contents(out)
    room = tmp_path / "now.toml"
    text = (tmp_path / "room.toml").read_text(encoding="utf-8")
    room.write_text(text.replace("thickness = 1.70", "thickness = 2.54"), encoding="utf-8")
    args = ("replan", str(out), "--jobs", now(tmp_path), "--room", str(room), *WORK)
    code, said, err = nest(capsys, *args, "--released", "S01")
    assert (code, said) == (2, "")
    assert "S01-A: breaks a rule now (piece-size): 3101/Black copy 1: " in err
    assert contents(out) == before
    # not released, it is simply planned anew
    assert nest(capsys, *args)[0] == 0


@pytest.mark.parametrize("amount", ["-1", "nan", "inf"])
def test_what_a_move_has_to_save_is_an_amount(
    amount: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = nest(capsys, "replan", str(tmp_path), "--jobs", "x", "--per-move", amount)
    assert code == 2
    assert "is not an amount of at least 0" in err
