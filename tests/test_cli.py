"""Exit codes, streams and exact messages of the command line."""

from __future__ import annotations

import errno
import json
import os
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

from nest import pipeline
from nest.check.violation import Violation
from nest.cli import planning
from nest.errors import StockError
from tests.weeks import FILES, JOBS, ROOM, WORK, nest, planned, week

HEAD = "job,separation,material,image_across,image_around,copies\n"
ONE_FAULT = "\n1 fault, nothing written\n"

WRONG_JOBS: dict[str, tuple[str | bytes, str]] = {
    "an empty file": (b"", "week.csv: the file is empty; give a file with content"),
    "a header alone": (HEAD, "week.csv:1: there is no row under the header; give at least one row"),
    "a binary file": (
        b"\x00\x01\x02" * 50, "week.csv: must be UTF-8 text; got a binary file; save it as CSV in UTF-8, or as .xlsx"),
    "UTF-16": (
        (HEAD + "1,C,QF170,50,100,1\n").encode("utf-16"),
        "week.csv: must be UTF-8 text; got UTF-16 text; save it as CSV in UTF-8, or as .xlsx"),
    "Latin-1": (
        (HEAD + "1,Ros\xe9,QF170,50,100,1\n").encode("latin-1"),
        "week.csv:2: must be UTF-8 text; got byte 0xe9; save it as CSV in UTF-8, or as .xlsx"),
    "not a number": (
        HEAD + "1,C,QF170,nan,100,1\n",
        "week.csv:2: image_across: must be a finite number; got 'nan'; write the figure"),
    "a negative size": (
        HEAD + "1,C,QF170,-5,100,1\n", "week.csv:2: image_across: must be above 0; got '-5'; write a length above 0"),
    "a billion copies": (
        HEAD + "1,C,QF170,50,100,1000000000\n",
        "week.csv:2: copies: must be a whole number from 1 to 10000; got '1000000000'; write a count"),
    "a double row": (
        HEAD + "1,C,QF170,50,100,1\n1,C,QF170,60,90,2\n",
        "week.csv:3: separation: job, separation and part must be unique, line 2 has the same; got '1' / 'C'; raise "
        "copies for identical pieces, or name a part"),
    "an unknown material": (
        HEAD + "1,C,QF17,50,100,1\n",
        "week.csv:2: material: no such material in room.toml; got 'QF17'; did you mean 'QF170'?"),
    "an unknown column": (
        HEAD.replace("copies", "copys") + "1,C,QF170,50,100,1\n",
        "week.csv:1: column 6: unknown column; got 'copys'; did you mean 'copies'? [columns] in the room file maps or "
        "ignores own headers"),
    "an outline": (
        'job,separation,material,outline\n1,C,QF170,"POLYGON((0 0,1 0,1 1,0 0))"\n',
        "week.csv:2: outline: 'outline' is not supported yet; got 'POLYGON((0 0,1 0,1 1,0 0))'; empty the cell and "
        "give image_across and image_around"),
}  # fmt: skip

WRONG_ROOMS: dict[str, tuple[str | bytes, str]] = {
    "an empty file": (b"", "room.toml: the file is empty; give a file with content"),
    "a binary file": (
        b"\x00\xff", "room.toml: must be UTF-8 text; got a binary file; save it as plain UTF-8 text"),
    "an unknown key": (
        ROOM.replace("clamp", "clmp"), "room.toml:6: imager.clmp: unknown key; got 'clmp'; did you mean 'clamp'?"),
    "not a number": (
        ROOM.replace("clamp = 12.0", "clamp = nan"),
        "room.toml:6: imager.clamp: must be a finite number; got nan; correct the figure"),
    "no TOML": (
        ROOM.replace("clamp =", "clamp"),
        "room.toml:6: column 7: not valid TOML (Expected '=' after a key in a key/value pair); correct the line; text "
        "stands in quotes"),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG_JOBS)
