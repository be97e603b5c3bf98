from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.progress import Lines

if TYPE_CHECKING:
    import pytest


def test_clear_improvements_and_each_material_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    lines = Lines("EUR")
    for phase, cost in (("first plan", 500.0), ("search", 496.0), ("search", 494.0), ("dive", 494.0), ("search", 400.0),
                        ("first plan", 700.0), ("search", 699.0)):  # fmt: skip
        lines.report(phase, cost, 300.0)
    assert capsys.readouterr() == (
        "",
        "planning, first plan of a material: cost 500.00 EUR, proven least 300.00\n"
        "planning, better plan: cost 494.00 EUR, proven least 300.00\n"
        "planning, better plan: cost 400.00 EUR, proven least 300.00\n"
        "planning, first plan of a material: cost 700.00 EUR, proven least 300.00\n",
    )


def test_a_bound_above_the_cost_is_not_told(capsys: pytest.CaptureFixture[str]) -> None:
    Lines("EUR").report("first plan", 50.45, 4250.41)
    assert capsys.readouterr().err == "planning, first plan of a material: cost 50.45 EUR\n"
