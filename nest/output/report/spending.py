"""Where each square metre and each euro went, and what waste costs by cause.

A sheet's price is spread over its area: what lies under a keep-out costs its area times the sheet's price per m2. A
kept rest costs what its credit does not give back. With plates, processing and raw cuts these add up to the cost.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.areas import SheetAreas, sheet_areas
from nest.output.words import counted, percent
from nest.units import money

if TYPE_CHECKING:
    from nest.domain.plan import Plan

_CAUSES = (
    ("image", "Images", "used", "printed area, after shortening"),
    ("border", "Floor borders", "lost", "floor round the images"),
    ("keep_out", "Keep-outs", "lost", "under clamp, tape and trim"),
    ("unused", "Unused", "lost", "of plates, inside the keep-outs"),
    ("scrap", "Scrap", "lost", "rests not kept"),
    ("kept", "Rests kept", "kept", "money: what their credit does not give back"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One cause: area in m2 (None for work), money, and how long its two bars are in percent of the longest."""

    name: str
    words: str
    look: str
    m2: float | None
    amount: float
    m2_share: str
    amount_share: str
    m2_bar: float
    amount_bar: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Waste:
    """What waste costs by one cause, and its share of the prices of the material drawn."""

    name: str
    words: str
    amount: float
    share: str


def spending(plan: Plan) -> tuple[Part, ...]:
    """Return the causes in the order of the chart; amounts are in cents and sum to the plan's cost."""
    totals, cost = plan.totals, plan.totals.cost_parts
    amounts = _material_amounts(plan)
    parts: list[tuple[str, str, str, float | None, float]] = [
        (name, words, look, getattr(totals.area, key), money(amounts[key])) for key, name, look, words in _CAUSES
    ]
    parts += [
        ("Plates", f"{counted(totals.plates, 'plate')}: set-up, loading, handling", "work", None, cost.plates),
        ("Processing", "by plate area", "work", None, cost.process),
        ("Raw cuts", counted(totals.raw_cuts, "raw cut"), "work", None, cost.cuts),
    ]
    # Cents lost by rounding each part go to the images, so that what is printed adds up.
    name, words, look, m2, amount = parts[0]
    parts[0] = (name, words, look, m2, money(amount + totals.cost - math.fsum(part[4] for part in parts)))
    most_m2 = max([1e-9, *(part[3] for part in parts if part[3] is not None)])
    most = max([1e-9, *(part[4] for part in parts)])
    drawn, whole = totals.area.drawn or 1.0, totals.cost or 1.0
    return tuple(
        Part(
            name=name, words=words, look=look, m2=m2, amount=amount,
            m2_share="" if m2 is None else percent(m2 / drawn), amount_share=percent(amount / whole),
            m2_bar=0.0 if m2 is None else _bar(m2 / most_m2), amount_bar=_bar(amount / most),
        )
        for name, words, look, m2, amount in parts
    )  # fmt: skip


def _bar(share: float) -> float:
    return round(100 * max(0.0, share), 2)


def _material_amounts(plan: Plan) -> dict[str, float]:
    """Return the money of each cause before rounding: price per m2 of its sheet times area, kept rests less credit."""
    sums: dict[str, list[float]] = {key: [] for key, *_ in _CAUSES}
    for sheet in plan.sheets:
        area: SheetAreas = sheet_areas(sheet)
        rate = sheet.cost / area.drawn
        for key in sums:
            sums[key].append(getattr(area, key) * rate)
        sums["kept"].append(-sum(rest.credit for rest in sheet.rests))
    return {key: math.fsum(values) for key, values in sums.items()}


def wastes(plan: Plan) -> tuple[Waste, ...]:
    """Return what waste costs by cause, the dearest first."""
    amounts, whole = _material_amounts(plan), plan.totals.cost_parts.sheets or 1.0
    causes = [(name, words, amounts[key]) for key, name, look, words in _CAUSES if look != "used"]
    named = [("Credit lost on rests kept", "price of the rests less their credit", amount) if name == "Rests kept"
             else (name, words, amount) for name, words, amount in causes]  # fmt: skip
    ordered = sorted(named, key=lambda cause: -cause[2])
    return tuple(
        Waste(name=name, words=words, amount=money(amount), share=percent(amount / whole))
        for name, words, amount in ordered
    )