def test_wrong_jobs_exit_2_with_one_message_and_write_nothing(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs, message = WRONG_JOBS[case]
    code, out, err = nest(capsys, "plan", *week(tmp_path, jobs), "--out", str(tmp_path / "out"))
    assert (code, out) == (2, "")
    assert err.replace(f"{tmp_path}/", "") == message + ONE_FAULT
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("case", WRONG_ROOMS)
def test_a_wrong_room_exits_2_with_one_message_and_writes_nothing(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    room, message = WRONG_ROOMS[case]
    code, out, err = nest(capsys, "plan", *week(tmp_path, JOBS, room), "--out", str(tmp_path / "out"))
    assert (code, out) == (2, "")
    assert err.replace(f"{tmp_path}/", "") == message + ONE_FAULT
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", ["plan", "check", "pieces"])
def test_missing_files_and_folders_are_told_all_at_once(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = nest(capsys, command, str(tmp_path / "no.csv"), "--room", str(tmp_path))
    assert (code, out) == (2, "")
    assert err.replace(str(tmp_path), "HERE") == (
        "HERE: must be a file; got a folder; give the path of the file\n"
        "HERE/no.csv: no such file; check the path and the spelling\n"
        "2 faults, nothing written\n"
    )


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (["plan"], "Missing argument 'JOBS'."),
        (["plan", "a.csv"], "Missing option '--room'."),
        (["plan", "a.csv", "--room", "b", "--sed", "1"], "No such option '--sed'. Did you mean '--seed'?"),
        (["plan", "a.csv", "--room", "b", "--seed", "x"],
         "Invalid value for '--seed': 'x' is not a valid integer range."),
        (["plan", "a.csv", "--room", "b", "--seed", "-1"],
         "Invalid value for '--seed': -1 is not in the range 0<=x<=4294967295."),
        (["plan", "a.csv", "--room", "b", "--time-limit", "0"],
         "Invalid value for '--time-limit': 0.0 is not a number of seconds above 0."),
        (["plan", "a.csv", "--room", "b", "--time-limit", "nan"],
         "Invalid value for '--time-limit': nan is not a number of seconds above 0."),
        (["plan", "a.csv", "--room", "b", "--work-limit", "0"],
         "Invalid value for '--work-limit': 0 is not in the range 1<=x<=1000000000000."),
        (["verify", "plan.json", "--jobs", "a.csv"], "--jobs and --room go together"),
        (["frob"], "No such command 'frob'."),
    ],
)  # fmt: skip
def test_wrong_use_exits_2_and_says_where_help_is(
    args: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = nest(capsys, *args)
    assert (code, out) == (2, "")
    # click words an unknown option slightly differently from version to version
    assert f"Error: {message}".replace("option '", "option: ").replace("'", "") in err.replace(
        "option '", "option: "
    ).replace("'", "")
    assert re.search(r"Try 'nest( \w+)? --help' for help\.", err)


def test_a_plan_is_written_whole_and_holds_under_verify(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    code, text, err = nest(capsys, "plan", *week(tmp_path), "--out", str(out), *WORK)
    assert code == 0
    guides = sorted(path.name for path in out.glob("guide-*.svg"))
    assert guides
    assert sorted(path.name for path in out.iterdir()) == sorted([*FILES, *guides])
    assert text == (out / "summary.txt").read_text(encoding="utf-8")
    assert text.startswith("TAKE FROM THE STORE\n")
    assert f"written to {out}: plan.json, " in err
    code, text, err = nest(capsys, "verify", str(out / "plan.json"))
    assert (code, err) == (0, "")
    assert re.fullmatch(
        rf"{re.escape(str(out))}/plan\.json: holds, \d+ checks passed on 1 sheet, 1 plate, \d pieces "
        r"\(0 not placed, \d fill left over\)\n",
        text,
    )


def test_json_prints_the_very_plan_file_and_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    code, text, err = nest(capsys, "plan", *week(tmp_path), "--out", str(out), *WORK, "--json")
    assert (code, err) == (0, "")
    assert text == (out / "plan.json").read_text(encoding="utf-8")
    assert json.loads(text)["format"] == "nest-plan"


def test_json_tells_faults_as_one_document_on_standard_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = nest(capsys, "plan", *week(tmp_path, HEAD + "1,C,QF17,-5,100,1\n"), "--json")
    assert (code, out) == (2, "")
    told = json.loads(err)
    assert told["exit_code"] == 2
    assert told["faults"] == [
        {"file": str(tmp_path / "week.csv"), "line": 2, "where": "image_across", "rule": "must be above 0",
         "got": "'-5'", "remedy": "write a length above 0"},
        {"file": str(tmp_path / "week.csv"), "line": 2, "where": "material",
         "rule": f"no such material in {tmp_path}/room.toml", "got": "'QF17'", "remedy": "did you mean 'QF170'?"},
    ]  # fmt: skip
    assert nest(capsys, "plan", *week(tmp_path), "--seed", "x", "--json")[:2] == (2, "")


def test_json_tells_wrong_use_as_one_document(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = nest(capsys, "plan", "a.csv", "--room", "b.toml", "--seed", "x", "--json")
    assert (code, out) == (2, "")
    (fault,) = json.loads(err)["faults"]
    assert (fault["where"], fault["remedy"]) == ("--seed", "see nest plan --help")


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("3199,Cyan,QF170,2000,300,,1,", r" mm too (long|wide) "),
        ("3199,Cyan,QF170,500,700,,9,", r"needs \d+ more sheet"),
    ],
)
def test_unplaced_must_pieces_exit_3_and_come_first(
    row: str, reason: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    code, text, _ = nest(capsys, "plan", *week(tmp_path, f"{JOBS}{row}\n"), "--out", str(out), *WORK)
    assert code == 3
    assert text.startswith("NOT PLACED: ")
    assert re.search(reason, text.split("TAKE FROM THE STORE")[0])
    left = json.loads((out / "plan.json").read_text(encoding="utf-8"))["unplaced"]
    assert "3199" in {one["job"] for one in left if one["need"] == "must"}
    assert nest(capsys, "verify", str(out / "plan.json"))[0] == 0


def test_fill_left_over_is_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    jobs = JOBS.replace("60,60,,2,fill", "60,60,,500,fill")
    code, text, _ = nest(capsys, "plan", *week(tmp_path, jobs), "--out", str(tmp_path / "out"), *WORK)
    assert code == 0
    assert "FILL LEFT OVER (no fault): " in text


def test_the_reserve_is_drawn_only_when_asked_and_verify_knows(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs = "job,separation,material,image_across,image_around,copies\n3101,Cyan,QF170,500,700,2\n"
    args = [*week(tmp_path, jobs, ROOM.replace("on_hand = 5", "on_hand = 2")), "--out", str(tmp_path / "out"), *WORK]
    assert nest(capsys, "plan", *args)[0] == 3
    assert nest(capsys, "plan", *args, "--use-reserve")[0] == 0
    plan = str(tmp_path / "out" / "plan.json")
    assert nest(capsys, "verify", plan)[0] == 0
    code, text, _ = nest(capsys, "verify", plan, "--jobs", args[0], "--room", args[2])
    assert code == 1
    assert "QF170 600x800" in text
    assert nest(capsys, "verify", plan, "--jobs", args[0], "--room", args[2], "--use-reserve")[0] == 0


def test_verify_exits_1_and_lists_what_a_changed_plan_breaks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = planned(capsys, tmp_path) / "plan.json"
    document = json.loads(plan.read_text(encoding="utf-8"))
    document["sheets"][0]["plates"][0]["pieces"][0]["x"] += 3.0
    plan.write_text(json.dumps(document), encoding="utf-8")
    code, text, err = nest(capsys, "verify", str(plan))
    assert (code, err) == (1, "")
    assert re.match(rf"{re.escape(str(plan))}: breaks \d+ rules?\n  S01", text)


def test_verify_without_the_inputs_says_how_to_give_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = planned(capsys, tmp_path)
    (out / "inputs.json").unlink()
    code, text, err = nest(capsys, "verify", str(out / "plan.json"))
    assert (code, text) == (2, "")
    assert err == (
        f"{out}/inputs.json: the inputs of the plan must stand beside it; make the plan again with nest plan, or give "
        "--jobs and --room\n1 fault, nothing written\n"
    )
    jobs, _, room = week(tmp_path)
    assert nest(capsys, "verify", str(out / "plan.json"), "--jobs", jobs, "--room", room)[0] == 0


def test_a_file_in_place_of_the_folder_is_told_before_planning(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pipeline, "make_plan", None)
    (tmp_path / "taken").write_text("mine\n", encoding="utf-8")
    for folder in (tmp_path / "taken", tmp_path / "taken" / "deeper"):
        code, out, err = nest(capsys, "plan", *week(tmp_path), "--out", str(folder))
        assert (code, out) == (2, "")
        assert err == (
            f"{folder}: cannot write: Not a directory; choose another folder with --out; nothing written\n"
        )
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "mine\n"


def test_a_folder_that_takes_no_file_is_told_before_planning(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(**_: Any) -> None:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr("nest.cli.folder.tempfile.TemporaryFile", refuse)
    monkeypatch.setattr(pipeline, "make_plan", None)
    code, _, err = nest(capsys, "plan", *week(tmp_path), "--out", str(tmp_path / "out"))
    assert code == 2
    assert err.endswith("cannot write: Permission denied; choose another folder with --out; nothing written\n")
    assert not (tmp_path / "out").exists()


def test_the_inputs_are_never_overwritten_by_the_outputs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    jobs, _, room = week(tmp_path)
    own = Path(jobs).rename(tmp_path / "jobs.csv")
    code, _, err = nest(capsys, "plan", str(own), "--room", room, "--out", str(tmp_path), *WORK)
    assert code == 2
    assert err == f"{own}: the plan's own jobs.csv would overwrite it; choose another folder with --out\n"
    other = tmp_path / "other"
    other.mkdir()
    (other / "jobs.csv").write_text(JOBS, encoding="utf-8")
    code, _, err = nest(capsys, "plan", str(own), "--room", room, "--out", str(other), *WORK)
    assert code == 2
    assert "is no plan's table of shares and would be overwritten" in err
    assert own.read_text(encoding="utf-8") == (other / "jobs.csv").read_text(encoding="utf-8") == JOBS


def test_a_full_disk_leaves_the_plan_before_it_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = planned(capsys, tmp_path)
    before = {path.name: path.read_bytes() for path in out.iterdir()}

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    code, text, err = nest(capsys, "plan", *week(tmp_path), "--out", str(out), *WORK, "--seed", "3")
    assert (code, text) == (2, "")
    assert err.endswith(
        "cannot write: No space left on device; free some space on this disk or choose another folder with --out; "
        "what was there before is untouched\n"
    )
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
def test_a_full_standard_output_is_told_and_a_closed_one_is_no_fault(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "nest", "pieces", *week(tmp_path)]
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False, timeout=60)
    assert done.returncode == 2
    assert done.stderr == (
        "standard output: cannot write: No space left on device; free some space or send it elsewhere\n"
    )
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "w") as broken:
        done = subprocess.run(command, stdout=broken, stderr=subprocess.PIPE, text=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_plan_that_fails_the_check_is_our_own_fault_and_never_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = (Violation(place="S01-A", rule="gap", text="0 mm expected"),)
    monkeypatch.setattr(pipeline, "check_plan", lambda *_, **__: broken)
    code, out, err = nest(capsys, "plan", *week(tmp_path), "--out", str(tmp_path / "out"), *WORK)
    assert (code, out) == (1, "")
    assert "our own fault, nothing written" in err
    assert "S01-A" in err
    assert not (tmp_path / "out").exists()


def test_an_unexpected_error_is_one_line_and_a_traceback_only_on_request(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a\nb" + "c" * 500)

    monkeypatch.setattr("nest.outlook.week.plan_week", fail)
    monkeypatch.delenv("NEST_DEBUG", raising=False)
    args = ["plan", *week(tmp_path), "--out", str(tmp_path / "out")]
    code, out, err = nest(capsys, *args)
    assert (code, out) == (1, "")
    assert err.startswith("a fault of our own, nothing written (ZeroDivisionError: a bccc")
    assert "please report it" in err
    assert err.count("\n") == 1
    assert len(err) < 500
    monkeypatch.setenv("NEST_DEBUG", "1")
    assert "Traceback (most recent call last)" in nest(capsys, *args)[2]


def test_store_trouble_exits_4(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(_: object) -> int:
        raise StockError("the store is locked; try again")

    monkeypatch.setattr(planning, "plan_week", locked)
    assert nest(capsys, "plan", *week(tmp_path)) == (4, "", "the store is locked; try again\n")


def test_check_says_what_it_read_and_warns_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    jobs = JOBS.replace("3101,Cyan,QF170,200,280,96", "3101,Cyan,QF170,200,300,96")
    room = ROOM.replace("border = 5.0", "border = 5.0\ngap = 3.0")
    code, out, err = nest(capsys, "check", *week(tmp_path, jobs, room))
    assert (code, err) == (0, "")
    lines = out.replace(f"{tmp_path}/", "").splitlines()
    # around 300 * (1 - 9.896017 / 304.8) + 10 = 300.26; longest 304.8 - 9.896017 - 2 = 292.90
    assert lines[0].startswith("warning: job 3101 Cyan: around 300.")
    assert lines[1].startswith("warning: QF170: gap 3 mm ")
    assert lines[2:] == [
        "week.csv: 4 rows, 3 jobs, 6 pieces, 2 of them only fill free area",
        "room.toml: 1 material, 1 stocked sheet, 0 offcuts, 0 stations, guillotine cutting, lengths in mm",
        "  QF170: 6 pieces; store: 5 of across 600 / around 800 mm (1 kept back)",
        "no fault found",
    ]


def test_pieces_prints_an_aligned_table_after_the_wrap_warnings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    jobs = JOBS.replace("3101,Cyan,QF170,200,280,96", "3101,Cyan,QF170,200,300,96")
    code, out, err = nest(capsys, "pieces", *week(tmp_path, jobs))
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].startswith("warning: job 3101 Cyan: around 300.")
    assert lines[1] == ""
    # 300 * (1 - 9.896017 / 304.8) = 290.2598; with borders 300.2598
    assert lines[3].split() == [
        "3101", "Cyan", "QF170", "1", "200", "300", "304.8", "0.967533", "210", "300.26", "set", "no",
    ]  # fmt: skip
    assert lines[-1] == "lengths in mm"


def test_pieces_as_csv_keeps_warnings_off_standard_output(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    jobs = JOBS.replace("3101,Cyan,QF170,200,280,96", "3101,Cyan,QF170,200,300,96")
    code, out, err = nest(capsys, "pieces", *week(tmp_path, jobs), "--csv")
    assert code == 0
    assert out.startswith("job,separation,part,material,copies,")
    assert len(out.splitlines()) == 5
    assert err.startswith("warning: job 3101 Cyan: ")


def test_version_and_python_m_agree(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = nest(capsys, "--version")
    assert (code, out) == (0, f"nest, version {version('nest')}\n")
    done = subprocess.run([sys.executable, "-m", "nest", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout == out


def test_help_loads_none_of_the_heavy_libraries() -> None:
    # the figure to keep is nest --help under 0.3 s; what costs time is importing these
    script = (
        "import sys, nest\n"
        "from nest.cli import ends\n"
        "code = ends.run(['plan', '--help'])\n"
        "heavy = {'numpy', 'numba', 'highspy', 'jsonschema', 'reportlab', 'ezdxf', 'python_calamine'}\n"
        "heavy &= set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy or code else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "nest plan jobs.csv --room room.toml" in done.stdout
