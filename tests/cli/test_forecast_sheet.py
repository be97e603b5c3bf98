"""nest forecast's sheet and nest sizes from end to end, on a few very small weeks."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from tests.weeks import ROOM, nest, week

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

HEAD = "job,separation,material,image_across,image_around,copies\n"
FILES = ["demand.csv", "forecast.csv", "forecast.svg", "forecast.txt"]


def past(folder: Path, weeks: int) -> list[str]:
    """Write past weeks of one, two or three pieces that fill a sheet each; return what commands are given."""
    (folder / "past").mkdir()
    for n in range(weeks):
        rows = f"{n},Black,QF170,400,600,{1 + n % 3}\n"
        (folder / "past" / f"2026-W{20 + n}.csv").write_text(HEAD + rows, encoding="utf-8")
    week(folder, room=ROOM)
    return [str(folder / "past"), "--room", str(folder / "room.toml")]


def test_a_forecast_is_held_against_its_past(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = [*past(tmp_path, 16), "--out", str(tmp_path / "out"), "--checks", "0", "--cores", "1", "--weeks", "5"]
    code, out, err = nest(capsys, "forecast", *given, "--paths", "4")
    assert code == 0, err
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == FILES
    assert "FORECAST: sheets in 5 weeks from 2026-08-31" in out
    assert "BACK-TEST: 2 forecasts of 4 weeks, each from the weeks before it alone, 4 futures: " in out
    assert (tmp_path / "out" / "forecast.txt").read_text(encoding="utf-8") == out
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out" / "forecast.csv").read_text(encoding="utf-8"))))
    drawn = [int(row["sheets"]) for row in rows if row["kind"] == "past"]
    # one sheet a piece, and now and then one for a piece made again
    assert len(drawn) == 16
    assert all(1 + n % 3 <= sheets <= 2 + n % 3 for n, sheets in enumerate(drawn))
    assert len([row for row in rows if row["kind"] == "forecast"]) == 5


def test_a_short_past_is_told_and_not_tested(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = [*past(tmp_path, 3), "--out", str(tmp_path / "out"), "--checks", "0", "--cores", "1", "--weeks", "2"]
    code, out, err = nest(capsys, "forecast", *given, "--paths", "2")
    assert code == 0, err
    assert "BACK-TEST: none, it needs 12 past weeks and there are 3: how far off such forecasts are is not known" in out
    assert "the mean of 3 past weeks is itself unsure" in out
    code, out, err = nest(capsys, "forecast", *given, "--paths", "2", "--no-back-test")
    assert "BACK-TEST: none, as asked for (--no-back-test)" in out


def test_sizes_are_tried_with_what_a_supplier_offers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    given = [*past(tmp_path, 4), "--paths", "2", "--weeks", "4", "--cores", "1"]
    offer = tmp_path / "offer.toml"
    offer.write_text(
        '[[sheets]]\nmaterial = "QF170"\nacross = 500.0\naround = 700.0\nprice = 25.0\n'
        '[[sheets]]\nmaterial = "QF170"\nacross = 300.0\naround = 700.0\nprice = 15.0\n', encoding="utf-8",
    )  # fmt: skip
    code, out, err = nest(capsys, "sizes", *given, "--offer", str(offer))
    assert code == 0, err
    assert "QF170: trying 7 sets of sizes" in err
    assert "every set tried (7)" in out
    # what fits the small sheet is cheaper on it; the smallest takes nothing
    assert "1: 500x700 (offer)" in out
    assert "300x700 (offer) cannot take every piece: 100.0 % of the area fits none of its sheets" in out
    code, out, err = nest(capsys, "sizes", *given, "--offer", str(offer), "--csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert len(rows) == 7
    assert [row["best_of_its_number"] for row in rows].count("yes") == 3
    assert float(rows[0]["cost"]) <= float(rows[1]["cost"])
