"""The forecast sheet and its back-test on demand that is made up."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from nest.buying import back_test as module
from nest.buying.back_test import HORIZON, back_test, origins_of, paths_needed, size_test
from nest.buying.checks import NONE, Ratios
from nest.buying.crew import Crew
from nest.buying.demand import Demand, SizeKey
from nest.buying.forecast import band_of, forecast_sheet
from nest.buying.past import History, PastWeek, Wishes
from nest.domain.room import Imager, Material, Room
from nest.output.forecast_text import forecast_csv, forecast_text

MONDAY = date(2027, 3, 1)
KEYS = (SizeKey(material="QF170", across_mm=900.0, around_mm=1200.0),
        SizeKey(material="QF284", across_mm=900.0, around_mm=1200.0))  # fmt: skip
ROOM = Room(imager=Imager(max_across_mm=1300.0, max_around_mm=1600.0),
            materials={"QF170": Material(name="QF170", thickness_mm=1.7, base_mm=0.125)})  # fmt: skip


def demand_of(sheets: np.ndarray, first: date = MONDAY) -> Demand:
    none = np.zeros(sheets.shape[:2])
    return Demand(sizes=KEYS[: sheets.shape[2]], sheets=sheets, cost=none, drawn_m2=none, kept_m2=none, pieces_m2=none,
                  first_week=first, seed=0, wanted_paths=len(sheets), basis=("made up",))  # fmt: skip


def history_of(weeks: int) -> History:
    return History(weeks=tuple(PastWeek(monday=MONDAY + timedelta(weeks=n)) for n in range(weeks)))


def test_bands_are_numbers_that_were_met() -> None:
    band = band_of(np.array([0, 0, 0, 1, 2, 2, 3, 3, 9, 9]))
    assert (band.low90, band.low50, band.high50, band.high90) == (0, 0, 3, 9)
    assert band.mean == pytest.approx(2.9)


def test_weeks_together_are_summed_path_by_path() -> None:
    # a path of many sheets goes on so: the sum of the bands is not the band of the sums
    sheets = np.repeat(np.arange(1, 101)[:, None], 4, axis=1)[:, :, None]
    past = demand_of(np.array([[[2], [4], [6], [8]]]), MONDAY - timedelta(weeks=4))
    (size,) = forecast_sheet(demand_of(sheets), past).sizes
    assert (size.weeks[0].low90, size.weeks[0].high90) == (5, 95)
    assert (size.upto[3].low90, size.upto[3].high90) == (20, 380)
    assert size.past == (2, 4, 6, 8)
    # sd of 2, 4, 6, 8 is 2.582, over the root of four weeks
    assert size.past_error == pytest.approx(1.29099, abs=1e-4)


def test_the_sheet_says_what_its_bands_leave_out() -> None:
    sheets = np.random.default_rng(1).poisson(5, (50, 13, 2))
    past = demand_of(np.random.default_rng(2).poisson(5, (1, 6, 2)), MONDAY - timedelta(weeks=6))
    sheet = forecast_sheet(demand_of(sheets), past, untested="it needs 12 past weeks and there are 6")
    text = forecast_text(sheet)
    assert "mean of 6 past weeks is itself unsure" in text
    assert "BACK-TEST: none, it needs 12 past weeks" in text
    assert text.count("\n  2027-0") == 13
    rows = forecast_csv(sheet).splitlines()
    assert len(rows) == 1 + 2 * (6 + 13)
    assert rows[1].startswith("QF170 900x1200,2027-01-18,past,")
    assert rows[7].split(",")[:3] == ["QF170 900x1200", "2027-03-01", "forecast"]
    one = forecast_sheet(demand_of(sheets), demand_of(np.ones((1, 1, 2), np.int64), MONDAY - timedelta(weeks=1)))
    assert "± unknown" in forecast_text(one)


def test_forecasts_of_the_back_test_do_not_overlap_and_end_at_the_last_week() -> None:
    assert origins_of(26) == [10, 14, 18, 22]
    assert origins_of(12) == [8]
    assert origins_of(11) == []
    assert len(origins_of(200)) == 13
    assert origins_of(200)[-1] == 196
    assert paths_needed(26, 200) == 4 * 50
    assert paths_needed(26, 20) == 4 * 20


def test_each_forecast_knows_the_weeks_before_it_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    known: list[int] = []
    done: list[int] = []

    def simulate(history: History, _room: Room, wishes: Wishes, means: Crew, ratios: Ratios) -> Demand:
        known.append(len(history.weeks))
        assert ratios == NONE
        assert (wishes.weeks, wishes.paths, wishes.first_week) == (HORIZON, 50, None)
        means.told(50, 50)
        return demand_of(np.full((50, HORIZON, 1), 3), history.next_monday)

    monkeypatch.setattr(module, "simulate", simulate)
    past = demand_of(np.full((1, 26, 1), 3))
    out = back_test(history_of(26), past, ROOM, Wishes(paths=200), Crew(told=lambda n, _count: done.append(n)))
    assert known == [10, 14, 18, 22]
    assert done == [50, 100, 150, 200]
    assert out is not None
    assert out.origins == tuple(MONDAY + timedelta(weeks=n) for n in known)
    (size,) = out.sizes
    assert (size.bias, size.off, size.plain_bias, size.plain_off) == (0.0, 0.0, 0.0, 0.0)
    assert (size.in50, size.in90, size.due50, size.due90) == (1.0, 1.0, 1.0, 1.0)
    assert back_test(history_of(11), past, ROOM, Wishes(), Crew()) is None


def test_an_interrupted_back_test_keeps_whole_forecasts(monkeypatch: pytest.MonkeyPatch) -> None:
    left = [50, 50, 20]

    def simulate(history: History, _room: Room, wishes: Wishes, means: Crew, ratios: Ratios) -> Demand:
        return demand_of(np.full((left.pop(0), HORIZON, 1), 3))

    monkeypatch.setattr(module, "simulate", simulate)
    out = back_test(history_of(26), demand_of(np.full((1, 26, 1), 3)), ROOM, Wishes(), Crew())
    assert out is not None
    assert len(out.origins) == 2


def test_bias_distance_and_coverage_are_worked_out_by_hand() -> None:
    futures = np.array([[0, 1], [2, 3], [4, 5], [6, 7]])[:, :, None]
    trial = module.Trial(futures=futures, came=np.array([[2], [9]]), plain=np.array([5.0]))
    size = size_test("QF170 900x1200", [trial], 0)
    # means 3 and 4 against 2 and 9
    assert size.bias == pytest.approx((1 - 5) / 2)
    assert size.weekly == 5.5
    assert size.off == pytest.approx(11 - 7)
    assert size.plain_bias == pytest.approx(5 - 5.5)
    # half bands 0-4 and 1-5: the first holds, the second does not
    assert size.in50 == 0.5
    assert size.due50 == 0.75
    assert (size.in90, size.due90) == (0.5, 1.0)


def test_bands_of_right_futures_hold_the_share_due() -> None:
    chance = np.random.default_rng(11)
    trials = [
        module.Trial(futures=chance.poisson(6, (200, 4, 1)), came=chance.poisson(6, (4, 1)), plain=np.array([6.0]))
        for _ in range(250)
    ]
    size = size_test("x", trials, 0)
    # 1,000 weeks: standard error of a share at most sqrt(0.25 / 1000) = 0.016
    assert size.in50 == pytest.approx(size.due50, abs=4 * 0.016)
    assert size.in90 == pytest.approx(size.due90, abs=4 * 0.009)
    assert abs(size.bias) < 4 * 6**0.5 / 1000**0.5
    assert size.due50 > 0.5
