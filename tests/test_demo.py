"""The demo: a week that shows what the product does, and next steps that run as printed."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from nest.check.opinion import check_plan
from nest.cli.demo import demo_files
from nest.cli.ends import run
from nest.domain.job import Need, Together, Turn
from nest.intake import read_week
from nest.output.plan_file import load_plan
from nest.plates.pieces import piece_of, wrap_warning

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room


@dataclass(frozen=True, slots=True, kw_only=True)
class Demo:
    """What one run of the demo left behind."""

    out: Path
    text: str
    rows: tuple[Row, ...]
    room: Room
    plan: Plan


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    out = tmp_path_factory.mktemp("my demo") / "out"
    with pytest.MonkeyPatch.context() as patch:
        said: list[str] = []
        patch.setattr("nest.cli.planning.show", said.append)
        patch.setattr("nest.cli.demo.show", said.append)
        assert run(["demo", "--out", str(out)]) == 0
    rows, room = read_week(out / "week" / "jobs.csv", out / "week" / "room.toml")
    return Demo(out=out, text="".join(said), rows=rows, room=room, plan=load_plan(out / "plan.json"))


def test_the_week_shows_every_kind_of_row(demo: Demo) -> None:
    rows = demo.rows
    assert len({row.job for row in rows}) >= 8
    assert len({row.material for row in rows}) == len(demo.room.materials) == 2
    assert {row.turn for row in rows} >= {None, Turn.FREE, Turn.FIXED, Turn.CROSS}
    assert demo.room.turn is Turn.SET
    assert any(row.need is Need.FILL for row in rows)
    assert {row.together for row in rows} >= {Together.PLATE, Together.LOT, Together.COPIES}
    assert any(row.alone for row in rows)
    assert any(row.apart and row.copies > 1 for row in rows)
    assert any(row.part for row in rows)
    assert any(row.at_plate_size for row in rows)
    assert any(row.teeth is not None for row in rows)
    assert any(row.repeat_mm is not None and row.teeth is None for row in rows)
    assert all(row.customer and row.title for row in rows)
    assert any(row.ready and row.due for row in rows)
    assert len(demo.room.offcuts) >= 2


def test_every_piece_goes_round_its_cylinder(demo: Demo) -> None:
    assert [text for row in demo.rows if (text := wrap_warning(piece_of(row, demo.room), demo.room))] == []


def test_the_plan_is_complete_and_holds(demo: Demo) -> None:
    assert [row for row in demo.plan.unplaced if row.need is Need.MUST] == []
    assert check_plan(demo.plan, demo.rows, demo.room) == ()


def test_the_plan_shows_what_the_product_is_for(demo: Demo) -> None:
    sheets = demo.plan.sheets
    plates = [plate for sheet in sheets for plate in sheet.plates]
    assert any(rest.kept for sheet in sheets for rest in sheet.rests)
    assert any(len(sheet.plates) + len(sheet.rests) > 1 for sheet in sheets)
    assert any(len({piece.job for piece in plate.pieces}) > 1 for plate in plates)
    assert {sheet.source.kind.value for sheet in sheets} == {"sheet", "offcut"}


def test_sharing_plates_is_cheaper_than_planning_job_by_job(demo: Demo) -> None:
    saved = re.search(r"sharing plates and\s+sheets saves ([0-9.]+)", demo.text)
    assert saved
    assert float(saved[1]) > 0


def test_the_week_is_copied_as_shipped(demo: Demo) -> None:
    assert {path.name: path.read_text(encoding="utf-8") for path in (demo.out / "week").iterdir()} == demo_files()


def test_the_next_steps_name_real_files_and_commands_that_run(
    demo: Demo, capsys: pytest.CaptureFixture[str]
) -> None:
    steps = demo.text.split("\nNEXT\n")[1]
    words = dict(line.strip().split(":", 1) for line in steps.splitlines())
    for key, end, start in (
        ("open in a browser", ".html", "<!DOCTYPE html>"), ("print at 100 % and cut by it", ".svg", "<?xml"),
    ):  # fmt: skip
        (file,) = shlex.split(words[key])
        assert file.endswith(end)
        assert file.startswith(str(demo.out))
        assert (demo.out / file.rsplit("/", 1)[1]).read_text(encoding="utf-8").startswith(start)
    commands = [shlex.split(words[key]) for key in words if words[key].strip().startswith("nest ")]
    assert [command[1] for command in commands] == ["verify", "pieces", "plan"]
    for command in commands:
        more = ["--work-limit", "5"] if command[1] == "plan" else []
        assert run([*command[1:], *more]) == 0, command
    assert capsys.readouterr().out


def test_a_changed_week_is_never_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    week = tmp_path / "out" / "week"
    week.mkdir(parents=True)
    (week / "jobs.csv").write_text("mine\n", encoding="utf-8")
    assert run(["demo", "--out", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err == (
        f"{week}/jobs.csv: has been changed and would be overwritten; plan it with: nest plan {week}/jobs.csv --room "
        f"{week}/room.toml, or choose another folder with --out\n"
    )
    assert {path.name: path.read_text(encoding="utf-8") for path in week.iterdir()} == {"jobs.csv": "mine\n"}
