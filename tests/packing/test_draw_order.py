from __future__ import annotations

from collections import Counter
from datetime import date, datetime, time, timedelta
from itertools import product
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.job import Together
from nest.packing.draw_order import first_expired_first
from nest.packing.problem import BinLayout, Placed, PlateLayout
from tests.packing.shop import offcut, problem_of, room, row, sheet

if TYPE_CHECKING:
    from nest.packing.translate import MaterialProblem

FIRST = date(2027, 6, 1)


def layout(at: int, *units: int) -> BinLayout:
    """Return a bin of a type that holds units; where they lie does not matter here."""
    placed = tuple(Placed(unit=u, item=0, x=0, y=0, axis=0) for u in units)
    plate = PlateLayout(x=0, y=0, w=1, h=1, lead=0, level=0, placed=placed)
    return BinLayout(bin=at, cost=1.0, plates=(plate,), rests=(), cuts=())


def on(days: int | None) -> date | None:
    return None if days is None else FIRST + timedelta(days=days)


def made(stock: list[tuple[int, int | None]], dues: list[int | None], lot_jobs: list[int]) -> MaterialProblem:
    """Return a problem of equal sheets, (on hand, days to expiry) each, and a unit per due date, some of one lot."""
    sheets = [
        sheet(300, 300, name=f"L{n}", lot=f"l{n}", on_hand=have, expiry=on(days))
        for n, (have, days) in enumerate(stock)
    ]
    rows = [
        row(f"u{n:02d}", 100, 100, job=f"j{job}" if job else f"s{n:02d}",
            due=None if due is None else datetime.combine(FIRST + timedelta(days=due), time()),
            **({"together": Together.LOT} if job else {}))
        for n, (due, job) in enumerate(zip(dues, lot_jobs, strict=True))
    ]  # fmt: skip
    return problem_of(rows, room(*sheets))


def valid(problem: MaterialProblem, bins: tuple[BinLayout, ...]) -> bool:
    used = Counter(one.bin for one in bins)
    lots: dict[int, set[int]] = {}
    for one in bins:
        for u in one.units:
            unit = problem.problem.units[u]
            if one.bin not in unit.bins:
                return False
            if unit.lot_set >= 0:
                lots.setdefault(unit.lot_set, set()).add(problem.problem.bins[one.bin].lot)
    return all(used[t] <= b.stock for t, b in enumerate(problem.problem.bins)) and all(
        len(s) == 1 for s in lots.values()
    )


def test_equal_sheets_come_from_the_earliest_expiry_then_the_oldest() -> None:
    stock = [
        sheet(300, 300, name="a", on_hand=2, received=date(2027, 2, 1)),
        sheet(300, 300, name="b", on_hand=2, expiry=on(9), received=date(2027, 2, 1)),
        sheet(300, 300, name="c", on_hand=1, expiry=on(9), received=date(2027, 1, 1)),
        sheet(300, 300, name="d", on_hand=1, expiry=on(3)),
        sheet(300, 300, 49.0, name="e", on_hand=9, expiry=on(1)),
        sheet(300, 310, name="f", on_hand=9, expiry=on(1)),
    ]
    problem = problem_of([row(f"u{n}", 100, 100) for n in range(7)], room(*stock))
    dealt = first_expired_first(
        problem, [layout(0, 0), layout(0, 1), layout(1, 2), layout(1, 3), layout(4, 4), layout(5, 5)]
    )
    assert [problem.problem.bins[one.bin].name for one in dealt] == ["d", "c", "b", "b", "e", "f"]


def test_equal_offcuts_too_but_never_one_that_is_back_exposed_for_one_that_is_not() -> None:
    stock = [offcut(300, 300, name=name, expiry=on(days), relief=relief)
             for name, days, relief in (("R-1", 9, None), ("R-2", 3, None), ("R-3", 1, 0.6))]  # fmt: skip
    problem = problem_of([row("a", 100, 100, relief=0.6)], room(sheet(300, 300), offcuts=tuple(stock)))
    names = [b.name for b in problem.problem.bins]
    (dealt,) = first_expired_first(problem, [layout(names.index("R-1"), 0)])
    assert names[dealt.bin] == "R-2"


def test_a_job_that_keeps_one_lot_over_two_sizes_stays_where_it_is() -> None:
    sheets = [sheet(300, 300 + 10 * size, name=f"{lot}{size}", lot=lot, expiry=on(days))
              for lot, days in (("early", 3), ("late", 9)) for size in (0, 1)]  # fmt: skip
    rows = [row(f"u{n}", 100, 100, job="j", together=Together.LOT) for n in range(2)]
    problem = problem_of(rows, room(*sheets))
    names = [b.name for b in problem.problem.bins]
    before = [layout(names.index("late0"), 0), layout(names.index("late1"), 1)]
    assert list(first_expired_first(problem, before)) == before


@settings(max_examples=150, deadline=None)
@given(
    stock=st.lists(st.tuples(st.integers(0, 3), st.one_of(st.none(), st.integers(0, 9))), min_size=1, max_size=3),
    dues=st.lists(st.one_of(st.none(), st.integers(0, 9)), min_size=1, max_size=5),
    data=st.data(),
)
def test_every_deal_keeps_the_rules_and_no_other_draws_more_from_the_first(
    stock: list[tuple[int, int | None]], dues: list[int | None], data: st.DataObject
) -> None:
    jobs = [data.draw(st.sampled_from((0, 0, 0, 1))) for _ in dues]
    problem = made(stock, dues, jobs)
    count = len(problem.problem.units)
    starts = [
        bins for types in product(range(len(stock)), repeat=count)
        if valid(problem, bins := tuple(layout(t, u) for u, t in enumerate(types)))
    ]  # fmt: skip
    if not starts:
        return
    start = data.draw(st.sampled_from(starts))
    dealt = first_expired_first(problem, start)
    assert valid(problem, dealt)
    assert [one.units for one in dealt] == [one.units for one in start]
    if any(jobs):
        return
    order = sorted(range(len(stock)), key=lambda t: (on(stock[t][1]) or date.max, t))

    def from_first(bins: tuple[BinLayout, ...]) -> list[int]:
        used = Counter(one.bin for one in bins)
        return [used[t] for t in order]

    assert from_first(dealt) == max(map(from_first, starts))
