"""Sets of sizes, on a simulation that is made up: which are tried, what they cost, how sure the savings are."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats

from nest.buying import size_sets
from nest.buying.crew import Crew
from nest.buying.demand import Demand, sizes_of
from nest.buying.past import History, PastWeek, Wishes
from nest.buying.size_sets import difference, material_sizes, student
from nest.domain.room import Buying, Imager, Material, PriceBreak, Room, Sheet
from nest.output.size_sets_text import size_sets_csv, size_sets_text

if TYPE_CHECKING:
    from nest.buying.checks import Ratios
    from nest.domain.size_sets import MaterialSizes

MONDAY = date(2027, 3, 1)
PATHS, WEEKS = 6, 26


def sheet(across: float, price: float = 80.0, **more: object) -> Sheet:
    return Sheet(id=f"QF170 {across:g}x1200", material="QF170", across_mm=across, around_mm=1200.0, price=price,
                 delivery_days=5, **more)  # type: ignore[arg-type]  # fmt: skip


def room(*sheets: Sheet, **buying: object) -> Room:
    return Room(imager=Imager(max_across_mm=1300.0, max_around_mm=1600.0), sheets=sheets,
                materials={"QF170": Material(name="QF170", thickness_mm=1.7, base_mm=0.125)},
                buying=Buying(**buying))  # type: ignore[arg-type]  # fmt: skip


class Made:
    """Stands in for the simulation: every path and week costs the least of its sizes, which is drawn once a week."""

    def __init__(self, costs: dict[float, float], *, gain: float = 0.0, stop_after: int = 10**6) -> None:
        self.costs, self.gain, self.stop_after = costs, gain, stop_after
        self.sets: list[tuple[float, ...]] = []

    def __call__(self, _history: History, given: Room, wishes: Wishes, _means: Crew, _ratios: Ratios) -> Demand:
        sizes = sizes_of(given)
        across = tuple(size.across_mm for size in sizes)
        self.sets.append(across)
        paths = 0 if len(self.sets) > self.stop_after else wishes.paths
        weekly = min(self.costs[one] for one in across) - self.gain * (len(across) - 1)
        # a busy path is busy whatever the sizes: common random numbers
        cost = weekly + np.arange(paths)[:, None] * np.ones(wishes.weeks)
        sheets = np.zeros((paths, wishes.weeks, len(sizes)), np.int64)
        sheets[:, :, int(np.argmin([self.costs[one] for one in across]))] = 1
        area = np.ones((paths, wishes.weeks))
        pieces = area * (0.5 if across == (600.0,) else 0.8)
        return Demand(sizes=sizes, sheets=sheets, cost=cost, drawn_m2=area, kept_m2=0 * area, pieces_m2=pieces,
                      first_week=MONDAY, seed=wishes.seed, wanted_paths=wishes.paths)  # fmt: skip


def found(
    made: Made, sheets: tuple[Sheet, ...], monkeypatch: pytest.MonkeyPatch, **buying: object
) -> MaterialSizes:
    monkeypatch.setattr(size_sets, "simulate", made)
    return material_sizes(
        History(weeks=(PastWeek(monday=MONDAY),)), room(*sheets, **buying), sheets,
        Wishes(weeks=WEEKS, paths=PATHS), Crew(), offered=("QF170 1000x1200",),
    )  # fmt: skip


def test_every_set_of_few_sizes_is_tried_once(monkeypatch: pytest.MonkeyPatch) -> None:
    made = Made({800.0: 120.0, 900.0: 100.0, 1000.0: 110.0}, gain=5.0)
    out = found(made, (sheet(800.0), sheet(900.0), sheet(1000.0)), monkeypatch)
    assert sorted(made.sets) == sorted(
        [(800.0,), (900.0,), (1000.0,), (800.0, 900.0), (800.0, 1000.0), (900.0, 1000.0), (800.0, 900.0, 1000.0)]
    )
    assert out.exhaustive
    assert out.steps[0].best.sizes == ("QF170 900x1200",)
    # 100 a week and 2.5 more for the mean of the paths, over 52 weeks
    assert out.steps[0].best.plans == pytest.approx(52 * 102.5)
    # on the same weeks the paths differ by the same amount: no error at all
    saves = out.steps[1].saves
    assert saves is not None
    assert saves.more == pytest.approx(52 * 5.0)
    assert saves.within == pytest.approx(0.0, abs=1e-9)
    behind = out.steps[0].behind
    assert behind is not None
    assert behind.more == pytest.approx(52 * 10.0)


def test_orders_holding_and_what_expires_are_part_of_the_cost(monkeypatch: pytest.MonkeyPatch) -> None:
    sheets = (sheet(900.0, per_box=10, shelf_life_days=70),)
    out = found(Made({900.0: 100.0}), sheets, monkeypatch, order_cost=20.0, holding_per_year=0.26, level=0.95)
    (only,) = out.steps
    best = only.best
    # one sheet a week, boxes of ten that last 50 working days: 26 weeks take two or three orders
    assert 4 * 20.0 <= best.ordering <= 6 * 20.0
    # 2 to 12 sheets of 80 lie there, at 26 % a year
    assert 2 * 80 * 0.26 < best.holding < 12 * 80 * 0.26
    assert best.expired == pytest.approx(80.0 * best.expired_sheets)
    assert best.cost == pytest.approx(best.plans + best.ordering + best.holding + best.expired)
    assert best.sheets == pytest.approx(52.0)
    assert best.gross == pytest.approx(0.8)


def test_price_breaks_are_taken_off_the_cost_of_ordering(monkeypatch: pytest.MonkeyPatch) -> None:
    cheap = (sheet(900.0, per_box=10, price_breaks=(PriceBreak(sheets=10, price=70.0),)),)
    out = found(Made({900.0: 100.0}), cheap, monkeypatch)
    (only,) = out.steps
    # 10 less for each sheet bought, about 52 a year in boxes of ten
    assert -700.0 < only.best.ordering < -350.0


def test_a_set_that_leaves_pieces_over_is_never_best(monkeypatch: pytest.MonkeyPatch) -> None:
    out = found(Made({600.0: 50.0, 900.0: 100.0}), (sheet(600.0), sheet(900.0)), monkeypatch)
    assert out.steps[0].best.sizes == ("QF170 900x1200",)
    (short,) = [one for one in out.tried if not one.whole]
    assert short.unplaced == pytest.approx(1 - 0.5 / 0.8)
    assert out.tried[-1] == short
    assert "600x1200 cannot take every piece: 37.5 % of the area" in " ".join(size_sets_text([out]).split())


def test_many_sizes_grow_one_by_one_with_exchanges(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes = {700.0 + 50 * n: 100.0 + n for n in range(6)}
    made = Made(sizes, gain=3.0)
    out = found(made, tuple(sheet(one) for one in sizes), monkeypatch)
    assert not out.exhaustive
    assert len(made.sets) == len(set(made.sets)) < 2**6 - 1
    assert [len(step.best.sizes) for step in out.steps] == [1, 2, 3, 4, 5, 6]
    assert all("QF170 700x1200" in step.best.sizes for step in out.steps)


def test_an_interrupt_keeps_what_is_finished(monkeypatch: pytest.MonkeyPatch) -> None:
    made = Made({800.0: 120.0, 900.0: 100.0, 1000.0: 110.0}, stop_after=2)
    out = found(made, (sheet(800.0), sheet(900.0), sheet(1000.0)), monkeypatch)
    assert out.interrupted
    assert len(out.tried) == 2
    assert "INTERRUPTED after 2 sets" in size_sets_text([out])


def test_the_error_of_a_difference_is_students() -> None:
    chance = np.random.default_rng(3)
    common = chance.normal(0, 100, 12)
    one, other = 500 + common + chance.normal(0, 5, 12), 480 + common
    got = difference(one, other)
    low, high = stats.t.interval(0.95, 11, loc=(one - other).mean(), scale=stats.sem(one - other))
    assert got.more == pytest.approx((low + high) / 2)
    assert got.within == pytest.approx((high - low) / 2, rel=1e-3)
    for freedom in (1, 5, 30, 31, 60, 500):
        assert student(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), abs=2.1e-3)
    assert difference(np.array([3.0]), np.array([1.0])).within == float("inf")


def test_the_text_names_offers_savings_and_the_advice(monkeypatch: pytest.MonkeyPatch) -> None:
    made = Made({900.0: 100.0, 1000.0: 110.0}, gain=5.0)
    out = found(made, (sheet(900.0), sheet(1000.0)), monkeypatch)
    text = size_sets_text([out])
    assert "2: 900x1200 + 1000x1200 (offer)" in text
    assert "2 pay: the second size saves 260 ± 0 a year" in text
    none = size_sets_text([found(Made({900.0: 100.0, 1000.0: 100.0}), (sheet(900.0), sheet(1000.0)), monkeypatch)])
    assert "1 will do: no further size saves more than chance and the search" in none
    lines = size_sets_csv([out]).splitlines()
    assert lines[0].startswith("material,sizes,set,cost,")
    assert len(lines) == 4
    assert lines[1].startswith("QF170,2,QF170 900x1200 + QF170 1000x1200,")


def test_a_set_dearer_than_a_part_of_it_shows_what_the_search_loses(monkeypatch: pytest.MonkeyPatch) -> None:
    out = found(Made({900.0: 100.0, 1000.0: 110.0}, gain=-2.0), (sheet(900.0), sheet(1000.0)), monkeypatch)
    # both sizes together came out 2 a week dearer than one of them
    assert out.flaw == pytest.approx(52 * 2.0)
    text = " ".join(size_sets_text([out]).split())
    assert "plans of some set came out 104 dearer than those of a part of it" in text
    assert "1 will do" in text
    fair = found(Made({900.0: 100.0, 1000.0: 110.0}, gain=1.0), (sheet(900.0), sheet(1000.0)), monkeypatch)
    assert fair.flaw <= 0
    assert "search's own error" not in size_sets_text([fair])
