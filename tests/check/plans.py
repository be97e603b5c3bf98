"""Small plans made by hand, each right in every figure, and ways to change one detail of them.

The plate room is invented. K = 2*pi*(1.70 - 0.125) = 9.896017 mm and f = 0.980208 at repeat 500 are case E of the
worked checks (derived; NV Publications' Q&A on plate stretch for the direction).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from nest.check.opinion import check_plan
from nest.domain.job import Need, Row, Turn
from nest.domain.plan import (
    Areas,
    CostParts,
    Cut,
    CutStage,
    Edge,
    KeepOut,
    PlacedPiece,
    Plan,
    PlannedPlate,
    PlannedSheet,
    Rect,
    Rest,
    Source,
    SourceKind,
    StoppedBy,
    Totals,
    Unplaced,
    Yields,
)
from nest.domain.room import Costs, Cutting, Imager, Material, Offcut, Room, Sheet, Station

SHEET = "HB170 900x1200"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A plan with the rows and the room it was made for."""

    plan: Plan
    rows: tuple[Row, ...]
    room: Room

    def broken(self, *, use_reserve: bool = False) -> set[str]:
        """Return the rules the check finds broken."""
        found = check_plan(self.plan, self.rows, self.room, use_reserve=use_reserve)
        return {violation.rule for violation in found}

    def with_row(self, separation: str, **changes: Any) -> Case:
        rows = tuple(replace(r, **changes) if r.separation == separation else r for r in self.rows)
        assert rows != self.rows
        return replace(self, rows=rows)

    def with_room(self, **changes: Any) -> Case:
        return replace(self, room=replace(self.room, **changes))

    def with_costs(self, **changes: Any) -> Case:
        return self.with_room(costs=replace(self.room.costs, **changes))

    def with_imager(self, **changes: Any) -> Case:
        return self.with_room(imager=replace(self.room.imager, **changes))

    def with_material(self, **changes: Any) -> Case:
        return self.with_room(materials={"HB170": replace(self.room.materials["HB170"], **changes)})

    def with_stock(self, **changes: Any) -> Case:
        return self.with_room(sheets=(replace(self.room.sheets[0], **changes), *self.room.sheets[1:]))

    def with_plan(self, **changes: Any) -> Case:
        return replace(self, plan=replace(self.plan, **changes))

    def with_totals(self, **changes: Any) -> Case:
        return self.with_plan(totals=replace(self.plan.totals, **changes))

    def with_sheet(self, at: int = 0, **changes: Any) -> Case:
        sheets = list(self.plan.sheets)
        sheets[at] = replace(sheets[at], **changes)
        return self.with_plan(sheets=tuple(sheets))

    def with_plate(self, at: int = 0, **changes: Any) -> Case:
        plates = self.plan.sheets[at].plates
        return self.with_sheet(at, plates=(replace(plates[0], **changes), *plates[1:]))

    def with_piece(self, piece: int, at: int = 0, **changes: Any) -> Case:
        pieces = list(self.plan.sheets[at].plates[0].pieces)
        pieces[piece] = replace(pieces[piece], **changes)
        return self.with_plate(at, pieces=tuple(pieces))

    def with_cut(self, number: int, at: int = 0, **changes: Any) -> Case:
        cuts = [replace(c, **changes) if c.order == number else c for c in self.plan.sheets[at].cuts]
        return self.with_sheet(at, cuts=tuple(cuts))

    def with_unplaced(self, *more: Unplaced) -> Case:
        return self.with_plan(unplaced=(*self.plan.unplaced, *more))


def row(job: str, separation: str, across: float, around: float, **more: Any) -> Row:
    """Return a row whose sizes are already at plate size unless said otherwise."""
    values: dict[str, Any] = {"at_plate_size": True, **more}
    return Row(
        job=job, separation=separation, material="HB170", image_across_mm=across, image_around_mm=around, **values
    )


def left_out(of: Row, copies: int = 1, **more: Any) -> Unplaced:
    """Return the entry of a row's unplaced copies."""
    values: dict[str, Any] = {"need": of.need, "reason": "needs 1 more sheet", **more}
    return Unplaced(job=of.job, separation=of.separation, part=of.part, copies=copies, **values)


def piece(of: Row, copy: int, rect: Rect, image: Rect, turn: int = 0) -> PlacedPiece:
    return PlacedPiece(
        job=of.job, separation=of.separation, part=of.part, copy=copy, rect=rect, turn=turn, image=image
    )


