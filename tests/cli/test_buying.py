"""nest buy from end to end: demand file, room file and ledger in, words, CSV and JSON out; and each message."""

from __future__ import annotations

import csv
import io
import json
import shlex
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from nest.buying.demand import Demand, SizeKey
from nest.buying.demand_file import dump_demand
from nest.store import orders
from nest.store.ledger import Ledger
from tests.weeks import JOBS, ROOM, WORK, nest, week

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    Say = Callable[..., str]

KEY = SizeKey(material="QF170", across_mm=600.0, around_mm=800.0)
TERMS = ROOM.replace("on_hand = 5", "on_hand = 5\nper_box = 4\ndelivery_days = 5")
ON = "--on 2027-03-01"


def demand_file(folder: Path, weekly: int = 3, weeks: int = 13, *, paths: int = 40, wanted: int = 40,
                keys: tuple[SizeKey, ...] = (KEY,)) -> None:  # fmt: skip
    sheets = np.random.default_rng(1).poisson(weekly, (paths, weeks, len(keys)))
    none = np.zeros((paths, weeks))
    made = Demand(sizes=keys, sheets=sheets, cost=none, drawn_m2=none, kept_m2=none, pieces_m2=none, seed=1,
                  first_week=date(2027, 3, 1), wanted_paths=wanted, basis=("made up for a test",))  # fmt: skip
    (folder / "forecast").mkdir(exist_ok=True)
    (folder / "forecast" / "demand.csv").write_text(dump_demand(made), encoding="utf-8")


@pytest.fixture
def say(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Say:
    """Run a command in the test's folder; return what it printed, and what it told where ``told``."""
    monkeypatch.chdir(tmp_path)
    week(tmp_path, JOBS, TERMS)
    demand_file(tmp_path)

    def run(line: str, code: int = 0, *, told: bool = False) -> str:
        got, out, err = nest(capsys, *shlex.split(line))
        assert got == code, (line, out, err)
        return err if told or code else out

    return run


def flat(text: str) -> str:
    """Return a text as if its lines were not broken."""
    return " ".join(text.split())


def test_the_buyer_is_told_what_why_and_how_sure(say: Say) -> None:
    text = say(f"buy forecast --room room.toml {ON}")
    assert all(len(line) <= 106 for line in text.splitlines())
    assert flat(text).startswith(
        "BUY TODAY, 2027-03-01: 8 sheets, 320.00 EUR "
        "QF170 600x800: 2 boxes of 4 = 8 sheets at 40.00 = 320.00 EUR, comes 2027-03-08 "
        "demand until the next delivery on 2027-03-15: 2-12 sheets, 95 %: 11; on hand 5, kept back 1: 4 to count on "
        "risk of running short by 2027-03-15: "
    )
    for words in (" % with the order, ", " % without, ", "before anything ordered today can come next order: "):
        assert words in flat(text)
    assert "IF IT GOES ON LIKE THIS, 13 weeks from 2027-03-01, mean of 40 simulated futures" in text
    assert "made up for a test" in text
    assert "stock order" not in text


def test_the_day_of_a_buyer_from_proposal_to_delivery(say: Say, tmp_path: Path) -> None:
    say("stock start store.db --room room.toml --on 2027-01-11")
    text = say(f"buy forecast --room room.toml --stock store.db {ON}")
    (note,) = [line.strip() for line in text.splitlines() if line.strip().startswith("nest stock order")]
    assert note == (
        "nest stock order store.db --material QF170 --across 600 --around 800 --boxes 2 --per-box 4 --price 40 "
        "--due 2027-03-08 --on 2027-03-01"
    )
    say(note.removeprefix("nest "))
    again = say(f"buy forecast --room room.toml --stock store.db {ON}")
    assert again.startswith("BUY TODAY, 2027-03-01: nothing\n")
    assert "on hand 5, kept back 1, on order 8: 12 to count on" in flat(again)
    say("stock receive store.db --material QF170 --across 600 --around 800 --boxes 2 --per-box 4 --price 40 "
        "--on 2027-03-08")  # fmt: skip
    with Ledger(tmp_path / "store.db") as ledger:
        assert ledger.stock().orders == ()
    later = say("buy forecast --room room.toml --stock store.db --on 2027-03-08")
    assert "on hand 13, kept back 1: 12 to count on" in flat(later)


def test_a_plan_that_is_not_released_is_committed(say: Say) -> None:
    say("stock start store.db --room room.toml --on 2027-01-11")
    say(f"plan week.csv --room room.toml --stock store.db {ON} --out plan {shlex.join(WORK)}")
    line = f"buy forecast --room room.toml --stock store.db --plan plan {ON}"
    assert "committed 1: 3 to count on" in flat(say(line))
    assert "stand in for the simulated demand of this week" in say(line, told=True)
    say(f"release plan --stock store.db {ON}")
    assert "on hand 4, kept back 1: 3 to count on" in flat(say(line))
    # without a ledger nothing is known to be released
    assert "committed 1: 3 to count on" in flat(say(f"buy forecast --room room.toml --plan plan {ON}"))


def test_csv_and_json_hold_the_same_figures(say: Say) -> None:
    (row,) = csv.DictReader(io.StringIO(say(f"buy forecast --room room.toml {ON} --csv")))
    document = json.loads(say(f"buy forecast/demand.csv --room room.toml {ON} --json"))
    assert (document["format"], document["version"], document["day"]) == ("nest-proposal", 1, "2027-03-01")
    (size,) = document["sizes"]
    assert (row["size"], row["order_sheets"], row["boxes"]) == ("QF170 600x800", "8", "2")
    assert (size["sheets"], size["boxes"], size["position"]) == (8, 2, 4)
    assert float(row["risk_without"]) == pytest.approx(size["risk_without"], abs=1e-4)
    assert row["cover_until"] == size["cover"]["until"] == "2027-03-15"
    assert float(row["bought"]) == pytest.approx(size["outlook"]["bought"], abs=0.005)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("buy nowhere --room room.toml", "nowhere: must be a readable demand file"),
        ("buy forecast --room none.toml", "none.toml"),
        ("buy forecast --room room.toml --on 2027-05-24",
         "must last until the order after today's has come: 10 working days from 2027-05-24; got 5 working days; "
         "forecast anew, at least 14 weeks"),
        ("buy forecast --room room.toml --csv --json", "give --csv or --json, not both"),
        ("buy forecast --room room.toml --on soon", "'soon' is no date"),
    ],
)  # fmt: skip
def test_wrong_use_is_told_with_a_remedy(say: Say, line: str, words: str) -> None:
    assert words in say(line, 2)


