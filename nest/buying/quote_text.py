"""A quote as text and as JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from nest.domain.room import Unit
from nest.output.text_columns import aligned_table
from nest.output.words import counted, length_words, one_line
from nest.units import M2_PER_SQFT, plain, to_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.buying.quote import JobQuote, PieceQuote
    from nest.buying.yields import Yield
    from nest.domain.room import Room

FORMAT, VERSION = "nest-quote", 1
M2_PER_SQIN = M2_PER_SQFT / 144.0


def quote_text(quotes: Sequence[JobQuote], room: Room, found: Yield | None) -> str:
    """Return a table and the figures of each job, then what holds for all of them."""
    out = [_job_text(quote, room, found) for quote in quotes]
    prices = [quote.price for quote in quotes if quote.price is not None]
    if len(quotes) > 1 and len(prices) == len(quotes):
        out.append(f"ALL: {counted(len(quotes), 'job')}, selling price {sum(prices):.2f} {room.currency}\n")
    out.append(_terms(room, found))
    return "\n".join(out)


def _job_text(quote: JobQuote, room: Room, found: Yield | None) -> str:
    area = "in2" if room.unit is Unit.INCH else "m2"
    head = ("separation", "material", "copies", "cut across", "cut around", area, "each", "price")
    rows = [_row(one, room) for one in quote.pieces]
    table = aligned_table(head, rows, range(2, 8))
    lines = [("cut area", f"{_area(quote.area_m2, room)} {area}")]
    if quote.sheet_m2 is not None and found is not None:
        worth = "" if quote.sheet_cost is None else f", worth {quote.sheet_cost:.2f} {room.currency}"
        lines.append(("share of sheets", f"{_area(quote.sheet_m2, room)} {area}{worth}"))
    lines.append(("planned alone", _alone(quote, room)))
    if quote.price is not None:
        lines.append(("selling price", f"{quote.price:.2f} {room.currency}"))
    return (
        f"JOB {one_line(quote.job)}: {counted(quote.count, 'piece')}\n"
        + "".join(f"  {line}\n" for line in table.splitlines())
        + "".join(f"  {name:<16} {words}\n" for name, words in lines)
    )


def _row(one: PieceQuote, room: Room) -> tuple[str, ...]:
    row = one.piece.row
    return (
        one_line(" ".join(word for word in (row.separation, row.part) if word)), one_line(row.material),
        str(row.copies), *(length_words(to_mm(side), room.unit) for side in (one.piece.w, one.piece.h)),
        _area(one.area_m2, room), *("-" if money is None else f"{money:.2f}" for money in (one.each, one.price)),
    )  # fmt: skip


def _area(m2: float, room: Room) -> str:
    return f"{m2 / M2_PER_SQIN:.1f}" if room.unit is Unit.INCH else f"{m2:.4f}"


def _alone(quote: JobQuote, room: Room) -> str:
    if quote.alone is None:
        return "some pieces fit no sheet of the room"
    totals = quote.alone.totals
    parts = totals.cost_parts
    kept = f", {parts.credit:.2f} of it back for rests kept" if parts.credit else ""
    sheets = counted(totals.sheets, "sheet")
    return (
        f"{totals.cost:.2f} {room.currency} ({sheets} {parts.sheets:.2f}{kept}; plates, processing and cuts "
        f"{parts.plates + parts.process + parts.cuts:.2f})"
    )


def _terms(room: Room, found: Yield | None) -> str:
    lines = [f"yield: {found.words}" if found is not None else
             "no yield known, so no share of sheets: give --yield or --yield-from"]  # fmt: skip
    if room.selling is None:
        lines.append("no selling price: the room file has no [selling]")
    else:
        unit, rate = ("in2", M2_PER_SQIN) if room.unit is Unit.INCH else ("m2", 1.0)
        each = plain(round(room.selling.rate_per_m2 * rate, 6))
        lines.append(f"a piece is sold for {each} {room.currency} per {unit} of its cut area, at least "
                     f"{room.selling.minimum:.2f} {room.currency}")  # fmt: skip
    return "".join(f"{line}\n" for line in lines)


def quote_json(quotes: Sequence[JobQuote], room: Room, found: Yield | None) -> str:
    """Return the quotes as one JSON document: lengths in mm, areas in m2, money in the room's currency."""
    document = {
        "format": FORMAT, "version": VERSION, "currency": room.currency,
        "yield": None if found is None else {"share": round(found.share, 6), "source": found.source},
        "selling": None if room.selling is None else {
            "rate_per_m2": round(room.selling.rate_per_m2, 6), "minimum": room.selling.minimum,
        },
        "jobs": [_job_json(quote) for quote in quotes],
    }  # fmt: skip
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def _job_json(quote: JobQuote) -> dict[str, Any]:
    alone = None if quote.alone is None else {
        "cost": quote.alone.totals.cost, "sheets": quote.alone.totals.sheets, "plates": quote.alone.totals.plates,
        "sheets_cost": quote.alone.totals.cost_parts.sheets, "credit": quote.alone.totals.cost_parts.credit,
    }  # fmt: skip
    return {
        "job": quote.job, "pieces": [_piece_json(one) for one in quote.pieces], "area": round(quote.area_m2, 6),
        "sheet_area": None if quote.sheet_m2 is None else round(quote.sheet_m2, 6), "sheet_cost": quote.sheet_cost,
        "alone": alone, "price": quote.price,
    }  # fmt: skip


def _piece_json(one: PieceQuote) -> dict[str, Any]:
    row = one.piece.row
    return {
        "separation": row.separation, "part": row.part, "material": row.material, "copies": row.copies,
        "cut_across": to_mm(one.piece.w), "cut_around": to_mm(one.piece.h), "area": round(one.area_m2, 6),
        "each": one.each, "price": one.price,
    }  # fmt: skip
