"""A small invented store for tests: one ledger, sheets of two sizes, an offcut."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from nest.domain.room import Unit
from nest.domain.stock import Act, Delivery, Found
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.opening import create

if TYPE_CHECKING:
    from pathlib import Path

    from nest.domain.stock import Stock

DAY = date(2027, 3, 1)


def fresh(folder: Path, name: str = "store.db", unit: Unit = Unit.MM) -> Path:
    """Make an empty ledger."""
    path = folder / name
    create(path, unit, "EUR")
    return path


def delivery(**more: Any) -> Delivery:
    """Return ten sheets of QF170, changed as told."""
    usual: dict[str, Any] = {
        "material": "QF170", "across_mm": 900.0, "around_mm": 1200.0, "sheets": 10, "price_cents": 8640,
        "received": date(2027, 1, 11), "lot": "A6-118", "expiry": date(2027, 9, 30),
    }  # fmt: skip
    return Delivery(**{**usual, **more})


def found(**more: Any) -> Found:
    """Return an offcut of QF170, changed as told."""
    usual: dict[str, Any] = {
        "material": "QF170", "across_mm": 410.0, "around_mm": 880.0, "value_cents": 1200, "made": date(2027, 1, 11),
        "lot": "A6-118", "expiry": date(2027, 9, 30),
    }  # fmt: skip
    return Found(**{**usual, **more})


def stocked(folder: Path) -> Path:
    """Make a ledger with L-0001 (10 sheets) and the offcut F-0001 cut from it."""
    path = fresh(folder)
    with Ledger(path) as ledger:
        actions.take_in(ledger, [delivery()], [found(parent="L-0001")], DAY, act=Act.IMPORT, reason="first", key=None)
    return path


def balances(stock: Stock) -> dict[str, int]:
    """Return what there is of each lot and offcut, by id."""
    return {lot.id: lot.on_hand for lot in stock.lots} | {o.id: int(o.on_rack) for o in stock.offcuts}


def balances_of(path: Path) -> dict[str, int]:
    """Return what a ledger file holds of each lot and offcut."""
    with Ledger(path) as ledger:
        return balances(ledger.stock())
