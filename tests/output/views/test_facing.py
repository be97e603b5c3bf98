from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.domain.plan import Edge, Rect
from nest.domain.room import Datum, Guides, Ruler
from nest.output.views.facing import Placement, Side, measure_of, plate_seen, sheet_seen, sides_of
from tests.output import sample_plans as samples

W, H = 400.0, 300.0
STRIPS = {
    Edge.X0: Rect(x=0.0, y=0.0, w=1.0, h=H), Edge.X1: Rect(x=W - 1, y=0.0, w=1.0, h=H),
    Edge.Y0: Rect(x=0.0, y=0.0, w=W, h=1.0), Edge.Y1: Rect(x=0.0, y=H - 1, w=W, h=1.0),
}  # fmt: skip


@pytest.mark.parametrize("quarters", range(4))
@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize("edge", Edge)
def test_an_edge_lies_where_the_strip_along_it_lies(quarters: int, over: bool, edge: Edge) -> None:
    lies = Placement(w=W, h=H, quarters=quarters, over=over)
    strip, (w, h) = lies.rect(STRIPS[edge]), lies.size
    found = {
        Edge.X0: strip.x == 0 and strip.w == 1, Edge.X1: strip.x + strip.w == w and strip.w == 1,
        Edge.Y0: strip.y == 0 and strip.h == 1, Edge.Y1: strip.y + strip.h == h and strip.h == 1,
    }  # fmt: skip
    assert [where for where, true in found.items() if true] == [lies.edge(edge)]


@given(x=st.floats(0, W), y=st.floats(0, H), quarters=st.integers(0, 3))
def test_turning_over_twice_changes_nothing_and_keeps_heights(x: float, y: float, quarters: int) -> None:
    plain, over = (Placement(w=W, h=H, quarters=quarters, over=over) for over in (False, True))
    (x1, y1), (x2, y2) = plain.point(x, y), over.point(x, y)
    assert y1 == y2
    assert x1 + x2 == pytest.approx(plain.size[0])


@pytest.mark.parametrize("lead", Edge)
@pytest.mark.parametrize("side", Side)
def test_a_plate_lies_with_its_lead_edge_at_the_bottom(lead: Edge, side: Side) -> None:
    plan = samples.small()
    sheet = plan.sheets[0]
    turned = replace(sheet, plates=(replace(sheet.plates[0], lead=lead),))
    seen = plate_seen(turned, 0, side)
    assert seen.plates[0].lead is Edge.Y0
    assert (seen.across_mm, seen.around_mm) == (turned.plates[0].across_mm, turned.plates[0].around_mm)
    assert seen.plates[0].keep_out.y0 == getattr(sheet.plates[0].keep_out, lead.value)
    for piece in seen.plates[0].pieces:
        assert 0 <= piece.rect.x <= piece.image.x
        assert piece.rect.y + piece.rect.h <= seen.around_mm + 1e-9


@pytest.mark.parametrize(("turn", "seen"), [(0, 0), (90, 270), (180, 180), (270, 90)])
def test_from_the_base_side_a_piece_points_the_other_way_across_only(turn: int, seen: int) -> None:
    # At 90 the tail is on the left from the print side, so on the right from the base side: drawn as 270.
    assert Placement(w=W, h=H, over=True).turn(turn) == seen


def test_a_lead_edge_on_the_left_turns_the_plate_anticlockwise() -> None:
    # x0 becomes the bottom: a piece whose tail was up (turn 0) then points left (turn 90).
    lies = Placement(w=W, h=H, quarters=1)
    assert lies.turn(0) == 90
    assert lies.point(0.0, 0.0) == (H, 0.0)
    assert lies.point(0.0, H) == (0.0, 0.0)


def test_a_sheet_from_the_base_side_is_mirrored_left_to_right() -> None:
    sheet = samples.week().sheets[2]
    seen = sheet_seen(sheet, Side.BASE)
    for plate, other in zip(sheet.plates, seen.plates, strict=True):
        assert other.rect.x + other.rect.w == pytest.approx(sheet.across_mm - plate.rect.x)
        assert (other.rect.y, other.rect.w, other.rect.h) == (plate.rect.y, plate.rect.w, plate.rect.h)
    assert seen.plates[0].lead is Edge.X1
    assert seen.plates[0].keep_out.x1 == sheet.plates[0].keep_out.x0
    assert sheet_seen(seen, Side.BASE) == sheet
    assert sheet_seen(sheet, Side.PRINT) == sheet


@pytest.mark.parametrize(
    ("datum", "ruler", "side", "corner"),
    [
        (Datum.BOTTOM_LEFT, Ruler.AS_SEEN, Side.PRINT, "bottom left"),
        (Datum.BOTTOM_LEFT, Ruler.AS_SEEN, Side.BASE, "bottom left"),
        (Datum.BOTTOM_LEFT, Ruler.PRINT_SIDE, Side.BASE, "bottom right"),
        (Datum.TOP_RIGHT, Ruler.PRINT_SIDE, Side.PRINT, "top right"),
        (Datum.TOP_RIGHT, Ruler.PRINT_SIDE, Side.BASE, "top left"),
    ],
)
def test_the_ruler_stays_at_the_datum_or_at_the_real_edge(
    datum: Datum, ruler: Ruler, side: Side, corner: str
) -> None:
    assert measure_of(Guides(datum=datum, ruler=ruler), side, W, H).corner == corner


def test_with_the_ruler_on_the_print_side_figures_are_equal_on_both_sides() -> None:
    sheet, guides = samples.week().sheets[2], Guides(ruler=Ruler.PRINT_SIDE)
    for side in Side:
        seen = sheet_seen(sheet, side)
        measure = measure_of(guides, side, sheet.across_mm, sheet.around_mm)
        found = [(measure.x_of(plate.rect), measure.y_of(plate.rect)) for plate in seen.plates]
        assert found == [pytest.approx((plate.rect.x, plate.rect.y)) for plate in sheet.plates]


def test_the_room_chooses_the_sides() -> None:
    assert sides_of(Guides()) == (Side.PRINT, Side.BASE)
