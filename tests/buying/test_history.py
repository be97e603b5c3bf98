from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from nest.buying.history import Releases, Remakes, named_week, read_history
from nest.buying.yields import read_yield
from nest.cli.ends import run
from nest.errors import InputError
from nest.output.plan_file import load_plan
from tests.buying.weeks import room_text

if TYPE_CHECKING:
    from pathlib import Path

HEAD = "job,separation,material,image_across,image_around,ready,due\n"


@pytest.fixture
def room(tmp_path: Path) -> Path:
    path = tmp_path / "room.toml"
    path.write_text(room_text(), encoding="utf-8")
    return path


def jobs(path: Path, *lines: str) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text(HEAD + "".join(f"{line}\n" for line in lines), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("name", "monday"),
    [("2026-W31", date(2026, 7, 27)), ("jobs 2026w31 final", date(2026, 7, 27)), ("2026-08-02", date(2026, 7, 27)),
     ("2026-W54", None), ("12026-W31", None), ("2026-02-30", None), ("W31", None)],
)  # fmt: skip
def test_a_week_or_day_in_a_name_is_its_week(name: str, monday: date | None) -> None:
    assert named_week(name) == monday


def test_files_named_after_their_week_give_weeks_without_a_gap(tmp_path: Path, room: Path) -> None:
    jobs(tmp_path / "past" / "2026-W31.csv", "1,Black,QF170,100,100,2020-01-01,")
    jobs(tmp_path / "past" / "2026-W34.csv", "1,Black,QF170,100,100,,", "2,Black,QF170,100,100,,")
    (tmp_path / "past" / "notes.txt").write_text("not read")
    history, _ = read_history([tmp_path / "past"], room)
    assert [(week.monday, week.jobs) for week in history.weeks] == [
        (date(2026, 7, 27), 1), (date(2026, 8, 3), 0), (date(2026, 8, 10), 0), (date(2026, 8, 17), 2),
    ]  # fmt: skip
    assert history.next_monday == date(2026, 8, 24)


def test_a_file_without_a_week_is_dated_job_by_job(tmp_path: Path, room: Path) -> None:
    # the earliest ready of any row of a job; due only where no row has a ready
    file = jobs(tmp_path / "all.csv", "1,Cyan,QF170,100,100,2026-07-29,2026-08-20", "1,Black,QF170,100,100,2026-08-05,",
                "2,Black,QF170,100,100,,2026-08-09")  # fmt: skip
    history, _ = read_history([file], room)
    assert [(week.monday, [row.job for row in week.rows]) for week in history.weeks] == [
        (date(2026, 7, 27), ["1", "1"]), (date(2026, 8, 3), ["2"]),
    ]  # fmt: skip


def test_a_job_number_of_two_files_of_a_week_is_two_jobs(tmp_path: Path, room: Path) -> None:
    one = jobs(tmp_path / "2026-W31 a.csv", "1,Black,QF170,100,100,,")
    two = jobs(tmp_path / "2026-W31 b.csv", "1,Black,QF170,100,100,,")
    history, _ = read_history([one, two], room)
    assert [row.job for row in history.weeks[0].rows] == ["1", "1 (2)"]
    assert history.weeks[0].jobs == 2


def test_every_fault_of_every_file_is_told_at_once(tmp_path: Path, room: Path) -> None:
    one = jobs(tmp_path / "2026-W31.csv", "1,Black,QF17,100,100,,", "2,Black,QF170,-5,100,,")
    two = jobs(tmp_path / "undated.csv", "3,Black,QF170,100,100,,")
    (tmp_path / "empty").mkdir()
    with pytest.raises(InputError) as caught:
        read_history([one, two, tmp_path / "empty", tmp_path / "gone.csv"], room)
    said = str(caught.value)
    for words in (
        "2026-W31.csv:2: material: no such material", "2026-W31.csv:3: image_across: must be above 0; got '-5'",
        "undated.csv:2: job 3: nothing tells the week it was made in; fill ready or due, or name the file",
        "empty: must hold jobs files (.csv, .xlsx) or folders of plans", "gone.csv:", "5 faults, nothing written",
    ):  # fmt: skip
        assert words in said


