"""The plan's figures, added up anew from its sheets, plates, rests, cuts and pieces."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from nest.check.geometry import box_of
from nest.check.money import CENT_ROUNDING, MM2_PER_M2, area, process_cost, rest_credit, typed
from nest.check.placing import inner_box
from nest.check.violation import Violation, differs
from nest.domain.plan import CutStage, StoppedBy

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts

RATIO_TOLERANCE = 1e-5
AREA_TOLERANCE = 1e-5
"""Share of the drawn area, at least of 1 m2: plan files state areas to 6 decimals and lengths to 4."""


def counts(facts: Facts) -> Iterator[Violation]:
    """Check that sheets, plates, raw cuts and pieces are counted right, in the room's currency."""
    plan, totals = facts.plan, facts.plan.totals
    if plan.currency != facts.room.currency:
        yield Violation(
            place="totals", rule="currency", text=f"{facts.room.currency} expected, got {plan.currency}",
        )
    plates = [plate for sheet in plan.sheets for plate in sheet.plates]
    expected = {
        "sheets": len(plan.sheets),
        "plates": len(plates),
        "raw_cuts": _raw_cuts(facts),
        "pieces": sum(len(plate.pieces) for plate in plates),
    }
    for name, count in expected.items():
        if getattr(totals, name) != count:
            yield Violation(
                place="totals", rule="counts", text=f"{name} {count} expected, got {getattr(totals, name)}",
            )


def _raw_cuts(facts: Facts) -> int:
    return sum(cut.stage is CutStage.RAW for sheet in facts.plan.sheets for cut in sheet.cuts)


def cost_parts(facts: Facts) -> dict[str, Fraction]:
    """Return the cost's parts from the room's own prices and rates, not from what the plan states."""
    costs, plan = facts.room.costs, facts.plan
    found = dict.fromkeys(("sheets", "credit", "plates", "process", "cuts"), Fraction(0))
    for sheet in plan.sheets:
        stock = facts.source_of(sheet)
        found["sheets"] += typed(sheet.cost if stock is None else stock.price)
        for rest in sheet.rests:
            if rest.kept and stock is not None:
                found["credit"] += typed(rest_credit(costs, stock.value_per_m2, rest.rect.w, rest.rect.h))
        for plate in sheet.plates:
            found["plates"] += typed(costs.plate)
            found["process"] += typed(process_cost(costs, plate.rect.w, plate.rect.h))
    found["cuts"] = typed(costs.cut) * _raw_cuts(facts)
    return found


def costs(facts: Facts) -> Iterator[Violation]:
    """Check that the cost and its parts add up from the room's prices and rates."""
    totals, parts = facts.plan.totals, cost_parts(facts)
    for name, amount in parts.items():
        got = float(getattr(totals.cost_parts, name))
        if differs(got, float(amount), CENT_ROUNDING):
            yield Violation(
                place="totals", rule="cost-parts", text=f"{name} {float(amount):.2f} expected, got {got}",
            )
    cost = float(parts["sheets"] - parts["credit"] + parts["plates"] + parts["process"] + parts["cuts"])
    if differs(totals.cost, cost, CENT_ROUNDING):
        yield Violation(place="totals", rule="cost", text=f"cost {cost:.2f} expected, got {totals.cost}")


def bound(facts: Facts) -> Iterator[Violation]:
    """Check that the bound is whole cents, not negative, not above the cost, and the gap follows from both."""
    totals = facts.plan.totals
    if not -1e-9 <= totals.bound <= totals.cost + 1e-6:
        yield Violation(
            place="totals", rule="bound", text=f"a bound of 0 to {totals.cost:.2f} expected, got {totals.bound}",
        )
    if differs(totals.bound, round(totals.bound, 2), 1e-7):
        yield Violation(place="totals", rule="bound", text=f"a bound in whole cents expected, got {totals.bound}")
    gap = (totals.cost - totals.bound) / totals.cost if totals.cost > 0 else 0.0
    slack = RATIO_TOLERANCE + (CENT_ROUNDING / totals.cost if totals.cost > 0 else 0.0)
    if differs(totals.bound_gap, gap, slack):
        yield Violation(place="totals", rule="bound-gap", text=f"gap {gap:.6f} expected, got {totals.bound_gap}")
    if facts.plan.stopped_by is StoppedBy.OPTIMAL and not totals.cost - totals.bound < 0.01 + 1e-6:
        yield Violation(
            place="totals", rule="optimal",
            text=f"cost equal to the bound expected of an optimal plan, got {totals.cost} above {totals.bound}",
        )


def area_parts(facts: Facts) -> dict[str, float]:
    """Return where the drawn area goes, m2, from the sheets' rectangles and the images the rows order."""
    found = dict.fromkeys(("drawn", "image", "border", "keep_out", "unused", "kept", "scrap"), 0.0)
    for sheet in facts.plan.sheets:
        found["drawn"] += float(area(sheet.across_mm, sheet.around_mm))
        for rest in sheet.rests:
            found["kept" if rest.kept else "scrap"] += float(area(rest.rect.w, rest.rect.h))
        for plate in sheet.plates:
            inner = max(0.0, inner_box(plate).w) * max(0.0, inner_box(plate).h) / MM2_PER_M2
            pieces = sum(box_of(piece.rect).area for piece in plate.pieces) / MM2_PER_M2
            found["keep_out"] += float(area(plate.rect.w, plate.rect.h)) - inner
            found["unused"] += inner - pieces
            found["border"] += pieces
    for one in facts.located:
        image = one.wanted.image_w * one.wanted.image_h / MM2_PER_M2
        found["image"] += image
        found["border"] -= image
    return found


def areas(facts: Facts) -> Iterator[Violation]:
    """Check that areas are right one by one, and all but the drawn one add up to it."""
    stated, expected = facts.plan.totals.area, area_parts(facts)
    tolerance = AREA_TOLERANCE * max(1.0, expected["drawn"])
    for name, amount in expected.items():
        got = float(getattr(stated, name))
        if differs(got, amount, tolerance):
            yield Violation(place="totals", rule="area", text=f"{name} {amount:.6f} m2 expected, got {got}")
    total = stated.image + stated.border + stated.keep_out + stated.unused + stated.kept + stated.scrap
    if differs(total, stated.drawn, AREA_TOLERANCE):
        yield Violation(
            place="totals", rule="area-sum",
            text=f"areas that add up to {stated.drawn:.6f} m2 expected, got {total:.6f}",
        )


def yields(facts: Facts) -> Iterator[Violation]:
    """Check that the three yields follow from the areas."""
    found, stated = area_parts(facts), facts.plan.totals.yields
    drawn, pieces = found["drawn"], found["image"] + found["border"]
    used = drawn - found["kept"]
    expected = {
        "gross": pieces / drawn if drawn > 0 else 0.0,
        "image": found["image"] / drawn if drawn > 0 else 0.0,
        "credited": pieces / used if used > 0 else 0.0,
    }
    for name, ratio in expected.items():
        got = float(getattr(stated, name))
        if differs(got, ratio, RATIO_TOLERANCE):
            yield Violation(place="totals", rule="yield", text=f"{name} {ratio:.6f} expected, got {got}")
