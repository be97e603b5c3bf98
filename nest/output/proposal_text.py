"""The order proposal: as text for the buyer, as CSV for a spreadsheet."""

from __future__ import annotations

import csv
import io
import math
import textwrap
from dataclasses import asdict
from typing import TYPE_CHECKING

from nest.domain.cells import guarded
from nest.domain.room import OrderPolicy, Service
from nest.output.records import json_text
from nest.output.text_columns import aligned_table
from nest.output.words import counted, decimal, one_line, percent

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from nest.domain.proposal import Proposal, Proposals, Stand

FORMAT, VERSION = "nest-proposal", 1
WIDTH = 100
LEVEL_Z = 1.96
"""Half a 95 % interval in standard errors."""
_CSV_HEAD = (
    "size", "material", "order_sheets", "boxes", "per_box", "price", "cost", "comes", "next_order", "next_from",
    "next_to", "cover_days", "cover_until", "demand_low", "demand_high", "enough", "position", "on_hand", "kept_back",
    "expiring", "on_order", "committed", "risk_with", "risk_without", "risk_before", "orders", "sheets", "bought",
    "ordering", "stock", "holding", "expired", "expired_value", "short", "served", "notes",
)  # fmt: skip


def proposals_text(found: Proposals) -> str:
    """Return what to buy, size by size with its reason, then how the store fares over the weeks simulated."""
    buy = [one for one in found.sizes if one.sheets]
    rest = [one for one in found.sizes if not one.sheets]
    total = sum(one.cost for one in buy)
    ordering = found.buying.order_cost * len(buy)
    text = f"BUY TODAY, {found.day}: "
    text += f"{counted(sum(one.sheets for one in buy), 'sheet')}, {total:.2f} {found.currency}" if buy else "nothing"
    text += f", and {ordering:.2f} for ordering\n" if buy and ordering else "\n"
    text += "".join(_size(one, found) for one in buy)
    if rest:
        text += "\nNOT TODAY\n" + "".join(_size(one, found) for one in rest)
    return text + _outlook(found) + _foot(found)


def _size(one: Proposal, found: Proposals) -> str:
    if one.sheets:
        boxes = f"{counted(one.boxes, 'box')} of {one.per_box} = " if one.per_box > 1 else ""
        amount = boxes + counted(one.sheets, "sheet")
        head = f"{amount} at {one.price:.2f} = {one.cost:.2f} {found.currency}, comes {one.comes}"
    else:
        head = "none"
    lines = [
        f"demand until the next delivery on {one.cover.until}: {_range(one)} sheets, {_service(found)}: "
        f"{one.cover.enough}; {stand_words(one.stand)}",
        _risk(one),
        f"next order: {_when(one, found)}",
        *one.notes,
    ]
    return f"{one_line(one.size)}: {head}\n" + "".join(wrapped(line, "  ") for line in lines)


