"""Steps of raw and finish cutting; the drawings show parts with plates (P), rests (r) and what is measured."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.plan import Cut, CutStage, Edge, KeepOut, PlannedPlate, PlannedSheet, Rect, Rest, Source, SourceKind
from nest.domain.room import Datum, Guides
from nest.output.views.facing import Side, measure_of, plate_seen
from nest.output.views.steps import RawStep, measured_from, raw_steps, same, steps, takes_error, within
from tests.output import sample_plans as samples

if TYPE_CHECKING:
    from nest.domain.plan import Plan

BARE = KeepOut(x0=0.0, x1=0.0, y0=0.0, y1=0.0)


def sheet(w: float, h: float, plates: list[Rect], rests: list[Rect], cuts: list[tuple[float, float, float, float]],
          ) -> PlannedSheet:  # fmt: skip
    return PlannedSheet(
        id="S", source=Source(kind=SourceKind.SHEET, ref="R"), material="M", across_mm=w, around_mm=h, cost=1.0,
        plates=tuple(PlannedPlate(id=f"P{n}", rect=rect, lead=Edge.Y0, keep_out=BARE, process=0.0, pieces=())
                     for n, rect in enumerate(plates)),
        rests=tuple(Rest(id=f"r{n}", rect=rect, kept=True, credit=0.0) for n, rect in enumerate(rests)),
        cuts=tuple(Cut(order=n, stage=CutStage.RAW, plate=None, x1=a, y1=b, x2=c, y2=d)
                   for n, (a, b, c, d) in enumerate(cuts, start=1)),
    )  # fmt: skip


def rect(x: float, y: float, w: float, h: float) -> Rect:
    return Rect(x=x, y=y, w=w, h=h)


def made(of: PlannedSheet, datum: Datum = Datum.BOTTOM_LEFT) -> list[tuple[Edge, float, bool | None]]:
    found = told(of, datum)
    return [(step.edge, step.stop_mm, step.takes) for step in found]


def told(of: PlannedSheet, datum: Datum = Datum.BOTTOM_LEFT) -> tuple[RawStep, ...]:
    measure = measure_of(Guides(datum=datum), Side.PRINT, of.across_mm, of.around_mm)
    return raw_steps(of, steps(rect(0, 0, of.across_mm, of.around_mm), of.cuts), measure)


def test_the_stop_is_set_from_the_side_of_the_plate_whatever_the_datum() -> None:
    #  +-----+
    #  |  r  |
    #  +-----+ 380   the plate is measured, the rest takes the error
    #  |  P  |
    #  +-----+
    one = sheet(400, 600, [rect(0, 0, 400, 380)], [rect(0, 380, 400, 220)], [(0, 380, 400, 380)])
    assert made(one) == made(one, Datum.TOP_RIGHT) == [(Edge.Y0, 380.0, True)]
    # The plate above the rest: measured from the top.
    other = sheet(400, 600, [rect(0, 220, 400, 380)], [rect(0, 0, 400, 220)], [(0, 220, 400, 220)])
    assert made(other) == made(other, Datum.TOP_RIGHT) == [(Edge.Y1, 380.0, True)]


def test_between_two_plates_the_datum_decides_and_the_far_plate_has_to_take_the_error() -> None:
    one = sheet(400, 600, [rect(0, 0, 400, 380), rect(0, 380, 400, 220)], [], [(0, 380, 400, 380)])
    assert made(one) == [(Edge.Y0, 380.0, False)]
    assert made(one, Datum.TOP_LEFT) == [(Edge.Y1, 220.0, False)]


def test_a_part_already_exact_has_no_error_left() -> None:
    #  +---+---+---+ first cut 1 (plates | rest), then cut 2 between the plates, which are exact
    #  | P | P | r |
    #  +---+---+---+
    one = sheet(600, 300, [rect(0, 0, 200, 300), rect(200, 0, 250, 300)], [rect(450, 0, 150, 300)],
                [(450, 0, 450, 300), (200, 0, 200, 300)])  # fmt: skip
    assert made(one) == [(Edge.X0, 450.0, True), (Edge.X0, 200.0, None)]
    assert made(one, Datum.BOTTOM_RIGHT) == [(Edge.X0, 450.0, True), (Edge.X1, 250.0, None)]


def test_a_rest_beside_one_of_two_plates_cannot_take_the_error_of_both() -> None:
    #  +-------+---+   around: the lower part has no rest, so its plate takes what the sheet is off,
    #  |   P   | r |   unless measured first
    #  +-------+---+ 200
    #  |     P     |
    #  +-----------+
    one = sheet(500, 500, [rect(0, 0, 500, 200), rect(0, 200, 300, 300)], [rect(300, 200, 200, 300)],
                [(0, 200, 500, 200), (300, 200, 300, 500)])  # fmt: skip
    assert made(one) == [(Edge.Y0, 200.0, False), (Edge.X0, 300.0, True)]
    whole = rect(0, 0, 500, 500)
    cuts = steps(whole, one.cuts)
    assert not takes_error(whole, cuts, one, True)
    assert not takes_error(whole, cuts, one, False)


@st.composite
def sawn(draw: st.DrawFn) -> PlannedSheet:
    """A sheet sawn at random into plates and rests."""
    whole = rect(0, 0, draw(st.integers(300, 2000)), draw(st.integers(300, 2000)))
    parts, cuts = [whole], []
    for _ in range(draw(st.integers(0, 5))):
        part = parts.pop(draw(st.integers(0, len(parts) - 1)))
        level, share = draw(st.booleans()), draw(st.integers(2, 8)) / 10
        if level:
            at = part.y + round(part.h * share, 3)
            cuts.append((part.x, at, part.x + part.w, at))
            parts += [replace(part, h=at - part.y), replace(part, y=at, h=part.y + part.h - at)]
        else:
            at = part.x + round(part.w * share, 3)
            cuts.append((at, part.y, at, part.y + part.h))
            parts += [replace(part, w=at - part.x), replace(part, x=at, w=part.x + part.w - at)]
    kept = draw(st.lists(st.booleans(), min_size=len(parts), max_size=len(parts)))
    plates = [part for part, rest in zip(parts, kept, strict=True) if not rest]
    rests = [part for part, rest in zip(parts, kept, strict=True) if rest]
    return sheet(whole.w, whole.h, plates, rests, cuts)


def sizes_of_plates(of: PlannedSheet, found: tuple[RawStep, ...], off: tuple[float, float]) -> dict[str, list[float]]:
    """Cut a sheet that is off its nominal size by the stops and return how far each plate is off."""
    parts = {id(None): (rect(0, 0, of.across_mm, of.around_mm), (of.across_mm + off[0], of.around_mm + off[1]))}
    current = list(parts.values())
    for raw in found:
        part, real = next(item for item in current if raw.step.part is not None and same(item[0], raw.step.part))
        current.remove((part, real))
        axis = 1 if raw.step.runs_across else 0
        kept, other = list(real), list(real)
        kept[axis], other[axis] = raw.stop_mm, real[axis] - raw.stop_mm
        current += [(raw.kept, (kept[0], kept[1])), (raw.other, (other[0], other[1]))]
    out = {}
    for plate in of.plates:
        real = next(real for part, real in current if same(part, plate.rect))
        out[plate.id] = [real[0] - plate.rect.w, real[1] - plate.rect.h]
    return out


@settings(max_examples=200, deadline=None)
@given(of=sawn(), datum=st.sampled_from(Datum), off=st.tuples(st.floats(-2, 2), st.floats(-2, 2)))
def test_no_plate_is_off_where_a_rest_can_take_the_error(
    of: PlannedSheet, datum: Datum, off: tuple[float, float]
) -> None:
    whole = rect(0, 0, of.across_mm, of.around_mm)
    cuts = steps(whole, of.cuts)
    assert all(step.part is not None for step in cuts)
    found = sizes_of_plates(of, told(of, datum), off)
    for axis, level in ((0, False), (1, True)):
        if takes_error(whole, cuts, of, level):
            assert all(abs(errors[axis]) < 1e-6 for errors in found.values())
        # Whatever happens, no plate is off by more than the sheet was.
        assert all(abs(errors[axis]) <= abs(off[axis]) + 1e-6 for errors in found.values())


def test_halves_add_up_and_a_cut_that_crosses_no_part_has_none() -> None:
    whole = rect(0, 0, 400, 300)
    cuts = [Cut(order=1, stage=CutStage.RAW, plate=None, x1=0, y1=100, x2=400, y2=100),
            Cut(order=2, stage=CutStage.RAW, plate=None, x1=50, y1=0, x2=50, y2=300)]  # fmt: skip
    one, other = steps(whole, cuts)
    assert (one.low, one.high) == (rect(0, 0, 400, 100), rect(0, 100, 400, 200))
    assert other.part is other.low is other.high is None
    measure = measure_of(Guides(), Side.PRINT, 400, 300)
    assert measured_from(other, measure, ()) == (Edge.X0, 50.0)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("plan", [samples.week(), samples.extreme()])
def test_no_finish_cut_runs_through_a_piece_and_every_piece_comes_free(plan: Plan, side: Side) -> None:
    for whole in plan.sheets:
        for index in range(len(whole.plates)):
            seen = plate_seen(whole, index, side)
            found = steps(rect(0, 0, seen.across_mm, seen.around_mm), seen.cuts)
            pieces = [piece.rect for piece in seen.plates[0].pieces]
            free = [half for step in found for half in (step.low, step.high) if half is not None]
            assert all(any(same(piece, half) for half in free) for piece in pieces)
            for step in found:
                assert step.part is not None
                for piece in pieces:
                    low, size = (piece.y, piece.h) if step.runs_across else (piece.x, piece.w)
                    assert not (within(piece, step.part) and low + 0.01 < step.at < low + size - 0.01)


def test_finish_stops_are_set_from_true_edges_and_leave_the_error_to_strips() -> None:
    seen = plate_seen(samples.small().sheets[0], 0, Side.PRINT)
    measure = measure_of(Guides(), Side.PRINT, seen.across_mm, seen.around_mm)
    pieces = [piece.rect for piece in seen.plates[0].pieces]
    found = steps(rect(0, 0, seen.across_mm, seen.around_mm), seen.cuts)
    got = [(step.cut.order, *measured_from(step, measure, pieces)) for step in found]
    # 420 x 380, lead hold 12, others 10; pieces 200 x 204.9052 side by side, 150 x 120 above the left one.
    # Cut 2 takes off the lead strip from the lead edge: images lie true to it. The tail edge came from raw cutting,
    # so cut 3 is set from the new lead edge: 370 - 12 = 358.
    assert got[0] == (2, Edge.Y0, 12.0)
    assert got[1] == (3, Edge.Y0, 358.0)
    assert got[2] == (4, Edge.X0, 10.0)
    assert got[3] == (5, Edge.X0, 400.0)
    assert got[4][:2] == (6, Edge.Y0)
    assert got[4][2] == pytest.approx(204.9052)
