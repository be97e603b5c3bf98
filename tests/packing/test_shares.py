from __future__ import annotations

import pytest

from nest.domain.job import Need
from nest.units import money
from tests.packing.shop import costs, outcome, room, row, sheet


def test_one_job_pays_the_whole_plan() -> None:
    made = outcome([row("a", 100, 100, copies=3)], room(sheet(300, 300)))
    (share,) = made.shares
    assert (share.job, share.pieces, share.share, share.alone) == ("3101", 3, 50.0, 50.0)
    assert share.piece_m2 == pytest.approx(0.03)


def test_a_sheet_is_shared_by_the_area_of_its_pieces() -> None:
    # together 300 x 300; a third and two thirds of 60, below the 60 either would cost alone
    made = outcome([row("a", 300, 100, job="A"), row("b", 300, 200, job="B")], room(sheet(300, 300, price=60.0)))
    assert [(share.job, share.share, share.alone) for share in made.shares] == [("A", 20.0, 60.0), ("B", 40.0, 60.0)]


def test_no_job_pays_more_than_planned_alone() -> None:
    # A's own offcut-sized sheet costs 10; on the large sheet its area's share is more than that
    shop = room(sheet(300, 100, price=10.0, on_hand=1), sheet(300, 300, price=90.0))
    rows = [row("a", 300, 100, job="A"), row("b", 300, 100, job="B"), row("c", 300, 200, job="C")]
    made = outcome(rows, shop)
    for share in made.shares:
        assert share.alone is not None
        assert share.share <= share.alone
    assert money(sum(share.share for share in made.shares)) <= made.plan.totals.cost


def test_fill_pieces_pay_nothing() -> None:
    rows = [row("a", 300, 200, job="A"), row("f", 100, 100, job="F", copies=3, need=Need.FILL)]
    made = outcome(rows, room(sheet(300, 300)))
    assert [(share.job, share.pieces, share.share) for share in made.shares] == [("A", 1, 50.0), ("F", 3, 0.0)]


def test_a_job_left_out_pays_nothing_but_is_listed() -> None:
    made = outcome([row("a", 400, 400, job="A"), row("b", 100, 100, job="B")], room(sheet(300, 300)))
    assert [(share.job, share.pieces, share.share) for share in made.shares] == [("A", 0, 0.0), ("B", 1, 50.0)]


def test_shares_are_whole_cents_and_never_above_the_plan() -> None:
    rows = [row("a", 99, 101, job=job) for job in "ABCDEFG"]
    made = outcome(rows, room(sheet(300, 300, price=50.01), costs=costs(plate=0.33, process_per_m2=13.37)))
    assert all(share.share == round(share.share, 2) for share in made.shares)
    total = money(sum(share.share for share in made.shares))
    # at most a cent a job is left with the room
    assert made.plan.totals.cost - 0.01 * len(rows) <= total + 1e-9 <= made.plan.totals.cost + 2e-9
