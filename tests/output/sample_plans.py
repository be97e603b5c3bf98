"""Plans made by hand for the output tests: an invented plate room, shelves of pieces, cuts that free every piece.

A shelf layout: pieces stand side by side on shelves, shelves are stacked from the lead side up.

    +--------------------+  plate
    | + - - - - - - - -+ |
    |   [c][d]           |  shelf 2
    | | [a][b]  free   | |  shelf 1
    | +- - - - - - - - + |  keep-outs
    +--------------------+
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from nest.domain.job import Need, Row, Turn
from nest.domain.plan import (
    Areas,
    CostParts,
    Cut,
    CutStage,
    Edge,
    JobShare,
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
from nest.domain.room import Costs, Imager, Material, Room, Unit
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence

Item = tuple[str, str, str, float, float, int]
"""Job, separation, part, piece across, piece around, turn."""
BORDER = 5.0


def room(unit: Unit = Unit.MM) -> Room:
    return Room(
        unit=unit,
        imager=Imager(max_across_mm=1524.0, max_around_mm=1600.0, clamp_mm=12.0, drum_tape_mm=10.0, trim_mm=8.0),
        materials={
            "HB170": Material(name="HB170", thickness_mm=1.70, base_mm=0.125),
            "KR284": Material(name="KR284", thickness_mm=2.84, base_mm=0.178),
        },
        costs=Costs(plate=12.0, process_per_m2=14.0, cut=1.5, offcut_value=0.6, offcut_handling=2.0),
    )


def shelves(
    plate_id: str, rect: Rect, lead: Edge, items: Sequence[Sequence[Item]], copies: Counter[tuple[str, str, str]],
    *, keep: KeepOut | None = None, group: str = "",
) -> tuple[PlannedPlate, list[Cut]]:
    """Put shelves of items on a plate; returns the plate and finish cuts with orders from 1."""
    holds = {edge.value: 12.0 if edge is lead else 10.0 for edge in Edge}
    keep = keep or KeepOut(**holds)
    x0, y0 = rect.x + keep.x0, rect.y + keep.y0
    x1, y1 = rect.x + rect.w - keep.x1, rect.y + rect.h - keep.y1
    pieces: list[PlacedPiece] = []
    cuts = [line for line, depth in (
        ((rect.x, y0, rect.x + rect.w, y0), keep.y0), ((rect.x, y1, rect.x + rect.w, y1), keep.y1),
        ((x0, y0, x0, y1), keep.x0), ((x1, y0, x1, y1), keep.x1),
    ) if depth > 0]  # fmt: skip
    free: list[Rect] = []
    y = y0
    tall = [max(h if turn % 180 == 0 else w for *_, w, h, turn in shelf) for shelf in items]
    tops = [y0 + sum(tall[: index + 1]) for index in range(len(tall))]
    cuts += [(x0, top, x1, top) for top in tops if top < y1 - 0.01]
    for shelf, height in zip(items, tall, strict=True):
        x = x0
        placed = []
        for job, separation, part, across, around, turn in shelf:
            w, h = (across, around) if turn % 180 == 0 else (around, across)
            copies[job, separation, part] += 1
            placed.append(PlacedPiece(
                job=job, separation=separation, part=part, copy=copies[job, separation, part],
                rect=Rect(x=x, y=y, w=w, h=h), turn=turn,
                image=Rect(x=x + BORDER, y=y + BORDER, w=w - 2 * BORDER, h=h - 2 * BORDER),
            ))  # fmt: skip
            x += w
            if x < x1 - 0.01:
                cuts.append((x, y, x, y + height))
        for piece in placed:
            if piece.rect.h < height - 0.01:
                top = piece.rect.y + piece.rect.h
                cuts.append((piece.rect.x, top, piece.rect.x + piece.rect.w, top))
        assert x <= x1 + 0.001, f"{plate_id}: shelf too long by {x - x1}"
        if x < x1 - 0.01:
            free.append(Rect(x=x, y=y, w=x1 - x, h=height))
        pieces += placed
        y += height
    assert y <= y1 + 0.001, f"{plate_id}: shelves too high by {y - y1}"
    if y < y1 - 0.01:
        free.append(Rect(x=x0, y=y, w=x1 - x0, h=y1 - y))
    plate = PlannedPlate(
        id=plate_id, rect=rect, lead=lead, keep_out=keep, process=money(14.0 * rect.w * rect.h / 1e6),
        pieces=tuple(pieces), free=tuple(sorted(free, key=lambda r: -r.w * r.h)), group=group,
    )  # fmt: skip
    finish = [Cut(order=n, stage=CutStage.FINISH, plate=plate_id, x1=a, y1=b, x2=c, y2=d)
              for n, (a, b, c, d) in enumerate(cuts, start=1)]  # fmt: skip
    return plate, finish


def sheet(
    sheet_id: str, source: Source, material: str, across: float, around: float, cost: float,
    plates: Sequence[tuple[PlannedPlate, list[Cut]]], *, rests: Sequence[Rest] = (),
    raw: Sequence[tuple[float, float, float, float]] = (), lot: str | None = None, expiry: str | None = None,
) -> PlannedSheet:
    cuts = [Cut(order=0, stage=CutStage.RAW, plate=None, x1=a, y1=b, x2=c, y2=d) for a, b, c, d in raw]
    cuts += [cut for _, finish in plates for cut in finish]
    return PlannedSheet(
        id=sheet_id, source=source, material=material, across_mm=across, around_mm=around, cost=cost,
        plates=tuple(plate for plate, _ in plates), rests=tuple(rests),
        cuts=tuple(replace(cut, order=order) for order, cut in enumerate(cuts, start=1)), lot=lot, expiry=expiry,
    )  # fmt: skip


def plan_of(sheets: Sequence[PlannedSheet], *, unplaced: Sequence[Unplaced] = (), warnings: Sequence[str] = (),
            bound: float | None = None) -> Plan:
    plates = [plate for s in sheets for plate in s.plates]
    pieces = [piece for plate in plates for piece in plate.pieces]
    raw = sum(cut.stage is CutStage.RAW for s in sheets for cut in s.cuts)

    def m2(rects: Sequence[Rect]) -> float:
        return sum(r.w * r.h for r in rects) / 1e6

    drawn = sum(s.across_mm * s.around_mm for s in sheets) / 1e6
    piece, image = m2([p.rect for p in pieces]), m2([p.image for p in pieces])
    inside = sum((p.rect.w - p.keep_out.x0 - p.keep_out.x1) * (p.rect.h - p.keep_out.y0 - p.keep_out.y1)
                 for p in plates) / 1e6
    kept = m2([r.rect for s in sheets for r in s.rests if r.kept])
    scrap = m2([r.rect for s in sheets for r in s.rests if not r.kept])
    parts = CostParts(
        sheets=money(sum(s.cost for s in sheets)), credit=money(sum(r.credit for s in sheets for r in s.rests)),
        plates=12.0 * len(plates), process=money(sum(p.process for p in plates)), cuts=1.5 * raw,
    )  # fmt: skip
    cost = money(parts.sheets - parts.credit + parts.plates + parts.process + parts.cuts)
    low = cost if bound is None else bound
    return Plan(
        currency="EUR", seed=0, stopped_by=StoppedBy.WORK_LIMIT, sheets=tuple(sheets), unplaced=tuple(unplaced),
        warnings=tuple(warnings),
        totals=Totals(
            cost=cost, bound=low, bound_gap=(cost - low) / cost if cost else 0.0, sheets=len(sheets),
            plates=len(plates), raw_cuts=raw, pieces=len(pieces), cost_parts=parts,
            area=Areas(drawn=drawn, image=image, border=piece - image,
                       keep_out=m2([p.rect for p in plates]) - inside, unused=inside - piece, kept=kept, scrap=scrap),
            yields=Yields(gross=piece / drawn if drawn else 0.0, image=image / drawn if drawn else 0.0,
                          credited=piece / (drawn - kept) if drawn else 0.0),
        ),
    )  # fmt: skip


def _mixed_sheet(copies: Counter[tuple[str, str, str]]) -> PlannedSheet:
    """Two plates of different groups, lead edges x0 and y1, turned pieces, a kept and a scrapped rest."""
    a = shelves("S03-A", Rect(x=0.0, y=0.0, w=650.0, h=1524.0), Edge.X0, [
        [("2420", "Cyan", "", 305.0, 410.0, 90), ("2420", "Magenta", "", 305.0, 200.0, 270)],
        [("2420", "Yellow", "", 305.0, 410.0, 90), ("2421", "Spot 1", "left", 300.0, 200.0, 90)],
        [("2422", "Black", "", 620.0, 305.4, 180)],
        [("2423", "Varnish", "corner", 180.0, 260.0, 0), ("2423", "Varnish", "corner", 180.0, 260.0, 0),
         ("2423", "White", "", 120.0, 240.0, 0)],
    ], copies, group="relief 0.6, resolution 2540")  # fmt: skip
    b = shelves("S03-B", Rect(x=650.0, y=624.0, w=417.0, h=900.0), Edge.Y0, [
        [("2430", "Red", "", 397.0, 450.0, 0)], [("2430", "Blue", "", 397.0, 420.0, 180)],
    ], copies, group="relief 0.9")  # fmt: skip
    return sheet(
        "S03", Source(kind=SourceKind.SHEET, ref="KR284 1067x1524"), "KR284", 1067.0, 1524.0, 151.2, [a, b],
        rests=[
            Rest(id="S03-R1", rect=Rect(x=650.0, y=124.0, w=417.0, h=500.0), kept=True, credit=9.63),
            Rest(id="S03-R2", rect=Rect(x=650.0, y=0.0, w=417.0, h=124.0), kept=False, credit=0.0),
        ],
        raw=[(650.0, 0.0, 650.0, 1524.0), (650.0, 124.0, 1067.0, 124.0), (650.0, 624.0, 1067.0, 624.0)],
        lot="K-0419", expiry="2027-03-31",
    )  # fmt: skip


def _twin(sheet_id: str, copies: Counter[tuple[str, str, str]]) -> PlannedSheet:
    """A sheet that occurs twice: one plate, one kept rest."""
    plate = shelves(f"{sheet_id}-A", Rect(x=0.0, y=0.0, w=900.0, h=800.0), Edge.Y0, [
        [("2417", "Cyan", "", 210.0, 304.9052, 0), ("2417", "Magenta", "", 210.0, 304.9052, 0),
         ("2417", "Yellow", "", 210.0, 304.9052, 180), ("2417", "Black", "", 210.0, 304.9052, 0)],
        [("2418", "Reflex blue", "top", 320.0, 350.0, 0), ("2418", "Reflex blue", "foot", 320.0, 280.0, 0),
         ("2419", "Green", "", 160.0, 180.0, 0)],
    ], copies)  # fmt: skip
    return sheet(
        sheet_id, Source(kind=SourceKind.SHEET, ref="HB170 900x1200"), "HB170", 900.0, 1200.0, 86.4, [plate],
        rests=[Rest(id=f"{sheet_id}-R1", rect=Rect(x=0.0, y=800.0, w=900.0, h=400.0), kept=True, credit=15.28)],
        raw=[(0.0, 800.0, 900.0, 800.0)],
    )


def dense_sheet(copies: Counter[tuple[str, str, str]]) -> PlannedSheet:
    """One whole-sheet plate with 46 pieces, some 60 x 40 mm, some 20 x 300 mm."""
    small: list[Item] = [("2431", f"Spot {n}", "", 60.0, 40.0, 90 * (n % 4)) for n in range(1, 13)]
    strips: list[Item] = [("2432", "Side bearer", f"b{n}", 20.0, 300.0, 180 * (n % 2)) for n in range(1, 13)]
    plate = shelves("S05-A", Rect(x=0.0, y=0.0, w=900.0, h=1200.0), Edge.Y1, [
        [("2433", "Cyan", "", 220.0, 300.0, 0), ("2433", "Black", "", 220.0, 300.0, 0), *strips],
        [*small],
        [("2434", "Orange", "", 100.0, 80.0, 0)] * 8,
        [("2435", "Line work black", "panel", 290.0, 200.0, 0)] * 3,
        [("2436", "Dots", "", 40.0, 60.0, 90)] * 9 + [("2437", "White", "", 300.0, 300.0, 0)],
    ], copies, group="relief 0.5")  # fmt: skip
    return sheet("S05", Source(kind=SourceKind.SHEET, ref="HB170 900x1200"), "HB170", 900.0, 1200.0, 86.4, [plate],
                 lot="H-1102")  # fmt: skip


def _offcut_sheet(copies: Counter[tuple[str, str, str]]) -> PlannedSheet:
    plate = shelves("S04-A", Rect(x=0.0, y=0.0, w=410.0, h=880.0), Edge.X1,
                    [[("2440", "Silver", "", 388.0, 420.0, 0)], [("2440", "Gold", "", 388.0, 430.0, 0)]], copies)
    return sheet("S04", Source(kind=SourceKind.OFFCUT, ref="F-0031"), "HB170", 410.0, 880.0, 18.0, [plate])


def week() -> Plan:
    """Five sheets in four patterns, unplaced must and fill pieces, a wrap warning."""
    copies: Counter[tuple[str, str, str]] = Counter()
    twins = [_twin("S01", copies), _twin("S02", copies)]
    sheets = [*twins, _mixed_sheet(copies), _offcut_sheet(copies), dense_sheet(copies)]
    plan = plan_of(
        sheets,
        unplaced=[
            Unplaced(job="2450", separation="White", part="", copies=1, need=Need.MUST,
                     reason="211.3 mm too wide for the imager"),
            Unplaced(job="2451", separation="Black", part="", copies=2, need=Need.MUST,
                     reason="needs 2 more sheets of HB170 900x1200"),
            Unplaced(job="2419", separation="Green", part="", copies=3, need=Need.FILL, reason="no free area left"),
        ],
        warnings=["job 2433 Cyan: around 300.0 mm is 4.2 mm longer than its cylinder takes (295.8 mm at repeat "
                  "308 mm); borders of 2.9 mm at lead and tail would fit"],
    )  # fmt: skip
    low = money(plan.totals.cost - 40.37)
    return replace(plan, totals=replace(plan.totals, bound=low, bound_gap=40.37 / plan.totals.cost), proof="area bound",
                   made_by="nest 0.1.0")  # fmt: skip


def small() -> Plan:
    """One small sheet for the golden guide."""
    copies: Counter[tuple[str, str, str]] = Counter()
    plate = shelves("S01-A", Rect(x=0.0, y=0.0, w=420.0, h=380.0), Edge.Y0, [
        [("2417", "Cyan", "", 200.0, 204.9052, 0), ("2417", "Black", "", 200.0, 204.9052, 180)],
        [("2419", "Green", "tab", 120.0, 150.0, 90)],
    ], copies, group="relief 0.5")  # fmt: skip
    return plan_of([sheet(
        "S01", Source(kind=SourceKind.SHEET, ref="HB170 420x600"), "HB170", 420.0, 600.0, 20.16, [plate],
        rests=[Rest(id="S01-R1", rect=Rect(x=0.0, y=380.0, w=420.0, h=220.0), kept=True, credit=2.43)],
        raw=[(0.0, 380.0, 420.0, 380.0)], lot="H-1102", expiry="2027-06-30",
    )])  # fmt: skip


def extreme() -> Plan:
    """Sheets at the ends of what guides must show: tiny, narrow, crowded, without keep-outs, three figures of cuts."""
    copies: Counter[tuple[str, str, str]] = Counter()
    bare = KeepOut(x0=0.0, x1=0.0, y0=0.0, y1=0.0)
    kind = SourceKind.OFFCUT

    def one(sheet_id: str, w: float, h: float, lead: Edge, items: Sequence[Sequence[Item]]) -> PlannedSheet:
        plate = shelves(f"{sheet_id}-A", Rect(x=0.0, y=0.0, w=w, h=h), lead, items, copies, keep=bare)
        return sheet(sheet_id, Source(kind=kind, ref=f"F-{sheet_id}"), "HB170", w, h, 9.0, [plate])

    tiny = one("S01", 60.0, 50.0, Edge.X1, [[("1", "Cyan", "", 30.0, 20.0, 0), ("1", "Black", "", 12.0, 12.0, 90)]])
    narrow = one("S02", 40.0, 1500.0, Edge.Y1, [[("2", "Bearer", "long", 14.0, 1400.0, 0)] * 2])
    flat = one("S03", 2032.0, 120.0, Edge.X0, [[("3", "Text line", f"{n}", 250.0, 100.0, 180) for n in range(8)]])
    crowd = one("S04", 1000.0, 800.0, Edge.Y0, [[(f"J-{n:04}", "Spot", "", 62.0, 41.0, 0)] * 16 for n in range(18)])
    parts = [
        shelves(f"S05-{name}", Rect(x=200.0 * col, y=300.0 * row, w=200.0, h=300.0), lead,
                [[("5", "Cyan", name, 170.0, 270.0, 0)]], copies)
        for name, col, row, lead in (("A", 0, 0, Edge.X1), ("B", 1, 0, Edge.X0), ("C", 0, 1, Edge.Y0))
    ]  # fmt: skip
    cornered = sheet(
        "S05", Source(kind=SourceKind.SHEET, ref="HB170 400x600"), "HB170", 400.0, 600.0, 20.0, parts,
        rests=[Rest(id="S05-R1", rect=Rect(x=200.0, y=300.0, w=200.0, h=300.0), kept=False, credit=0.0)],
        raw=[(0.0, 300.0, 400.0, 300.0), (200.0, 0.0, 200.0, 300.0), (200.0, 300.0, 200.0, 600.0)],
    )  # fmt: skip
    return plan_of([tiny, narrow, flat, crowd, cornered])


def hostile() -> Plan:
    """Names that try to break the drawing: markup, controls, very long, wide signs, right-to-left marks."""
    copies: Counter[tuple[str, str, str]] = Counter()
    names = ["<script>alert(1)</script>", "A&B \"quoted\" 'single'", "bell\x07null\x00end", "x" * 400, "印刷版" * 30,
             "🎨🎨 poster", "\u202eevil\u202c", "]]>&#0;", "=1+1"]  # fmt: skip
    items: list[Item] = [(name, f"Sep {name}", name[:9], 190.0, 120.0, 0) for name in names]
    shelf = [items[:4], items[4:8], items[8:]]
    plate = shelves("S01-A<b>", Rect(x=0.0, y=0.0, w=900.0, h=500.0), Edge.Y0, shelf, copies)
    return plan_of([sheet("S01 <&>", Source(kind=SourceKind.SHEET, ref="HB170 <900>"), "HB170", 900.0, 500.0, 40.0,
                          [plate], lot="<lot>")])  # fmt: skip


def rows_of(plan: Plan) -> list[Row]:
    """Rows that such a plan could have come from."""
    seen: dict[tuple[str, str, str], Row] = {}
    for s in plan.sheets:
        for plate in s.plates:
            for piece in plate.pieces:
                turn = Turn.FREE if piece.job in ("2431", "2436") else None
                seen.setdefault(piece.row, Row(
                    job=piece.job, separation=piece.separation, part=piece.part, material=s.material,
                    image_across_mm=piece.image.w, image_around_mm=piece.image.h, turn=turn,
                    customer="Customer 12" if piece.job == "2417" else "",
                    title="Lid, 95 mm" if piece.job == "2417" else "",
                ))  # fmt: skip
    return list(seen.values())


def shares_of(plan: Plan) -> list[JobShare]:
    """A share for each job by piece area, with 5.00 left for the room."""
    area: Counter[str] = Counter()
    count: Counter[str] = Counter()
    for s in plan.sheets:
        for plate in s.plates:
            for piece in plate.pieces:
                area[piece.job] += int(piece.rect.w * piece.rect.h)
                count[piece.job] += 1
    whole, spent = sum(area.values()), plan.totals.cost - 5.0
    return [
        JobShare(job=job, pieces=count[job], piece_m2=area[job] / 1e6, share=money(spent * area[job] / whole),
                 alone=None if job == "2440" else money(1.3 * spent * area[job] / whole + 20.0))
        for job in sorted(area)
    ]  # fmt: skip