def rect(x: float, y: float, w: float, h: float) -> Rect:
    return Rect(x=x, y=y, w=w, h=h)


def cut(order: int, plate: str | None, x1: float, y1: float, x2: float, y2: float) -> Cut:
    stage = CutStage.RAW if plate is None else CutStage.FINISH
    return Cut(order=order, stage=stage, plate=plate, x1=x1, y1=y1, x2=x2, y2=y2)


def plate_room(**changes: Any) -> Room:
    """Return the invented plate room: clamp 12, tape 10, trim 8, floor border 5."""
    room = Room(
        border_mm=5.0,
        imager=Imager(
            max_across_mm=1524.0, max_around_mm=1067.0, min_across_mm=200.0, min_around_mm=200.0, clamp_mm=12.0,
            drum_tape_mm=10.0, trim_mm=8.0,
        ),
        stations=(Station(name="washer", max_a_mm=1200.0, max_b_mm=1600.0),),
        materials={"HB170": Material(name="HB170", thickness_mm=1.70, base_mm=0.125)},
        sheets=(
            Sheet(id=SHEET, material="HB170", across_mm=900.0, around_mm=1200.0, price=86.40, on_hand=12, keep_back=1),
        ),
        costs=Costs(
            plate=12.0, process_per_m2=14.0, cut=1.50, offcut_value=0.6, offcut_handling=2.0,
            offcut_full_side_mm=400.0, offcut_min_side_mm=250.0, offcut_min_area_m2=0.12, offcuts_per_sheet=2,
            raw_min_strip_mm=50.0, raw_parts_max=6,
        ),
    )
    return replace(room, **changes)


def cut_sheet() -> Case:
    """Return a sheet cut into one plate and one kept rest; four rows, guillotine.

    ::

        1200 +----------------------+
             |      rest, kept      |
         800 +----------------------+
             | +--+                 |
             | |K |                 |   K 200 x 304.0624 (300 * 0.980208 + 10)
         312 | +--+--+--+--+        |
             | |C1|C2|M |F|         |   C, M 210 x 300, F 100 x 300 (fill)
          12 | +--+--+--+-+         |
             +----------------------+ 900
    """
    cyan, magenta = row("2417", "Cyan", 200.0, 290.0, copies=2), row("2417", "Magenta", 200.0, 290.0)
    key = row("2418", "Key", 190.0, 300.0, repeat_mm=500.0, at_plate_size=False)
    fill = row("2420", "Varnish", 90.0, 290.0, need=Need.FILL)
    plate = PlannedPlate(
        id="S01-A", rect=rect(0.0, 0.0, 900.0, 800.0), lead=Edge.Y0,
        keep_out=KeepOut(x0=10.0, x1=10.0, y0=12.0, y1=10.0),
        process=10.08,  # 14 * 0.72
        pieces=(
            piece(cyan, 1, rect(10.0, 12.0, 210.0, 300.0), rect(15.0, 17.0, 200.0, 290.0)),
            piece(cyan, 2, rect(220.0, 12.0, 210.0, 300.0), rect(225.0, 17.0, 200.0, 290.0)),
            piece(magenta, 1, rect(430.0, 12.0, 210.0, 300.0), rect(435.0, 17.0, 200.0, 290.0)),
            piece(fill, 1, rect(640.0, 12.0, 100.0, 300.0), rect(645.0, 17.0, 90.0, 290.0)),
            piece(key, 1, rect(10.0, 312.0, 200.0, 304.0624), rect(15.0, 317.0, 190.0, 294.0624)),
        ),
        free=(rect(740.0, 12.0, 150.0, 778.0), rect(210.0, 312.0, 680.0, 478.0)),
    )
    a = plate.id
    cuts = (
        cut(1, None, 0.0, 800.0, 900.0, 800.0),
        cut(2, a, 0.0, 12.0, 900.0, 12.0),
        cut(3, a, 0.0, 312.0, 900.0, 312.0),
        cut(4, a, 10.0, 12.0, 10.0, 312.0),
        cut(5, a, 220.0, 12.0, 220.0, 312.0),
        cut(6, a, 430.0, 12.0, 430.0, 312.0),
        cut(7, a, 640.0, 12.0, 640.0, 312.0),
        cut(8, a, 740.0, 12.0, 740.0, 312.0),
        cut(9, a, 10.0, 312.0, 10.0, 800.0),
        cut(10, a, 210.0, 312.0, 210.0, 800.0),
        cut(11, a, 10.0, 616.0624, 210.0, 616.0624),
    )
    # 0.6 * 86.40 / 1.08 m2 = 48 a m2; 48 * 0.36 m2 * min(1, 400/400) - 2 = 15.28
    rest = Rest(id="S01-R1", rect=rect(0.0, 800.0, 900.0, 400.0), kept=True, credit=15.28)
    sheet = PlannedSheet(
        id="S01", source=Source(kind=SourceKind.SHEET, ref=SHEET), material="HB170", across_mm=900.0, around_mm=1200.0,
        cost=86.40, plates=(plate,), rests=(rest,), cuts=cuts,
    )
    totals = Totals(
        cost=94.70,  # 86.40 - 15.28 + 12 + 10.08 + 1.50
        bound=60.0, bound_gap=34.70 / 94.70, sheets=1, plates=1, raw_cuts=1, pieces=5,
        cost_parts=CostParts(sheets=86.40, credit=15.28, plates=12.0, process=10.08, cuts=1.50),
        area=Areas(
            drawn=1.08,
            image=0.255972,  # 3 * 0.2 * 0.29 + 0.09 * 0.29 + 0.19 * 0.2940624
            border=0.023841,  # pieces 3 * 0.063 + 0.03 + 0.2 * 0.3040624 = 0.279812, less images
            keep_out=0.03536,  # 0.72 - 0.880 * 0.778
            unused=0.404828,  # 0.68464 - 0.279812
            kept=0.36, scrap=0.0,
        ),
        yields=Yields(gross=0.259086, image=0.237011, credited=0.388628),
    )
    plan = Plan(
        currency="EUR", seed=0, stopped_by=StoppedBy.WORK_LIMIT, sheets=(sheet,), unplaced=(), warnings=(),
        totals=totals,
    )
    return Case(plan=plan, rows=(cyan, magenta, key, fill), room=plate_room())