def wrapped(text: str, indent: str = "") -> str:
    """Return a sentence on lines of at most `WIDTH` columns."""
    lines = textwrap.wrap(one_line(text), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
    return "".join(f"{line}\n" for line in lines)


def _range(one: Proposal) -> str:
    return f"{one.cover.low}" if one.cover.low == one.cover.high else f"{one.cover.low}-{one.cover.high}"


def _service(found: Proposals) -> str:
    level = f"{decimal(100 * found.buying.level, 2)} %"
    return level if found.buying.service is Service.CYCLE else f"for {level} served from stock"


def stand_words(stand: Stand) -> str:
    """Return what is there, and what of it counts where that is not the same."""
    words = [f"on hand {stand.on_hand}"]
    others = ((stand.kept_back, "kept back"), (stand.expiring, "expiring unused"), (stand.on_order, "on order"),
              (stand.committed, "committed"))  # fmt: skip
    words += [f"{name} {count}" for count, name in others if count]
    return ", ".join(words) + (f": {stand.position} to count on" if len(words) > 1 else "")


def _risk(one: Proposal) -> str:
    until = f"risk of running short by {one.cover.until}: "
    before = f", {percent(one.risk_before)} before anything ordered today can come" if one.risk_before else ""
    if one.sheets:
        return f"{until}{percent(one.risk_with)} with the order, {percent(one.risk_without)} without{before}"
    return f"{until}{percent(one.risk_without)}{before}"


def _when(one: Proposal, found: Proposals) -> str:
    if one.next_order is None:
        early = f", at the earliest {one.next_from}" if one.next_from else ""
        return f"not within the {found.weeks} weeks simulated{early}"
    if one.next_from == one.next_to:
        return f"{one.next_order}"
    latest = f"{one.next_to}" if one.next_to else "later than simulated"
    return f"about {one.next_order} (four futures of five: {one.next_from} to {latest})"


def _outlook(found: Proposals) -> str:
    head = ("size", "orders", "sheets", "bought", "ordering", "in stock", "holding", "expired", "short", "served")
    rows = [
        (one.size, f"{o.orders:.1f}", f"{o.sheets:.1f}", f"{o.bought:.2f}", f"{o.ordering:.2f}", f"{o.stock:.1f}",
         f"{o.holding:.2f}", f"{o.expired:.1f}", percent(o.short), percent(o.served))
        for one, o in ((one, one.outlook) for one in found.sizes)
    ]  # fmt: skip
    text = f"\nIF IT GOES ON LIKE THIS, {counted(found.weeks, 'week')} from {found.first_week}, mean of "
    text += f"{counted(found.paths, 'simulated future')}\n"
    return text + aligned_table(head, rows, range(1, 10))


def _foot(found: Proposals) -> str:
    buying = found.buying
    policy = "filled up at every review" if buying.policy is OrderPolicy.FILL_UP else "lots of least cost"
    lines = [
        f"money in {found.currency}; in stock: sheets on average; short: futures that run short at some time; served: "
        "sheets there when wanted",
        f"ordered every {counted(buying.review_days, 'working day')}, {policy}; what is short waits for the next "
        "delivery; sizes do not stand in for each other",
        _error(found.paths),
        *found.basis,
    ]
    return "".join(wrapped(line) for line in lines)


def _error(paths: int) -> str:
    """Return how sure a risk is that was counted in so many paths: 1.96 sqrt(p (1 - p) / n), at 5 %."""
    half = LEVEL_Z * math.sqrt(0.05 * 0.95 / paths)
    return f"counted in {counted(paths, 'future')}: a risk of 5 % may be {100 * half:.1f} points off (95 of 100 times)"


def proposals_csv(found: Proposals) -> str:
    """Return one line a size with every figure; shares from 0 to 1."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_CSV_HEAD)
    writer.writerows(_line(one) for one in found.sizes)
    return out.getvalue()


def _line(one: Proposal) -> Sequence[object]:
    cover, stand, o = one.cover, one.stand, one.outlook
    return (
        guarded(one.size), guarded(one.material), one.sheets, one.boxes, one.per_box, f"{one.price:.2f}",
        f"{one.cost:.2f}", one.comes, _day(one.next_order), _day(one.next_from), _day(one.next_to), cover.days,
        cover.until, cover.low, cover.high, cover.enough, stand.position, stand.on_hand, stand.kept_back,
        stand.expiring, stand.on_order, stand.committed, f"{one.risk_with:.4f}", f"{one.risk_without:.4f}",
        f"{one.risk_before:.4f}", f"{o.orders:.2f}", f"{o.sheets:.2f}", f"{o.bought:.2f}", f"{o.ordering:.2f}",
        f"{o.stock:.2f}", f"{o.holding:.2f}", f"{o.expired:.2f}", f"{o.expired_value:.2f}", f"{o.short:.4f}",
        f"{o.served:.4f}", guarded("; ".join(one.notes)),
    )  # fmt: skip


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()


def proposals_json(found: Proposals) -> str:
    """Return everything as one JSON document."""
    sizes = [{**asdict(one), "boxes": one.boxes, "position": one.stand.position} for one in found.sizes]
    return json_text({"format": FORMAT, "version": VERSION, **asdict(found), "sizes": sizes}) + "\n"
