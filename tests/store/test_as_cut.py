from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from nest.domain.plan import Plan, Source, SourceKind
from nest.domain.stock import AsCut, CutState, Stock
from nest.errors import InputError
from nest.store import actions
from nest.store.as_cut import as_really_cut
from nest.store.ledger import Ledger
from nest.store.release import SheetRelease, planned_releases
from tests.check.plans import cut_sheet, plate_room
from tests.store.shop import DAY, delivery, stocked

if TYPE_CHECKING:
    from pathlib import Path

# the hand-made sheet: 900 x 1200 for 86.40, a plate of 900 x 800 at its foot, a kept rest of 900 x 400 credited 15.28


@pytest.fixture
def stock(tmp_path: Path) -> Stock:
    with Ledger(stocked(tmp_path)) as ledger:
        actions.receive(ledger, delivery(lot="other"), DAY)
        actions.receive(ledger, delivery(lot="small", around_mm=700.0), DAY)
        actions.receive(ledger, delivery(lot="thick", material="QF284"), DAY)
        return ledger.stock()


def plan(kind: SourceKind = SourceKind.SHEET, ref: str = "L-0001") -> Plan:
    made = cut_sheet().plan
    sheet = replace(made.sheets[0], material="QF170", source=Source(kind=kind, ref=ref))
    return replace(made, sheets=(sheet,))


def really(stock: Stock, *cuts: AsCut, of: Plan | None = None) -> SheetRelease:
    made = plan() if of is None else of
    (one,) = as_really_cut(planned_releases(made, DAY), cuts, made, plate_room().costs, stock, DAY, "cut.csv")
    return one


def said(state: CutState, rest: str = "", **more: Any) -> AsCut:
    return AsCut(**{"sheet": "S01", "state": state, "rest": rest, "line": 2, **more})


def test_without_a_line_the_release_is_as_planned(stock: Stock) -> None:
    one = really(stock)
    assert (one.source, one.pieces, one.spoilt) == ("L-0001", 5, ())
    (rest,) = one.rests
    assert (rest.across_mm, rest.around_mm, rest.value_cents, rest.sheet) == (900.0, 400.0, 1528, "S01-R1")


def test_a_rest_of_another_size_is_valued_by_the_room_files_rates(stock: Stock) -> None:
    one = really(stock, said(CutState.KEPT, "S01-R1", across_mm=900.0, around_mm=300.0, place="R2"))
    (rest,) = one.rests
    # 48 a m2 x 0.27 m2 x 300/400 - 2 = 7.72
    assert (rest.around_mm, rest.value_cents, rest.place, rest.sheet) == (300.0, 772, "R2", "S01-R1")


def test_a_rest_can_be_scrapped_and_one_more_kept(stock: Stock) -> None:
    assert really(stock, said(CutState.SCRAP, "S01-R1")).rests == ()
    one = really(stock, said(CutState.SCRAP, "S01-R1"), said(CutState.KEPT, across_mm=400.0, around_mm=400.0))
    assert [(rest.across_mm, rest.sheet) for rest in one.rests] == [(400.0, "S01")]


def test_a_damaged_sheet_is_taken_once_more(stock: Stock) -> None:
    one = really(stock, said(CutState.DAMAGED, note="creased"))
    assert (one.source, one.spoilt, one.remark) == ("L-0001", ("L-0001",), "creased")
    one = really(stock, said(CutState.DAMAGED, source="L-0002"))
    assert (one.source, one.spoilt) == ("L-0002", ("L-0001",))


def test_another_lot_can_have_been_drawn(stock: Stock) -> None:
    one = really(stock, said(CutState.DRAWN, source="L-0002"))
    assert (one.source, one.spoilt) == ("L-0002", ())


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        (said(CutState.SCRAP, "S01-R9"), "rest: must be a rest of S01; got 'S01-R9'"),
        (said(CutState.SCRAP, sheet="S09"), "sheet: must be a sheet that is being released; got 'S09'"),
        (said(CutState.KEPT, "S01-R1", across_mm=400.0, around_mm=1300.0), "a rest is no larger than its sheet"),
        (said(CutState.DRAWN, source="L-0099"), "must be a lot or offcut of the ledger"),
        (said(CutState.DRAWN, source="L-0003"), "the plates of S01 need 900 x 800 mm; got 900 x 700 mm"),
        (said(CutState.DRAWN, source="L-0004"), "must be QF170; got QF284"),
    ],
)
def test_a_line_that_cannot_be_is_a_fault_with_its_line(cut: AsCut, words: str, stock: Stock) -> None:
    with pytest.raises(InputError) as caught:
        really(stock, cut)
    assert str(caught.value).startswith("cut.csv:2: ")
    assert words in str(caught.value)


def test_rests_that_do_not_fit_beside_the_plates_are_a_fault(stock: Stock) -> None:
    with pytest.raises(InputError, match="plates and kept rests must fit on the sheet"):
        really(stock, said(CutState.KEPT, across_mm=400.0, around_mm=400.0))


def test_a_damaged_offcut_needs_to_be_told_what_was_taken_instead(stock: Stock) -> None:
    made = plan(SourceKind.OFFCUT, "F-0001")
    with pytest.raises(InputError, match="an offcut is there once"):
        really(stock, said(CutState.DAMAGED), of=made)
    one = really(stock, said(CutState.DAMAGED, source="L-0002"), of=made)
    assert (one.source, one.spoilt) == ("L-0002", ("F-0001",))
