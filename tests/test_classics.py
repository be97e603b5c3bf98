"""Classical rectangles with known optima through the same engine: no keep-outs, price 1 a bin, no credits.

Instances (figures typed in from public copies of the sets):

- Hopper & Turton 2001, "An empirical investigation of meta-heuristic and heuristic algorithms for a 2D packing
  problem", European Journal of Operational Research 128, 34-57, doi 10.1016/S0377-2217(99)00357-4: C1 P1 and C3 P1 are
  cut from one object without waste, so the optimum is one bin.
- Berkey & Wang 1987, "Two-dimensional finite bin-packing algorithms", Journal of the Operational Research Society 38,
  423-429, doi 10.1057/jors.1987.70 (classes 1 to 6), and Martello & Vigo 1998, "Exact solution of the two-dimensional
  finite bin packing problem", Management Science 44, 388-399, doi 10.1287/mnsc.44.3.388 (classes 7 to 10). All those
  here reach their area bound, so that bound proves the optimum.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from nest.domain.job import Turn
from nest.domain.room import Cutting
from tests.packing.shop import imager, planned, room, row, sheet

Size = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Classic:
    """One instance: size of its bins, its items, the least number of bins, how many more free cutting may take here."""

    name: str
    bin: Size
    items: tuple[Size, ...]
    optimum: int
    turns: tuple[Turn, ...]
    more_when_free: int = 0


EITHER, TURNED = (Turn.FIXED, Turn.FREE), (Turn.FREE,)
SMALL = ((7, 5), (10, 6), (5, 6), (7, 2), (4, 8), (9, 10), (8, 5), (8, 6), (4, 9), (9, 3), (3, 10), (9, 5), (1, 7),
         (8, 9), (4, 6), (3, 6), (4, 3), (10, 2), (6, 1), (1, 4))  # fmt: skip
CLASSICS = (
    Classic(name="class 1, 20 items, no. 3", bin=(10, 10), items=SMALL, optimum=7, turns=TURNED, more_when_free=1),
    Classic(name="class 2, 20 items, no. 3", bin=(30, 30), items=SMALL, optimum=1, turns=EITHER),
    Classic(
        name="class 1, 20 items, no. 4", bin=(10, 10), optimum=5, turns=TURNED,
        items=((4, 7), (1, 3), (1, 3), (6, 7), (8, 2), (9, 4), (6, 2), (7, 7), (3, 6), (2, 7), (3, 8), (4, 3), (1, 9),
               (8, 1), (1, 10), (7, 6), (9, 5), (3, 7), (8, 3), (6, 9)),
    ),
    Classic(
        name="class 10, 20 items, no. 3", bin=(100, 100), optimum=4, turns=TURNED,
        items=((29, 32), (25, 26), (40, 88), (44, 46), (29, 36), (16, 45), (96, 92), (90, 71), (42, 1), (19, 26),
               (15, 14), (49, 8), (76, 29), (88, 19), (45, 98), (20, 7), (2, 18), (9, 23), (36, 42), (2, 17)),
    ),
)  # fmt: skip
ZERO_WASTE = (
    Classic(
        name="C1 P1", bin=(20, 20), optimum=1, turns=EITHER,
        items=((2, 12), (7, 12), (8, 6), (3, 6), (3, 5), (5, 5), (3, 12), (3, 7), (5, 7), (2, 6), (3, 2), (4, 2),
               (3, 4), (4, 4), (9, 2), (11, 2)),
    ),
    Classic(
        name="C3 P1", bin=(40, 15), optimum=1, turns=EITHER,
        items=((11, 3), (11, 3), (13, 3), (9, 2), (7, 2), (9, 3), (7, 3), (11, 2), (11, 2), (13, 2), (11, 4), (13, 4),
               (3, 5), (3, 5), (2, 2), (2, 3), (5, 4), (6, 4), (12, 2), (1, 2), (13, 5), (12, 4), (1, 4), (5, 2),
               (6, 2)),
    ),
)  # fmt: skip


def bins_and_bound(classic: Classic, turn: Turn, cutting: Cutting, work: int) -> tuple[int, float]:
    """Return how many bins the checked plan takes and its bound."""
    rows = [row("a", float(w), float(h), job=f"{at:02d}", turn=turn) for at, (w, h) in enumerate(classic.items)]
    shop = room(sheet(float(classic.bin[0]), float(classic.bin[1]), price=1.0), imager=imager(), cutting=cutting)
    plan = planned(rows, shop, work_limit=work)
    assert plan.unplaced == ()
    assert plan.totals.cost == plan.totals.sheets
    return plan.totals.sheets, plan.totals.bound


@pytest.mark.parametrize("cutting", list(Cutting))
@pytest.mark.parametrize(("classic", "turn"), [
    pytest.param(one, turn, id=f"{one.name}, {turn}") for one in CLASSICS for turn in one.turns
])
def test_classical_bins_are_packed_at_their_known_optimum(classic: Classic, turn: Turn, cutting: Cutting) -> None:
    bins, bound = bins_and_bound(classic, turn, cutting, work=100)
    assert bound <= classic.optimum
    more = classic.more_when_free if cutting is Cutting.FREE else 0
    assert classic.optimum <= bins <= classic.optimum + more


@pytest.mark.parametrize("cutting", list(Cutting))
@pytest.mark.parametrize(("classic", "turn"), [
    pytest.param(one, turn, id=f"{one.name}, {turn}") for one in ZERO_WASTE for turn in one.turns
])
def test_zero_waste_instances_are_never_beaten(classic: Classic, turn: Turn, cutting: Cutting) -> None:
    area = sum(w * h for w, h in classic.items)
    assert area == classic.bin[0] * classic.bin[1]
    bins, bound = bins_and_bound(classic, turn, cutting, work=40)
    assert 0.9 <= bound <= classic.optimum
    assert classic.optimum <= bins <= 2
