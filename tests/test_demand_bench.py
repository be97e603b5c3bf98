"""The benchmark of simulated demand works, in miniature."""

from __future__ import annotations

import pytest

from nest.buying.checks import Ratios
from nest.buying.demand import sizes_of
from nest.buying.nesting import Drawn
from tests.bench import demand


def test_what_the_short_search_draws_more_is_told_before_and_after_the_correction() -> None:
    _, room = demand.weeks_of("narrow", held_out=True)
    sizes = len(sizes_of(room))
    pairs = [
        demand.Pair(
            rows=60, fast=Drawn(sheets=(10,) * sizes, cost=110.0, drawn_m2=11.0), seconds=(0.1, 9.0),
            whole=Drawn(sheets=(8,) * sizes, cost=100.0, drawn_m2=10.0),
        )
    ]  # fmt: skip
    told = demand.compared(pairs, room, Ratios(sheets=(0.84,) * sizes, cost=0.9, used=0.92, weeks=3))
    assert "sheets 30 short, 25.2 corrected, 24 whole: +25.0% short, +5.0% corrected" in told
    assert "area of new sheets +25.0% short, +5.0% corrected" in told
    assert "cost +10.0% short, -1.0% corrected" in told
    assert "used_m2 +10.0% short, +1.2% corrected" in told


def test_weeks_held_out_are_others_than_those_of_the_history() -> None:
    for shop in (None, "wide"):
        past, _ = demand.weeks_of(shop, held_out=False)
        others, _ = demand.weeks_of(shop, held_out=True)
        assert len(past) == len(others) == 25
        assert all(one != two for one, two in zip(past, others, strict=True))


@pytest.mark.slow
def test_the_speed_is_told_in_miniature(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(demand, "JOBS_FOR_ROWS", 2.0)
    assert demand.main(["speed", "--weeks", "20", "--cores", "2", "--alone"]) == 0
    assert "results equal: True" in capsys.readouterr().out