def free_plates() -> Case:
    """Return an offcut and a whole sheet under free cutting, gap 4; four pieces in a ring, one at each turn.

    ::

        468 +---+ +-------+   Red 304 x 150 mm: image 294 x 140, borders lead 9, tail 1, left 6, right 4
            | D | |   C   |   A turn 0, B turn 90, C turn 180, D turn 270
        318 |   | +---+---+
            +---+     |   |   the ring's corner is (12, 10), its side 304 + 4 + 150
        160 +-------+ | B |
            |   A   | |   |
         10 +-------+ +---+
    """
    white = row("3001", "White", 300.0, 300.0, relief=0.6)
    red = row(
        "3002", "Red", 294.0, 140.0, copies=4, turn=Turn.FREE, border_lead_mm=9.0, border_tail_mm=1.0,
        border_left_mm=6.0, border_right_mm=4.0,
    )
    first = PlannedPlate(
        id="S01-A", rect=rect(0.0, 0.0, 410.0, 880.0), lead=Edge.Y0,
        keep_out=KeepOut(x0=10.0, x1=10.0, y0=12.0, y1=10.0), process=5.05,  # 14 * 0.3608 = 5.0512
        pieces=(piece(white, 1, rect(10.0, 12.0, 310.0, 310.0), rect(15.0, 17.0, 300.0, 300.0)),),
    )
    second = PlannedPlate(
        id="S02-A", rect=rect(0.0, 0.0, 900.0, 1200.0), lead=Edge.X0,
        keep_out=KeepOut(x0=12.0, x1=10.0, y0=10.0, y1=10.0), process=15.12,  # 14 * 1.08
        pieces=(
            piece(red, 1, rect(12.0, 10.0, 304.0, 150.0), rect(18.0, 19.0, 294.0, 140.0), 0),
            # Anticlockwise by 90: the lead border 9 goes right, the left border 6 goes down.
            piece(red, 2, rect(320.0, 10.0, 150.0, 304.0), rect(321.0, 16.0, 140.0, 294.0), 90),
            piece(red, 3, rect(166.0, 318.0, 304.0, 150.0), rect(170.0, 319.0, 294.0, 140.0), 180),
            piece(red, 4, rect(12.0, 164.0, 150.0, 304.0), rect(21.0, 168.0, 140.0, 294.0), 270),
        ),
        free=(rect(470.0, 10.0, 420.0, 1180.0),),
    )
    sheets = (
        PlannedSheet(
            id="S01", source=Source(kind=SourceKind.OFFCUT, ref="F-0031"), material="HB170", across_mm=410.0,
            around_mm=880.0, cost=18.0, plates=(first,), rests=(), cuts=(),
        ),
        PlannedSheet(
            id="S02", source=Source(kind=SourceKind.SHEET, ref=SHEET), material="HB170", across_mm=900.0,
            around_mm=1200.0, cost=86.40, plates=(second,), rests=(), cuts=(), lot="L7", expiry="2027-06-30",
        ),
    )
    totals = Totals(
        cost=148.57,  # 18 + 86.40 + 24 + 5.05 + 15.12
        bound=0.0, bound_gap=1.0, sheets=2, plates=2, raw_cuts=0, pieces=5,
        cost_parts=CostParts(sheets=104.40, credit=0.0, plates=24.0, process=20.17, cuts=0.0),
        area=Areas(
            drawn=1.4408,  # 0.3608 + 1.08
            image=0.25464,  # 0.09 + 4 * 0.294 * 0.14
            border=0.02386,  # pieces 0.0961 + 4 * 0.0456 = 0.2785, less images
            keep_out=0.07014,  # 1.4408 - 0.390 * 0.858 - 0.878 * 1.180
            unused=1.09216,  # 0.33462 + 1.03604 - 0.2785
            kept=0.0, scrap=0.0,
        ),
        yields=Yields(gross=0.193295, image=0.176735, credited=0.193295),
    )
    plan = Plan(
        currency="EUR", seed=0, stopped_by=StoppedBy.WORK_LIMIT, sheets=sheets, unplaced=(), warnings=(), totals=totals,
    )
    base = plate_room()
    stocked = replace(base.sheets[0], lot="L7", expiry=datetime(2027, 6, 30).date())
    offcut = Offcut(id="F-0031", material="HB170", across_mm=410.0, around_mm=880.0, value=18.0, relief=0.6)
    room = replace(base, cutting=Cutting.FREE, gap_mm=4.0, sheets=(stocked,), offcuts=(offcut,))
    return Case(plan=plan, rows=(white, red), room=room)


