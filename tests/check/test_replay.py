"""Cuts played back."""

from __future__ import annotations

from nest.check.geometry import Box
from nest.check.replay import Parting, unmatched
from tests.check.plans import cut


def test_two_cuts_leave_three_parts() -> None:
    table = Parting(Box(0.0, 0.0, 100.0, 60.0))
    assert table.cut(cut(1, None, 0.0, 20.0, 100.0, 20.0)) is None
    assert table.cut(cut(2, None, 40.0, 60.0, 40.0, 20.0)) is None
    assert table.parts == [Box(0.0, 0.0, 100.0, 20.0), Box(0.0, 20.0, 40.0, 60.0), Box(40.0, 20.0, 100.0, 60.0)]


def test_a_cut_that_stops_short_or_goes_through_two_parts_is_refused() -> None:
    table = Parting(Box(0.0, 0.0, 100.0, 60.0))
    assert table.cut(cut(1, None, 0.0, 20.0, 99.0, 20.0)) is not None
    assert table.cut(cut(1, None, 50.0, 0.0, 50.0, 60.0)) is None
    assert table.cut(cut(2, None, 0.0, 20.0, 100.0, 20.0)) is not None


def test_a_slanted_cut_and_a_point_are_refused() -> None:
    table = Parting(Box(0.0, 0.0, 100.0, 60.0))
    assert table.cut(cut(1, None, 0.0, 20.0, 100.0, 21.0)) is not None
    assert table.cut(cut(1, None, 5.0, 5.0, 5.0, 5.0)) is not None


def test_a_cut_along_an_edge_takes_nothing_and_is_refused() -> None:
    table = Parting(Box(0.0, 0.0, 100.0, 60.0))
    assert table.cut(cut(1, None, 0.0, 60.0, 100.0, 60.0)) is not None
    assert table.cut(cut(1, None, 0.0, 59.9985, 100.0, 59.9985)) is not None
    assert table.cut(cut(1, None, 0.0, 59.997, 100.0, 59.997)) is None


def test_edges_less_than_two_thousandths_apart_are_one_cut() -> None:
    # The pieces' common edge is at 50.0000 and 50.0015; one cut at 50.0000 frees both.
    table = Parting(Box(0.0, 0.0, 100.0, 60.0))
    assert table.cut(cut(1, None, 50.0, 0.0, 50.0, 60.0)) is None
    wanted = [Box(0.0, 0.0, 50.0, 60.0), Box(50.0015, 0.0, 100.0, 60.0)]
    assert unmatched(wanted, table.parts) == ([], [])


def test_one_part_serves_one_box_only() -> None:
    part = Box(0.0, 0.0, 50.0, 60.0)
    assert unmatched([part, part], [part]) == ([1], [])
