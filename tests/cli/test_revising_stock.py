"""A plan on the ledger, released in part, revised and released again: nothing is drawn twice, nothing forgotten."""

from __future__ import annotations

import json
import shlex
from typing import TYPE_CHECKING

import pytest

from nest.store.ledger import Ledger
from tests.store.shop import balances_of
from tests.weeks import JOBS, ROOM, nest, week

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    Say = Callable[..., str]

LOTTED = ROOM.replace("on_hand = 5", 'on_hand = 5\nlot = "A6"\nexpiry = 2027-09-30\nreceived = 2027-01-11')
MORE = JOBS + "3108,Red,QF170,400,560,,2,\n"
RUSH = MORE + "3109,Red,QF170,100,120,,1,\n"


@pytest.fixture
def say(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Say:
    """Run a command in the test's folder and return what it printed; ``code`` is the exit code expected."""
    monkeypatch.chdir(tmp_path)

    def run(line: str, code: int = 0) -> str:
        got, out, err = nest(capsys, *shlex.split(line))
        assert got == code, (line, out, err)
        return out if code == 0 else err

    week(tmp_path, MORE, LOTTED)
    run("stock start store.db --room room.toml --on 2027-01-11")
    run("plan week.csv --room room.toml --stock store.db --on 2027-03-01 --out out --work-limit 5")
    run("release out --stock store.db --sheets S01 --on 2027-03-01")
    return run


def sheets(folder: Path) -> dict[str, object]:
    return {one["id"]: one for one in json.loads((folder / "plan.json").read_text(encoding="utf-8"))["sheets"]}


def test_what_is_released_stays_and_the_rest_can_be_released_after_a_revision(say: Say, tmp_path: Path) -> None:
    before = sheets(tmp_path / "out")
    (tmp_path / "week.csv").write_text(RUSH, encoding="utf-8")
    said = say("replan out --jobs week.csv --stock store.db --on 2027-03-01 --work-limit 5")
    assert "added 3109/Red, 1 copy" in said
    after = sheets(tmp_path / "out")
    assert after["S01"] == before["S01"]
    drawn = len(after)
    assert "released already" in say("release out --stock store.db --sheets S01 --on 2027-03-02", 4)
    others = ",".join(sorted({*after} - {"S01"}))
    say(f"release out --stock store.db --sheets {others} --on 2027-03-02")
    assert balances_of(tmp_path / "store.db")["L-0001"] == 5 - drawn
    assert say("verify out/plan.json")


def test_a_remake_on_the_ledger_is_booked_once(say: Say, tmp_path: Path) -> None:
    line = "remake out --piece 3108/Red#1 --reason scratch --stock store.db --on 2027-03-02 --work-limit 5"
    say(f"{line} --date 2027-03-02 --dry-run")
    with Ledger(tmp_path / "store.db") as ledger:
        revision = ledger.revision()
    say(f"{line} --date 2027-03-02")
    with Ledger(tmp_path / "store.db") as ledger:
        assert ledger.revision() == revision + 1
    weeks = say("stock remakes store.db")
    assert "2027-W09" in weeks
    assert "scratch" in weeks
    assert "made for nothing (damaged)" in say(f"{line} --date 2027-03-02", 2)
    assert (tmp_path / "out" / "stock.json").is_file()


def test_a_plan_on_a_ledger_revised_without_it_is_told(
    say: Say, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = nest(capsys, "replan", "out", "--jobs", "week.csv", "--dry-run", "--work-limit", "5")
    assert code == 0
    assert "give it with --stock to know what is released" in err


def test_another_ledger_is_refused(say: Say, tmp_path: Path) -> None:
    say("stock start other.db --room room.toml --on 2027-01-11")
    before = (tmp_path / "out" / "plan.json").read_bytes()
    assert "made from another ledger" in say("replan out --jobs week.csv --stock other.db --work-limit 5", 4)
    assert (tmp_path / "out" / "plan.json").read_bytes() == before
