from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.progress import Lines
from nest.packing.control import News

if TYPE_CHECKING:
    import pytest


def news(problem: str, phase: str, cost: float, bound: float = 300.0, *, complete: bool = True) -> News:
    return News(problem=problem, phase=phase, cost=cost, bound=bound, complete=complete)


def test_clear_improvements_of_each_material_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    lines = Lines("EUR")
    for cost in (500.0, 496.0, 494.0, 400.0):
        lines.report(news("A", "search", cost))
    lines.report(news("B", "first plan", 700.0))
    lines.report(news("B", "dive", 699.0))
    assert capsys.readouterr() == (
        "",
        "planning A: 500.00 EUR, proven least 300.00, gap 40.0 % (search)\n"
        "planning A: 494.00 EUR, proven least 300.00, gap 39.3 % (search)\n"
        "planning A: 400.00 EUR, proven least 300.00, gap 25.0 % (search)\n"
        "planning B: 700.00 EUR, proven least 300.00, gap 57.1 % (first plan)\n",
    )


def test_while_pieces_are_left_over_no_gap_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    lines = Lines("EUR")
    lines.report(news("A", "first plan", 50.45, 42.0, complete=False))
    lines.report(news("A", "search", 60.0, 42.0))
    assert capsys.readouterr().err == (
        "planning A: 50.45 EUR, some pieces not placed yet (first plan)\n"
        "planning A: 60.00 EUR, proven least 42.00, gap 30.0 % (search)\n"
    )