def test_files_that_do_not_belong_together_are_refused(say: Say, tmp_path: Path) -> None:
    other = SizeKey(material="QF284", across_mm=900.0, around_mm=1200.0)
    demand_file(tmp_path, keys=(KEY, other))
    fault = say(f"buy forecast --room room.toml {ON}", 2)
    assert "room.toml: sheets: must list QF284 900x1200, which forecast" in fault
    demand_file(tmp_path)
    week(tmp_path, JOBS, TERMS.replace("on_hand = 5\n", ""))
    assert "QF170 600x800 must say how many are on hand" in say(f"buy forecast --room room.toml {ON}", 2)
    say("stock start inches.db --unit in")
    assert "the ledger is kept in unit in" in say(f"buy forecast --room room.toml --stock inches.db {ON}", 4)
    assert "no such ledger" in say(f"buy forecast --room room.toml --stock none.db {ON}", 4)


def test_what_makes_a_proposal_less_sure_is_warned_of(say: Say, tmp_path: Path) -> None:
    demand_file(tmp_path, paths=30, wanted=40)
    told = say("buy forecast --room room.toml --on 2027-04-05", told=True)
    assert "warning: the forecast is 5 weeks old" in told
    assert "warning: the forecast was interrupted after 30 of 40 futures" in told
    week(tmp_path, JOBS, ROOM)
    assert "no delivery_days in the room file" in say("buy forecast --room room.toml --on 2027-02-01", told=True)
    assert "the forecast begins on 2027-03-01" in say("buy forecast --room room.toml --on 2027-02-01", told=True)
    extra = '[[sheets]]\nmaterial = "QF170"\nacross = 500.0\naround = 700.0\nprice = 30.0\non_hand = 1\n[costs]'
    week(tmp_path, JOBS, TERMS.replace("[costs]", extra))
    assert "QF170 500x700 has no simulated demand" in say(f"buy forecast --room room.toml {ON}", told=True)


def test_orders_in_inches_are_noted_in_inches(say: Say, tmp_path: Path) -> None:
    inches = """unit = "in"
[imager]
max_across = 40
max_around = 50
[materials.QF170]
thickness = 0.067
base = 0.005
[[sheets]]
material = "QF170"
across = 24
around = 30
price = 40.0
delivery_days = 5
"""
    week(tmp_path, JOBS, inches)
    demand_file(tmp_path, keys=(SizeKey(material="QF170", across_mm=609.6, around_mm=762.0),))
    say("stock start store.db --unit in")
    text = say(f"buy forecast --room room.toml --stock store.db {ON}")
    (line,) = [line.strip() for line in text.splitlines() if line.strip().startswith("nest stock order")]
    assert "--across 24 --around 30 --sheets " in line
    say(line.removeprefix("nest "))
    with Ledger(tmp_path / "store.db") as ledger:
        assert ledger.stock().orders[0].across_mm == 609.6
        orders.cancel(ledger, "P-0001", date(2027, 3, 2))


def test_an_offer_with_faults_is_refused_with_every_fault(say: Say, tmp_path: Path) -> None:
    (tmp_path / "past").mkdir()
    (tmp_path / "past" / "2027-W08.csv").write_text(JOBS, encoding="utf-8")
    offer = tmp_path / "offer.toml"
    for text, words in (
        ("[[sheets]]\nmaterial = 'QF9'\nacross = 5\naround = 5\nprice = 3\n", "toml:2: sheets[1].material: no such"),
        ("[[sheets]]\nmaterial = 'QF170'\nacross = 5\naround = 5\n", "the required key 'price' is missing"),
        ("sheets = 5\n", "must be an array of tables"),
        ("# nothing\n", "must hold at least one sheet"),
        ("[[sheets\n", "not valid TOML"),
        ("[buying]\n", "unknown key"),
    ):
        offer.write_text(text, encoding="utf-8")
        assert words in say("sizes past --room room.toml --offer offer.toml", 2), text
    assert "no sheets of this material; got QF284; known: QF170" in say(
        "sizes past --room room.toml --material QF284", 2
    )
