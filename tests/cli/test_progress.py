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
        "planning, first plan: cost 500.00 EUR, proven least 300.00\n"
        "planning, search: cost 494.00 EUR, proven least 300.00\n"
        "planning, search: cost 400.00 EUR, proven least 300.00\n"
        "planning, first plan: cost 700.00 EUR, proven least 300.00\n",
    )
