"""The store's commands: exit codes, exact words, and then the ledger."""

from __future__ import annotations

import io
import json
import shlex
import shutil
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest

from nest.cli.release import rack_words
from nest.cli.stock_app import stock
from nest.cli.stock_view import left_out
from nest.domain.stock import Act
from nest.intake.room import read_room
from nest.store import actions
from nest.store.ledger import Ledger
from tests.store.shop import DAY, balances_of, delivery, found, stocked
from tests.weeks import JOBS, ROOM, WORK, nest, week

if TYPE_CHECKING:
    from collections.abc import Callable

    Say = Callable[..., str]

LOTTED = ROOM.replace("on_hand = 5", 'on_hand = 5\nlot = "A6"\nexpiry = 2027-09-30\nreceived = 2027-01-11')
OFFCUT = '[[offcuts]]\nid = "F-0031"\nmaterial = "QF170"\nacross = 300.0\naround = 500.0\nvalue = 6.0\nlot = "A6"\n'
CHECKER = Path(__file__).parents[3] / "shared" / "tools" / "check_plan.py"


@pytest.fixture
def say(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Say:
    """Run a command in the test's folder and return what it printed; ``code`` is the exit code expected."""
    monkeypatch.chdir(tmp_path)

    def run(line: str, code: int = 0) -> str:
        got, out, err = nest(capsys, *shlex.split(line))
        assert got == code, (line, out, err)
        return out if code == 0 else err

    week(tmp_path, JOBS, LOTTED.replace("[costs]", OFFCUT + "[costs]"))
    return run


def started(say: Say) -> None:
    say("stock start store.db --room room.toml --on 2027-01-11")


def test_a_ledger_takes_a_room_files_stock_over(say: Say, tmp_path: Path) -> None:
    assert say("stock start store.db --room room.toml --on 2027-01-11 --dry-run") == (
        "would book 1, start: taken over from the room file\n  +5  L-0001  receipt\n  +1  F-0031  offcut\n"
        "nothing booked: dry run\n"
    )
    assert not (tmp_path / "store.db").exists()
    started(say)
    assert balances_of(tmp_path / "store.db") == {"L-0001": 5, "F-0031": 1}
    assert "exists already" in say("stock start store.db", 4)
    assert say("stock start inches.db --unit in --currency USD") == (
        "inches.db: a new ledger, lengths in in, prices in USD\n")  # fmt: skip


def test_boxes_are_received_once(say: Say, tmp_path: Path) -> None:
    started(say)
    line = (
        "stock receive store.db --material QF170 --across 600 --around 800 --boxes 2 --per-box 4 --sheets 1 "
        "--price 41.50 --lot B7 --expiry 2028-01-31 --place R1 --delivery D-9 --on 2027-03-01"
    )
    booked = "  +9  L-0002  receipt\n  L-0002 lies at R1\n"
    assert say(f"{line} --dry-run") == f"would book 2, receive: D-9\n{booked}nothing booked: dry run\n"
    assert say(line) == f"booking 2, receive: D-9\n{booked}"
    assert say(line, 4) == "store.db: booked already, as booking 2 on 2027-03-01; nothing has been changed\n"
    assert balances_of(tmp_path / "store.db") == {"L-0001": 5, "L-0002": 9, "F-0031": 1}


def test_an_order_is_listed_until_it_comes_in(say: Say, tmp_path: Path) -> None:
    started(say)
    size = "--material QF170 --across 600 --around 800"
    line = f"stock order store.db {size} --boxes 2 --per-box 4 --due 2027-03-08 --price 41.50 --on 2027-03-01"
    booked = "  P-0001: 8 × QF170 600x800 ordered, due 2027-03-08\n"
    assert say(f"{line} --dry-run") == f"would book 2, order\n{booked}nothing booked: dry run\n"
    assert say(line) == f"booking 2, order\n{booked}"
    listed = say("stock list store.db --on 2027-03-09")
    assert "ON ORDER: 8 sheets\n" in listed
    assert "P-0001  QF170        600     800  2027-03-01  2027-03-08 LATE        8   8  41.50\n" in listed
    came = say(f"stock receive store.db {size} --sheets 6 --price 41.50 --on 2027-03-09")
    assert came == "booking 3, receive\n  +6  L-0002  receipt\n  P-0001: 6 came in as L-0002, 2 still to come\n"
    assert say("stock cancel store.db P-0001 --reason short --on 2027-03-10") == (
        "booking 4, cancel: short\n  P-0001: 2 will not come\n"
    )
    assert "ON ORDER" not in say("stock list store.db --on 2027-03-10")
    assert "P-0007: the ledger has no such order" in say("stock cancel store.db P-0007", 4)
    assert "cannot be due on 2027-02-01" in say(line.replace("03-08", "02-01"), 4)
    assert "no such order" in say(f"stock receive store.db {size} --sheets 6 --price 41.50 --order P-9", 4)
    say(f"stock receive store.db {size} --sheets 1 --price 41.50 --order none --on 2027-03-11")


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("--sheets 1 --price 4.005", "--price: must have at most two decimals; got '4.005'"),
        ("--sheets 1 --price -3", "--price: must be from 0"),
        ("--sheets many --price 3", "--sheets: must be a number; got 'many'"),
        ("--boxes 2 --price 3", "--boxes needs --per-box"),
        ("--price 3", "say how many"),
        ("--sheets 1 --price 3 --expiry 31.1.2028", "--expiry: must be an ISO date"),
        ("--sheets 1 --price 3 --on yesterday", "'yesterday' is no date"),
    ],
)
def test_a_receipt_typed_wrong_is_wrong_use(more: str, words: str, say: Say, tmp_path: Path) -> None:
    started(say)
    assert words in say(f"stock receive store.db --material Q --across 600 --around 800 {more}", 2)
    with Ledger(tmp_path / "store.db") as ledger:
        assert ledger.revision() == 1


