"""The bench of batches works: a miniature. It measures nothing here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.bench.batches import HEAD, main
from tests.bench.invented import SHOPS

if TYPE_CHECKING:
    import pytest


def test_every_invented_week_is_planned_plainly_on_a_calendar_and_batch_by_batch(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["--pieces", "8", "--work-limit", "5", "--plates", "3"]) == 0
    head, rule, *lines = capsys.readouterr().out.splitlines()
    assert head == HEAD
    assert rule.count("|") == head.count("|")
    assert len(lines) == len(SHOPS)
    for line in lines:
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if cells[5] == "–":  # what no batch makes on its own has no figure
            continue
        cost, lateness, own, own_late = (float(cells[at]) for at in (2, 3, 5, 6))
        assert cost + lateness <= own + own_late + 0.05
