from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from nest.buying.demand_file import NAME, load_demand
from nest.cli.ends import run

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def past(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("past")
    assert run(["demo", "--history", "--out", str(folder)]) == 0
    return folder


def command(past: Path, out: Path, *more: str) -> list[str]:
    return ["forecast", str(past / "weeks"), "--room", str(past / "room.toml"), "--out", str(out), "--weeks", "2",
            "--paths", "2", "--checks", "0", "--cores", "1", *more]  # fmt: skip


def test_a_forecast_is_written_and_told(past: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(command(past, tmp_path / "f")) == 0
    printed = capsys.readouterr()
    demand = load_demand(tmp_path / "f" / NAME)
    assert (demand.paths, demand.weeks, demand.wanted_paths) == (2, 2, 2)
    assert printed.out.startswith("DEMAND: 2 weeks from 2027-03-01, 2 paths\n")
    assert "STANDS ON\n  - 26 past weeks from 2026-08-31 to 2027-02-28, 25 with work" in printed.out
    assert "simulating 2 paths of 2 weeks" in printed.err
    assert run(command(past, tmp_path / "g")) == 0
    assert (tmp_path / "f" / NAME).read_bytes() == (tmp_path / "g" / NAME).read_bytes()


def test_wrong_input_writes_nothing_and_tells_every_fault(
    past: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "undated.csv").write_text("job,separation,material,image_across,image_around\n1,Black,QF170,100,100\n")
    args = command(past, tmp_path / "f")
    assert run([args[0], str(tmp_path / "undated.csv"), str(tmp_path / "gone"), *args[1:]]) == 2
    said = capsys.readouterr().err
    assert "job 1: nothing tells the week it was made in" in said
    assert "gone: no such file" in said
    assert "2 faults, nothing written" in said
    assert not (tmp_path / "f").exists()


def test_a_cluster_without_its_library_is_told(
    past: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert run(command(past, tmp_path / "f", "--cluster", "tcp://127.0.0.1:9")) == 2
    assert "a cluster needs the library distributed, which is not installed" in capsys.readouterr().err
    assert not (tmp_path / "f").exists()


@pytest.mark.slow
def test_ctrl_c_keeps_the_paths_that_are_done(past: Path, tmp_path: Path) -> None:
    # far more paths than the time allows, in two processes
    args = [*command(past, tmp_path / "f"), "--paths", "100000", "--cores", "2"]
    watched = "import sys\nfrom nest.buying import crew\nfrom nest.cli.ends import run\n" \
              "real = crew.Crew.__init__\n" \
              "def told(done, _count):\n    print('done', done, file=sys.stderr, flush=True)\n" \
              "def init(self, **fields):\n    real(self, **{**fields, 'told': told})\n" \
              "crew.Crew.__init__ = init\n" \
              "if __name__ == '__main__':\n    sys.exit(run(sys.argv[1:]))\n"  # fmt: skip
    script = tmp_path / "watched.py"
    script.write_text(watched)
    process = subprocess.Popen(
        [sys.executable, str(script), *args], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)}, start_new_session=True,
    )  # fmt: skip
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("done 6"):
            break
    # as a terminal does: to every process of the group
    os.killpg(process.pid, signal.SIGINT)
    begun = time.monotonic()
    _, said = process.communicate(timeout=120)
    assert process.returncode == 130
    demand = load_demand(tmp_path / "f" / NAME)
    assert demand.wanted_paths == 100_000
    assert demand.paths >= 6
    assert f"interrupted: {demand.paths} of 100000 paths are finished and kept" in said
    assert time.monotonic() - begun < 60


def test_a_quote_of_options_and_of_a_file(past: Path, capsys: pytest.CaptureFixture[str]) -> None:
    room = ["--room", str(past / "room.toml")]
    job = ["--material", "QF170", "--across", "310", "--around", "271", "--teeth", "96", "--colours", "White,Black"]
    assert run(["quote", *room, *job, "--yield", "0.8", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [piece["separation"] for piece in document["jobs"][0]["pieces"]] == ["Black", "White"]
    assert document["jobs"][0]["sheet_area"] == pytest.approx(document["jobs"][0]["area"] / 0.8, abs=1e-6)
    # 620 a m2 of the cut area
    assert document["jobs"][0]["pieces"][0]["each"] == round(620 * document["jobs"][0]["pieces"][0]["area"], 2)
    assert run(["quote", str(past / "weeks" / "2027-W01.csv"), *room]) == 0
    assert "ALL: " in capsys.readouterr().out


@pytest.mark.parametrize(
    ("args", "said"),
    [((), "give either JOBS, or a job by"), (("jobs.csv", "--across", "3"), "give either JOBS, or a job by"),
     (("jobs.csv", "--yield", "0.8", "--yield-from", "x"), "give --yield or --yield-from, not both"),
     (("--colours", "0"), "0 is no number from 1 to 16"), (("--colours", "White,,"), "must be a number, or different"),
     (("jobs.csv", "--yield", "0"), "0<x<=1")],
)  # fmt: skip
def test_wrong_use_of_a_quote_is_told(
    past: Path, args: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["quote", *args, "--room", str(past / "room.toml")]) == 2
    assert said in capsys.readouterr().err
