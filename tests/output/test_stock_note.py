from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from nest.domain.plan import SourceKind
from nest.domain.stock import Drawn, Reserve, StockNote
from nest.errors import InputError
from nest.output.stock_note import NAME, dump_note, load_note, text_name

if TYPE_CHECKING:
    from pathlib import Path

PLAN = '{"format": "nest-plan"}\n'
NOTE = StockNote(
    ledger="a" * 32, revision=12, day=date(2027, 3, 1), plan="3fa9", text=text_name(PLAN),
    drawn=(
        Drawn(kind=SourceKind.SHEET, ref="L-0001", count=3, across_mm=900.0, around_mm=1200.0001, cents=8640, lot="A6",
              expiry=date(2027, 9, 30), relief=None),
        Drawn(kind=SourceKind.OFFCUT, ref="F-0001", count=1, across_mm=410.0, around_mm=880.0, cents=1200, lot=None,
              expiry=None, relief=0.6),
    ),
    reserve=(Reserve(material="QF170", across_mm=900.0, around_mm=1200.0, sheets=1),),
)  # fmt: skip


def test_a_note_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    path = tmp_path / NAME
    path.write_text(dump_note(NOTE), encoding="utf-8")
    assert load_note(path, PLAN) == NOTE
    assert dump_note(load_note(path, PLAN)) == path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ('"nest-stock"', '"other"', "must be nest-stock, version 1"),
        ('"revision": 12', '"revision": "x"', "must be a int"), ('"sheet"', '"roll"', "must be a sourcekind"),
        ('"count": 3, ', "", "is missing"), ("{", "[", "must be readable JSON"),
        (text_name(PLAN), "0" * 64, "must belong to the plan.json beside it"),
    ],
)  # fmt: skip
def test_a_note_that_is_wrong_is_one_clear_fault(old: str, new: str, rule: str, tmp_path: Path) -> None:
    path = tmp_path / NAME
    path.write_text(dump_note(NOTE).replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_note(path, PLAN)
    (fault,) = caught.value.faults
    assert fault.rule == rule
    assert fault.remedy == "make the plan with nest plan --stock LEDGER"


def test_a_missing_note_says_how_to_get_one(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="has this file beside it"):
        load_note(tmp_path / NAME, PLAN)