def test_the_list_tells_lots_and_offcuts(say: Say) -> None:
    started(say)
    listed = say("stock list store.db --on 2027-03-01")
    assert "L-0001  QF170        600     800  A6   2027-01-11  2027-09-30        5  40.00  200.00  -" in listed
    assert "F-0031  QF170        300     500  A6   -       untouched    49  6.00  5.69  -" in listed
    assert "2027-09-30 PASSED" in say("stock list store.db --on 2027-10-01")
    by_size = say("stock list store.db --by size --on 2027-03-01").splitlines()
    assert by_size[2].split() == ["QF170", "600", "800", "1", "5", "2027-09-30", "200.00"]
    assert "0 sheets in 0 lots" in say("stock list store.db --material QF284")
    # 263 days old: 600 x (1 - 0.9 x 233 / 330)
    assert say("stock value store.db --on 2027-10-01").splitlines()[1].split() == [
        "QF170", "5", "200.00", "1", "6.00", "2.19", "200.00", "2.19"]  # fmt: skip


def test_each_writing_command_shows_its_movements_first_and_then_books_them(say: Say, tmp_path: Path) -> None:
    started(say)
    for line, moves in (
        ("scrap store.db L-0001 --sheets 2 --reason creased", "  -2  L-0001  scrap\n"),
        ("place store.db F-0031 R4", "  F-0031 lies at R4\n"),
        ("expose store.db F-0031 0.6", "  F-0031 is back-exposed to relief 0.6\n"),
        ("set store.db rack_limit 30", "  rack_limit is 30\n"),
        ("remake store.db --job 3101 --separation Cyan --reason scratch --cost 9.50",
         "  1 of job 3101 Cyan made again, reason scratch\n"),
        ("expire store.db", "  -3  L-0001  expiry\n"),
        ("undo store.db 2", "  +2  L-0001  return\n"),
    ):  # fmt: skip
        before = (tmp_path / "store.db").read_bytes()
        dry = say(f"stock {line} --on 2027-10-01 --dry-run")
        assert (tmp_path / "store.db").read_bytes() == before
        done = say(f"stock {line} --on 2027-10-01")
        assert dry == "would book" + done.removeprefix("booking") + "nothing booked: dry run\n"
        assert moves in done
    assert "rack limit 30" in say("stock list store.db")
    told = say("stock history store.db F-0031")
    assert told.index("start") < told.index("F-0031 lies at R4") < told.index("back-exposed")


def test_a_stock_take_reports_then_books_what_is_confirmed(say: Say, tmp_path: Path) -> None:
    started(say)
    exported = say("stock export store.db")
    (tmp_path / "counted.csv").write_text(exported.replace(",5,,40.00", ",5,3,40.00").replace(",1,,6.00", ",1,1,6.00"))
    report = (
        "STOCK-TAKE: 1 difference, 1 line as in the ledger\n"
        "id      material  ledger  counted  change   value  place\n"
        "L-0001  QF170          5        3      -2  -80.00  -\n"
        "together -80.00 EUR\n"
    )
    dry = say("stock count store.db counted.csv --dry-run --on 2027-03-01")
    assert dry.startswith(report)
    assert dry.endswith("  -2  L-0001  count\nnothing booked: dry run\n")
    # nobody is there to ask
    assert "repeat with --yes" in say("stock count store.db counted.csv", 2)
    assert balances_of(tmp_path / "store.db")["L-0001"] == 5
    say("stock count store.db counted.csv --yes --on 2027-03-01")
    assert balances_of(tmp_path / "store.db") == {"L-0001": 3, "F-0031": 1}
    assert say("stock count store.db counted.csv") == "STOCK-TAKE: 0 differences, 2 lines as in the ledger\n"


