from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.plan import Edge
from tests.domain.hand_made import cut_sheet

PLATE = cut_sheet().plates[0]


@pytest.mark.parametrize(
    ("lead", "across", "around"), [(Edge.Y0, 800, 700), (Edge.Y1, 800, 700), (Edge.X0, 700, 800), (Edge.X1, 700, 800)]
)
def test_around_runs_from_the_lead_edge(lead: Edge, across: float, around: float) -> None:
    plate = replace(PLATE, lead=lead)
    assert (plate.across_mm, plate.around_mm) == (across, around)


def test_a_placed_piece_knows_its_row() -> None:
    assert PLATE.pieces[0].row == ("3101", "Cyan", "")