def full_sheet() -> Case:
    """Return a sheet of 230 x 322 mm that one piece of 210 x 300 mm fills exactly; it is the last one."""
    solid = row("4001", "Solid", 200.0, 290.0, due=datetime(2026, 6, 10))
    plate = PlannedPlate(
        id="S01-A", rect=rect(0.0, 0.0, 230.0, 322.0), lead=Edge.Y0,
        keep_out=KeepOut(x0=10.0, x1=10.0, y0=12.0, y1=10.0), process=1.04,  # 14 * 0.07406 = 1.03684
        pieces=(piece(solid, 1, rect(10.0, 12.0, 210.0, 300.0), rect(15.0, 17.0, 200.0, 290.0)),),
    )
    cuts = (
        cut(1, "S01-A", 0.0, 12.0, 230.0, 12.0),
        cut(2, "S01-A", 0.0, 312.0, 230.0, 312.0),
        cut(3, "S01-A", 10.0, 12.0, 10.0, 312.0),
        cut(4, "S01-A", 220.0, 12.0, 220.0, 312.0),
    )
    sheet = PlannedSheet(
        id="S01", source=Source(kind=SourceKind.SHEET, ref="small"), material="HB170", across_mm=230.0, around_mm=322.0,
        cost=6.0, plates=(plate,), rests=(), cuts=cuts,
    )
    totals = Totals(
        cost=19.04, bound=19.04, bound_gap=0.0, sheets=1, plates=1, raw_cuts=0, pieces=1,
        cost_parts=CostParts(sheets=6.0, credit=0.0, plates=12.0, process=1.04, cuts=0.0),
        area=Areas(drawn=0.07406, image=0.058, border=0.005, keep_out=0.01106, unused=0.0, kept=0.0, scrap=0.0),
        yields=Yields(gross=0.850662, image=0.783149, credited=0.850662),  # 0.063 and 0.058 of 0.07406
    )
    plan = Plan(
        currency="EUR", seed=0, stopped_by=StoppedBy.OPTIMAL, sheets=(sheet,), unplaced=(), warnings=(), totals=totals,
    )
    small = Sheet(id="small", material="HB170", across_mm=230.0, around_mm=322.0, price=6.0, on_hand=1)
    return Case(plan=plan, rows=(solid,), room=plate_room(sheets=(small,)))
