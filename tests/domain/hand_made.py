"""Sheets made by hand, with areas that are easy to follow."""

from __future__ import annotations

from nest.domain.plan import (
    Cut,
    CutStage,
    Edge,
    KeepOut,
    PlacedPiece,
    PlannedPlate,
    PlannedSheet,
    Rect,
    Rest,
    Source,
    SourceKind,
)

Size = tuple[float, float]


def rect(x: float, y: float, w: float, h: float) -> Rect:
    return Rect(x=x, y=y, w=w, h=h)


def hand_piece(copy: int, x: float, y: float, piece: Size, image: Size) -> PlacedPiece:
    """Return a piece with its image in its middle."""
    dx, dy = (piece[0] - image[0]) / 2, (piece[1] - image[1]) / 2
    return PlacedPiece(
        job="3101", separation="Cyan", part="", copy=copy, rect=rect(x, y, *piece), turn=0,
        image=rect(x + dx, y + dy, *image),
    )


def hand_sheet(size: Size, count: int, piece: Size, image: Size, kept: Size | None = None) -> PlannedSheet:
    """Return a sheet with one plate of pieces in rows from its corner, and sometimes a kept rest at its other end.

    The plate is the whole sheet; a kept rest is only there for its area.
    """
    columns = int(size[0] // piece[0])
    pieces = tuple(
        hand_piece(n + 1, n % columns * piece[0], n // columns * piece[1], piece, image) for n in range(count)
    )
    rests = () if kept is None else (
        Rest(id="S01-R1", rect=rect(size[0] - kept[0], size[1] - kept[1], *kept), kept=True, credit=1.0),
    )
    return PlannedSheet(
        id="S01", source=Source(kind=SourceKind.SHEET, ref="KV170"), material="KV170", across_mm=size[0],
        around_mm=size[1], cost=86.4, rests=rests, cuts=(),
        plates=(
            PlannedPlate(
                id="S01-A", rect=rect(0, 0, *size), lead=Edge.Y0, keep_out=KeepOut(x0=0, x1=0, y0=0, y1=0), process=0.0,
                pieces=pieces,
            ),
        ),
    )


def cut_sheet() -> PlannedSheet:
    """Return a sheet of 1000 x 1000 with a plate, a kept rest and a scrap one.

    ::

        1000 +--------------------+
             |  rest 1000 x 300   |  kept, credit 7.50
         700 +-------------+------+
             | plate 800   |scrap |  keep-outs 10, lead 20; pieces 200 x 300 twice,
             |   x 700     |200   |  images 190 x 290
             +-------------+------+
    """
    return PlannedSheet(
        id="S01", source=Source(kind=SourceKind.SHEET, ref="KV170"), material="KV170", across_mm=1000.0,
        around_mm=1000.0, cost=60.0,
        plates=(
            PlannedPlate(
                id="S01-A", rect=rect(0, 0, 800, 700), lead=Edge.Y0, keep_out=KeepOut(x0=10, x1=10, y0=20, y1=10),
                process=7.84,
                pieces=(
                    hand_piece(1, 10, 20, (200, 300), (190, 290)), hand_piece(2, 210, 20, (200, 300), (190, 290)),
                ),
            ),
        ),
        rests=(
            Rest(id="S01-R1", rect=rect(800, 0, 200, 700), kept=False, credit=0.0),
            Rest(id="S01-R2", rect=rect(0, 700, 1000, 300), kept=True, credit=7.5),
        ),
        cuts=(
            Cut(order=1, stage=CutStage.RAW, plate=None, x1=0, y1=700, x2=1000, y2=700),
            Cut(order=2, stage=CutStage.RAW, plate=None, x1=800, y1=0, x2=800, y2=700),
            Cut(order=3, stage=CutStage.FINISH, plate="S01-A", x1=0, y1=20, x2=800, y2=20),
        ),
    )
