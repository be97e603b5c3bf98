"""What a job's plates cost and are sold for.

- cut area: what is billed, the cut rectangle with its borders, shortening included;
- share of sheets: that area over the yield of the last weeks, at the price of the material by area, averaged over the
  sheet sizes of the room;
- on its own: a checked plan of the job alone, on new sheets in any number;
- selling price of each piece: the larger of the minimum and rate × cut area (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.buying.demand import sizes_of
from nest.buying.nesting import endless
from nest.buying.resample import without_lots
from nest.domain.job import Need
from nest.pipeline import Settings, make_plan
from nest.plates.pieces import piece_of
from nest.units import area_m2, money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.buying.yields import Yield
    from nest.domain.job import Row
    from nest.domain.plan import Plan
    from nest.domain.room import Room, Selling
    from nest.plates.pieces import Piece

WORK_BASE, WORK_PER_PIECE = 200, 60
"""Work of planning a job on its own: an estimate, to be had at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceQuote:
    """One row: its piece, area of one copy in m2, price of one copy and of all, None where the room names no rates."""

    piece: Piece
    area_m2: float
    each: float | None
    price: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobQuote:
    """One job: its rows, cut area, share of sheets in m2 and money (None without a yield), plan on its own, price.

    ``alone`` is None where some pieces find no sheet.
    """

    job: str
    pieces: tuple[PieceQuote, ...]
    area_m2: float
    sheet_m2: float | None
    sheet_cost: float | None
    alone: Plan | None
    price: float | None

    @property
    def count(self) -> int:
        """Number of pieces."""
        return sum(one.piece.row.copies for one in self.pieces)


def selling_price(area: float, selling: Selling) -> float:
    """Return what a piece of so many m2 is sold for: the larger of the minimum and the rate times the area.

    Examples
    --------
    A rate of 0.90 for a square inch and at least 35 (trade figures of common practice): 10 x 12 in and 2 x 3 in.

    >>> from nest.domain.room import Selling
    >>> square_inch = 0.0254**2
    >>> selling = Selling(rate_per_m2=0.90 / square_inch, minimum=35.0)
    >>> selling_price(120 * square_inch, selling), selling_price(6 * square_inch, selling)
    (108.0, 35.0)
    """
    return money(max(selling.minimum, selling.rate_per_m2 * area))


def quote_jobs(rows: Sequence[Row], room: Room, found: Yield | None, seed: int = 0) -> list[JobQuote]:
    """Return a quote for each job, in order of job; fill rows are made for nobody and left out.

    Parameters
    ----------
    rows
        The rows of the jobs.
    room
        Its sheets are the sizes to be had, its rates the selling price.
    found
        The yield to share sheets at; None for no share.
    seed
        Start of the random choices of the plans.
    """
    jobs: dict[str, list[Row]] = {}
    for row in sorted(rows, key=lambda row: row.key):
        if row.need is Need.MUST:
            jobs.setdefault(row.job, []).append(row)
    return [_quote(job, own, room, found, seed) for job, own in jobs.items()]


def _quote(job: str, rows: Sequence[Row], room: Room, found: Yield | None, seed: int) -> JobQuote:
    selling = room.selling
    pieces = []
    for piece in (piece_of(row, room) for row in rows):
        area = area_m2(piece.w, piece.h)
        each = None if selling is None else selling_price(area, selling)
        price = None if each is None else money(each * piece.row.copies)
        pieces.append(PieceQuote(piece=piece, area_m2=area, each=each, price=price))
    area = sum(one.area_m2 * one.piece.row.copies for one in pieces)
    rates = {row.material: price_per_m2(room, row.material) for row in rows}
    cost = None
    if found is not None and None not in rates.values():
        cost = money(sum(one.area_m2 * one.piece.row.copies * (rates[one.piece.row.material] or 0.0) for one in pieces)
                     / found.share)  # fmt: skip
    return JobQuote(
        job=job, pieces=tuple(pieces), area_m2=area, sheet_m2=None if found is None else area / found.share,
        sheet_cost=cost, alone=plan_alone(rows, room, seed),
        price=money(sum(one.price or 0.0 for one in pieces)) if selling is not None else None,
    )  # fmt: skip


def price_per_m2(room: Room, material: str) -> float | None:
    """Return what a m2 of a material costs, averaged over the sheet sizes; None where the room has no sheet of it."""
    rates = [s.price * 1e6 / (s.across_mm * s.around_mm) for s in room.sheets if s.material == material]
    return sum(rates) / len(rates) if rates else None


def plan_alone(rows: Sequence[Row], room: Room, seed: int) -> Plan | None:
    """Return a checked plan of some rows alone, on new sheets in any number; None where a piece finds no sheet."""
    own = replace(room, sheets=endless(room, sizes_of(room)), offcuts=(), calendar=None)
    work = WORK_BASE + WORK_PER_PIECE * sum(row.copies for row in rows)
    bare = [replace(row, ready=None, due=None) for row in without_lots(rows)]
    plan = make_plan(bare, own, Settings(seed=seed, work_limit=work)).plan
    return None if plan.unplaced else plan