class Terminal(io.StringIO):
    """Somebody who types an answer."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("answer", "left"), [("y\n", 3), ("n\n", 5)])
def test_the_stock_take_asks_whoever_sits_at_the_terminal(
    answer: str, left: int, say: Say, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    started(say)
    (tmp_path / "counted.csv").write_text("id,counted\nL-0001,3\n")
    monkeypatch.setattr("sys.stdin", Terminal(answer))
    out = say("stock count store.db counted.csv --on 2027-03-01")
    assert ("booking 2" in out) == (left == 3)
    assert balances_of(tmp_path / "store.db")["L-0001"] == left


def test_an_export_is_imported_once(say: Say, tmp_path: Path) -> None:
    started(say)
    (tmp_path / "stock.csv").write_text(say("stock export store.db"))
    say("stock start other.db")
    say("stock import other.db stock.csv --dry-run")
    assert balances_of(tmp_path / "other.db") == {}
    say("stock import other.db stock.csv")
    assert say("stock export other.db") == (tmp_path / "stock.csv").read_text()
    assert "booked already" in say("stock import other.db stock.csv", 4)
    assert "booking,day,act,reason,undoes,movement,id,change,cents,sheet" in say("stock export other.db --moves")


def test_a_backup_is_a_ledger(say: Say, tmp_path: Path) -> None:
    started(say)
    assert say("stock backup store.db copy.db") == "copy.db: the ledger up to booking 1, checked\n"
    assert balances_of(tmp_path / "copy.db") == balances_of(tmp_path / "store.db")
    assert "exists already" in say("stock backup store.db copy.db", 4)


def test_every_command_of_the_store_is_in_the_readme_and_has_an_example() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert len(stock.commands) >= 18
    for name, command in stock.commands.items():
        assert f"`nest stock {name} LEDGER" in readme, name
        told = command.get_help(click.Context(command, info_name=f"nest stock {name}"))
        assert f"nest stock {name} store.db" in told, name


def test_store_trouble_ends_with_4_and_one_line(say: Say, tmp_path: Path) -> None:
    (tmp_path / "text.db").write_text("no ledger at all " * 20)
    for line in ("list none.db", "list text.db", "scrap text.db L-1", "value .", "export text.db", "labels none.db"):
        told = say(f"stock {line}", 4)
        assert told.count("\n") == 1, told
    plan = say("plan week.csv --room room.toml --stock text.db --out out", 4)
    assert plan.startswith("text.db: is no ledger")
    assert not (tmp_path / "out").exists()


def test_labels_are_written_for_the_rack(say: Say, tmp_path: Path) -> None:
    started(say)
    assert say("stock labels store.db --out labels") == "labels/label-F-0031.svg\n"
    assert "not on the rack" in say("stock labels store.db F-0099", 4)


def test_what_a_plan_cannot_draw_is_told(tmp_path: Path) -> None:
    room = read_room(Path(week(tmp_path)[2])).room
    with Ledger(stocked(tmp_path)) as ledger:
        actions.receive(ledger, delivery(material="QF284", expiry=None), DAY)
        stock = ledger.stock()
    assert left_out(stock, room, date(2027, 10, 1), Path("store.db")) == [
        "not drawn, past their use-by date: L-0001, F-0001; write them off with: nest stock expire store.db",
        "not drawn, no such material in the room file: QF284",
    ]
    assert left_out(stock, room, DAY, Path("store.db")) == ["not drawn, no such material in the room file: QF284"]


def planned(say: Say, out: str = "out", day: str = "2027-03-01") -> dict[str, object]:
    say(f"plan week.csv --room room.toml --stock store.db --on {day} --out {out} {' '.join(WORK)}")
    note: dict[str, object] = json.loads(Path(out, "stock.json").read_text())["note"]
    return note


def test_a_plan_on_the_ledger_is_checked_released_and_taken_back(say: Say, tmp_path: Path) -> None:
    started(say)
    before = balances_of(tmp_path / "store.db")
    note = planned(say)
    assert (note["revision"], note["day"]) == (1, "2027-03-01")
    assert "holds" in say("verify out/plan.json")
    dry = say("release out/plan.json --stock store.db --dry-run --on 2027-03-01")
    assert balances_of(tmp_path / "store.db") == before
    done = say("release out --stock store.db --on 2027-03-01")
    assert dry.replace("would book", "booking") == done + "nothing booked: dry run\n"
    assert balances_of(tmp_path / "store.db") != before
    assert "released already: S01 (booking 2)" in say("release out --stock store.db", 4)
    say("release out --stock store.db --undo --on 2027-03-02")
    after = {ref: count for ref, count in balances_of(tmp_path / "store.db").items() if count}
    assert after == before
    assert "not released" in say("release out --stock store.db --undo", 4)


def test_a_rack_over_its_limit_is_told_with_what_is_worth_least(tmp_path: Path) -> None:
    with Ledger(stocked(tmp_path)) as ledger:
        actions.take_in(ledger, [], [found(value_cents=100), found(value_cents=900)], DAY, act=Act.IMPORT, reason="",
                        key=None)  # fmt: skip
        actions.put_setting(ledger, "rack_limit", 2, DAY)
        told = rack_words(ledger.stock(), DAY, Path("store.db"))
        assert told == (
            "the rack holds 3 offcuts, its limit is 2; worth least: F-0002; for each: nest stock scrap store.db ID "
            "--reason 'rack limit'"
        )
        actions.scrap(ledger, "F-0002", 1, "rack limit", DAY)
        assert rack_words(ledger.stock(), DAY, Path("store.db")) is None


@pytest.mark.skipif(not CHECKER.exists(), reason="the independent checker is not at hand")
def test_the_ledgers_state_as_a_room_file_passes_the_independent_checker(say: Say, tmp_path: Path) -> None:
    import subprocess
    import sys

    started(say)
    (tmp_path / "asked.toml").write_text(say("stock export store.db --room room.toml --on 2027-03-01"))
    planned(say)
    ran = subprocess.run([sys.executable, str(CHECKER), "out/plan.json", "week.csv", "asked.toml"], capture_output=True,
                         text=True, check=False)  # fmt: skip
    assert ran.returncode == 0, ran.stdout


def test_a_release_after_a_change_that_matters_is_refused_and_offers_to_plan_again(say: Say, tmp_path: Path) -> None:
    started(say)
    note = planned(say)
    refs = [str(one["ref"]) for one in note["drawn"]]  # type: ignore[attr-defined]
    say("stock receive store.db --material QF284 --across 600 --around 800 --sheets 1 --price 4 --on 2027-03-01")
    say(f"stock scrap store.db {refs[0]} --sheets {balances_of(tmp_path / 'store.db')[refs[0]]}")
    before = balances_of(tmp_path / "store.db")
    told = say("release out --stock store.db --on 2027-03-01", 4)
    assert told.startswith(f"the store has changed since the plan was made:\n  {refs[0]}: ")
    assert told.endswith("; plan again on the store as it is: nest plan JOBS --room ROOM --stock store.db --out out\n")
    assert balances_of(tmp_path / "store.db") == before


def test_a_plan_that_was_not_made_on_a_ledger_or_was_changed_since_is_not_released(say: Say, tmp_path: Path) -> None:
    started(say)
    say(f"plan week.csv --room room.toml --out plain {' '.join(WORK)}")
    assert "a plan that draws from a ledger has this file beside it" in say("release plain --stock store.db", 2)
    planned(say)
    shutil.copy(tmp_path / "plain" / "plan.json", tmp_path / "out" / "plan.json")
    assert "must belong to the plan.json beside it" in say("release out --stock store.db", 2)
    assert balances_of(tmp_path / "store.db") == {"L-0001": 5, "F-0031": 1}


def test_what_was_cut_otherwise_is_booked_as_it_was(say: Say, tmp_path: Path) -> None:
    started(say)
    planned(say)
    (tmp_path / "cut.csv").write_text("sheet,rest,state,across,around,source,note\nS01,,drawn,,,L-0009,\n")
    assert "cut.csv:2: source: must be a lot or offcut of the ledger; got 'L-0009'" in say(
        "release out --stock store.db --as-cut cut.csv", 2)  # fmt: skip
    (tmp_path / "cut.csv").write_text("sheet,state,source,note\nS01,damaged,L-0001,film scratched\n")
    done = say("release out --stock store.db --sheets S01 --as-cut cut.csv --on 2027-03-01")
    assert "film scratched" in done
    assert "scrap  for" in done
    assert "the plan has no sheet S09" in say("release out --stock store.db --sheets S09", 4)
    assert "leave --as-cut out" in say("release out --stock store.db --undo --as-cut cut.csv", 2)
