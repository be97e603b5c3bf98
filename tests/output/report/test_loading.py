from __future__ import annotations

from dataclasses import replace

import pytest

from nest.domain.plan import Edge, Rect
from nest.domain.room import Unit
from nest.output.report.loading import loaded, loaded_turn, loading
from tests.output import sample_plans as samples

PLATE = replace(samples.small().sheets[0].plates[0], rect=Rect(x=100.0, y=50.0, w=400.0, h=300.0))


@pytest.mark.parametrize("lead", list(Edge))
def test_a_loaded_plate_fills_its_own_frame(lead: Edge) -> None:
    plate = replace(PLATE, lead=lead)
    whole = loaded(plate, plate.rect)
    assert (whole.x, whole.y, whole.w, whole.h) == (0.0, 0.0, plate.across_mm, plate.around_mm)


@pytest.mark.parametrize("lead", list(Edge))
def test_what_touches_the_lead_edge_starts_at_around_0(lead: Edge) -> None:
    r = PLATE.rect
    at = {
        Edge.Y0: Rect(x=r.x + 30, y=r.y, w=20.0, h=10.0),
        Edge.Y1: Rect(x=r.x + 30, y=r.y + r.h - 10, w=20.0, h=10.0),
        Edge.X0: Rect(x=r.x, y=r.y + 30, w=10.0, h=20.0),
        Edge.X1: Rect(x=r.x + r.w - 10, y=r.y + 30, w=10.0, h=20.0),
    }[lead]
    found = loaded(replace(PLATE, lead=lead), at)
    assert (found.y, found.w, found.h) == (0.0, 20.0, 10.0)


def test_the_plate_is_turned_never_mirrored() -> None:
    """Going round the corners anticlockwise on the sheet goes round anticlockwise on the loaded plate."""
    r = PLATE.rect
    corners = [(r.x, r.y), (r.x + r.w, r.y), (r.x + r.w, r.y + r.h), (r.x, r.y + r.h)]
    for lead in Edge:
        points = [loaded(replace(PLATE, lead=lead), Rect(x=x, y=y, w=0.0, h=0.0)) for x, y in corners]
        after = points[1:] + points[:1]
        twice = sum(a.x * b.y - b.x * a.y for a, b in zip(points, after, strict=True))
        assert twice == pytest.approx(2 * r.w * r.h)


def test_a_piece_whose_lead_edge_is_the_plates_is_not_turned_when_loaded() -> None:
    # turned by 270 its lead edge faces x0
    assert loaded_turn(replace(PLATE, lead=Edge.X0), 270) == 0
    assert loaded_turn(replace(PLATE, lead=Edge.X1), 90) == 0
    assert loaded_turn(replace(PLATE, lead=Edge.Y1), 180) == 0
    assert loaded_turn(PLATE, 90) == 90


def test_loading_names_the_keep_outs_by_the_sides_of_the_loaded_plate() -> None:
    plate = samples.week().sheets[2].plates[0]
    keep = replace(plate.keep_out, y0=11.0, y1=13.0)
    told = loading(replace(plate, keep_out=keep), Unit.MM)
    # led by its left edge, its top edge comes to lie left
    assert (told.across, told.around, told.lead) == ("1524", "650", "left edge")
    assert (told.clamp, told.tail, told.left, told.right) == ("12", "10", "13", "11")
