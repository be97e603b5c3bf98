"""What is exported comes in again exactly, runs in no spreadsheet, and agrees with plain SQL."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
import tempfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nest.domain.room import Unit
from nest.domain.stock import Act
from nest.intake.stock_tables import read_stock_list
from nest.output.stock_csv import movements_csv, stock_csv
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.release import release, undo_release
from tests.store.plans import note_on, sheet_release
from tests.store.shop import DAY, delivery, found, fresh, stocked

TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=12)
RISKY = st.one_of(TEXT, st.sampled_from(("=1+1", "+1", "-1", "@x", "'=x", "''-", '"', "a,b;c", "＝1")))
LENGTH = st.integers(100_000, 30_000_000).map(lambda units: units / 10_000)
DATES = st.one_of(st.none(), st.dates(date(2027, 1, 1), date(2030, 1, 1)))


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data(), unit=st.sampled_from(Unit))
def test_an_export_comes_in_again_exactly(data: st.DataObject, unit: Unit) -> None:
    folder = Path(tempfile.mkdtemp())
    try:
        with Ledger(fresh(folder, "one.db", unit)) as one, Ledger(fresh(folder, "two.db", unit)) as two:
            lots = [
                delivery(across_mm=data.draw(LENGTH), around_mm=data.draw(LENGTH), lot=data.draw(RISKY) or None,
                         expiry=data.draw(DATES), place=data.draw(RISKY), delivery=data.draw(RISKY),
                         price_cents=data.draw(st.integers(0, 10**7)), per_box=data.draw(st.sampled_from((None, 5))),
                         material=data.draw(RISKY) or "QF170")
                for _ in range(data.draw(st.integers(0, 3)))
            ]  # fmt: skip
            rack = [
                found(across_mm=data.draw(LENGTH), around_mm=data.draw(LENGTH), lot=data.draw(RISKY) or None,
                      relief=data.draw(st.sampled_from((None, 0.6))), place=data.draw(RISKY),
                      parent="L-0001" if lots else None, sheet=data.draw(RISKY) or None)
                for _ in range(data.draw(st.integers(0 if lots else 1, 3)))
            ]  # fmt: skip
            actions.take_in(one, lots, rack, DAY, act=Act.IMPORT, reason="", key=None)
            path = folder / "stock.csv"
            path.write_text(stock_csv(one.stock()), encoding="utf-8", newline="")
            for cell in (cell for line in csv.reader(io.StringIO(path.read_text(encoding="utf-8"))) for cell in line):
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "＝"))
            listed = read_stock_list(path, unit, DAY)
            actions.take_in(two, listed.deliveries, listed.offcuts, DAY, act=Act.IMPORT, reason="", key=None)
            assert replace(two.stock(), ledger=one.id) == one.stock()
            assert stock_csv(two.stock()) == path.read_text(encoding="utf-8")
    finally:
        shutil.rmtree(folder)


def busy(folder: Path) -> Path:
    """Return a ledger in which everything has happened once."""
    path = stocked(folder)
    with Ledger(path) as ledger:
        actions.receive(ledger, delivery(lot="=B7", price_cents=9001, sheets=7), DAY)
        sheets = [sheet_release(1, "L-0001", rests=2), sheet_release(2, "L-0002", rests=1), sheet_release(3, "F-0001")]
        note = note_on(ledger.stock(), sheets)
        release(ledger, note, sheets, DAY)
        undo_release(ledger, note.plan, ["S02"], DAY)
        actions.scrap(ledger, "L-0001", 2, "-bent", DAY)
        actions.expire(ledger, date(2028, 1, 1))
        actions.undo(ledger, ledger.revision(), DAY)
    return path


def test_every_movement_is_exported_with_its_money_and_sums_to_the_balances(tmp_path: Path) -> None:
    with Ledger(busy(tmp_path)) as ledger:
        stock = ledger.stock()
        prices = {lot.id: lot.price_cents for lot in stock.lots} | {o.id: o.value_cents for o in stock.offcuts}
        lines = list(csv.DictReader(io.StringIO(movements_csv(ledger.bookings(), prices))))
    assert "'-bent" in {line["reason"] for line in lines}
    sums: dict[str, int] = {}
    for line in lines:
        sums[line["id"]] = sums.get(line["id"], 0) + int(line["change"])
    held = {lot.id: lot.on_hand for lot in stock.lots} | {o.id: int(o.on_rack) for o in stock.offcuts}
    assert sums == held
    assert sum(int(line["cents"]) for line in lines) == sum(held[ref] * prices[ref] for ref in held)


PLAIN_SQL = """
SELECT 'lots', sum(m.change), sum(m.change * l.price) FROM movement m, lot l WHERE m.lot = l.id;
SELECT 'offcuts', sum(m.change), sum(m.change * o.value) FROM movement m, offcut o WHERE m.offcut = o.id;
SELECT m.lot, sum(m.change) FROM movement m WHERE m.lot IS NOT NULL GROUP BY m.lot ORDER BY m.lot;
SELECT m.offcut, sum(m.change) FROM movement m WHERE m.offcut IS NOT NULL GROUP BY m.offcut ORDER BY m.offcut;
PRAGMA integrity_check;
"""


@pytest.mark.skipif(shutil.which("sqlite3") is None, reason="no sqlite3 shell here")
def test_sums_agree_with_plain_sql_through_the_sqlite3_shell(tmp_path: Path) -> None:
    path = busy(tmp_path)
    ran = subprocess.run(
        ["sqlite3", "-readonly", str(path)], input=PLAIN_SQL, capture_output=True, text=True, check=True
    )
    with Ledger(path) as ledger:
        stock = ledger.stock()
    lots = sum(lot.on_hand for lot in stock.lots), sum(lot.on_hand * lot.price_cents for lot in stock.lots)
    rack = [o for o in stock.offcuts if o.on_rack]
    want = [f"lots|{lots[0]}|{lots[1]}", f"offcuts|{len(rack)}|{sum(o.value_cents for o in rack)}"]
    want += [f"{lot.id}|{lot.on_hand}" for lot in sorted(stock.lots, key=lambda lot: lot.id)]
    want += [f"{o.id}|{int(o.on_rack)}" for o in sorted(stock.offcuts, key=lambda o: o.id)]
    assert ran.stdout.splitlines() == [*want, "ok"]