def test_a_wrong_year_is_told_instead_of_a_thousand_empty_weeks(tmp_path: Path, room: Path) -> None:
    file = jobs(tmp_path / "all.csv", "1,Black,QF170,100,100,2026-07-29,", "2,Black,QF170,100,100,1926-07-29,")
    with pytest.raises(InputError, match="past weeks must lie within 1040 weeks; got 1926-07-26 to 2026-07-27"):
        read_history([file], room)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a ledger, a room and a plan on it, of which only the first sheet is released."""
    folder = tmp_path_factory.mktemp("planned")
    (folder / "room.toml").write_text(room_text(), encoding="utf-8")
    lines = [f"{job},{colour},QF170,400,500,2026-07-29," for job in (1, 2, 3) for colour in ("Cyan", "Black", "Red")]
    jobs(folder / "jobs.csv", *lines)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert run(["stock", "start", "store.db"]) == 0
        assert run(["stock", "receive", "store.db", "--material", "QF170", "--across", "900", "--around", "1200",
                    "--sheets", "9", "--price", "80", "--on", "2026-07-01"]) == 0  # fmt: skip
        assert run(["plan", "jobs.csv", "--room", "room.toml", "--stock", "store.db", "--out", "plans/a",
                    "--work-limit", "50", "--on", "2026-07-30"]) == 0  # fmt: skip
        assert run(["release", "plans/a", "--stock", "store.db", "--sheets", "S01", "--on", "2026-08-04"]) == 0
    return folder


def test_a_plan_gives_the_pieces_it_placed(planned: Path) -> None:
    history, _ = read_history([planned / "plans"], planned / "room.toml")
    assert [(week.monday, week.pieces) for week in history.weeks] == [(date(2026, 7, 27), 9)]
    assert history.notes == ("1 plan among them, with the pieces that they placed",)
    assert history.remade is None


def test_with_the_ledger_only_what_was_released_counts_in_the_week_it_was(planned: Path) -> None:
    from nest.cli.forecasting import told_by

    releases, remakes = told_by([planned / "plans"], planned / "store.db")
    history, _ = read_history([planned / "plans"], planned / "room.toml", releases, remakes)
    (first, *_) = load_plan(planned / "plans" / "a" / "plan.json").sheets
    pieces = sum(len(plate.pieces) for plate in first.plates)
    assert 0 < pieces < 9
    assert [(week.monday, week.pieces) for week in history.weeks] == [(date(2026, 8, 3), pieces)]


def test_a_plan_that_was_never_released_is_told(planned: Path) -> None:
    with pytest.raises(InputError, match="must hold a plan that the ledger has released"):
        read_history([planned / "plans" / "a"], planned / "room.toml", Releases(days={}))


def test_pieces_made_again_are_counted_and_are_no_rows_of_their_own(planned: Path) -> None:
    folder = planned / "plans" / "a"
    told = {folder: Remakes(rows=[("1", "Cyan", "")], pieces=1)}
    history, _ = read_history([folder], planned / "room.toml", None, told)
    assert history.weeks[0].pieces == 8
    assert history.remake_rate == 1 / 8


def test_a_plan_of_a_material_the_room_no_longer_has_is_told(planned: Path, tmp_path: Path) -> None:
    other = tmp_path / "room.toml"
    other.write_text('[imager]\nmax_across = 900\nmax_around = 900\n[materials.HB]\nthickness = 1.7\nbase = 0.1\n')
    with pytest.raises(InputError, match="material: must be a material of the room; got 'QF170'"):
        read_history([planned / "plans" / "a"], other)


def test_the_yield_of_plans_is_their_credited_one(planned: Path) -> None:
    found = read_yield(planned / "plans")
    plan = load_plan(planned / "plans" / "a" / "plan.json")
    assert found.share == pytest.approx(plan.totals.yields.credited, abs=1e-4)
    assert found.source == f"of 1 plan in {planned / 'plans'}"
    assert read_yield(planned / "plans" / "a").share == found.share
