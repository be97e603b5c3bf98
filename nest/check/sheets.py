"""Sheets: where they were drawn from, how many, what they cost and what of them goes back to the store."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from nest.check.money import CENT_ROUNDING, area, rest_credit, typed
from nest.check.pieces import states_relief
from nest.check.plates import STEP_MM
from nest.check.violation import Violation, differs, mm
from nest.domain.job import Together
from nest.domain.plan import SourceKind
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts, Stock
    from nest.domain.plan import PlannedSheet


def ids(facts: Facts) -> Iterator[Violation]:
    """Check that sheets, plates and rests each have an id of their own."""
    found = [one for sheet in facts.plan.sheets for one in _named(sheet)]
    for name, count in sorted(Counter(found).items()):
        if count > 1 or not name:
            yield Violation(place=name or "ids", rule="id", text=f"an id of its own expected, {count} parts have it")


def _named(sheet: PlannedSheet) -> list[str]:
    return [sheet.id, *(plate.id for plate in sheet.plates), *(rest.id for rest in sheet.rests)]


def sources(facts: Facts) -> Iterator[Violation]:
    """Check that every sheet is drawn from the store, at its material, size, cost, lot and expiry."""
    for sheet in facts.plan.sheets:
        stock = facts.source_of(sheet)
        if stock is None:
            yield Violation(
                place=sheet.id, rule="source",
                text=f"a {sheet.source.kind.value} of the room expected, got {sheet.source.ref}",
            )
            continue
        yield from _as_stocked(sheet, stock)


def _as_stocked(sheet: PlannedSheet, stock: Stock) -> Iterator[Violation]:
    ref = sheet.source.ref
    if sheet.material != stock.material:
        yield Violation(
            place=sheet.id, rule="source-material",
            text=f"{stock.material} expected of {ref}, got {sheet.material}",
        )
    sides = ((sheet.across_mm, stock.across_mm), (sheet.around_mm, stock.around_mm))
    if any(differs(got, expected, STEP_MM) for got, expected in sides):
        yield Violation(
            place=sheet.id, rule="source-size",
            text=f"across {mm(stock.across_mm)} / around {mm(stock.around_mm)} mm expected of {ref}, "
                 f"got across {mm(sheet.across_mm)} / around {mm(sheet.around_mm)}",
        )
    if differs(sheet.cost, stock.price, CENT_ROUNDING):
        yield Violation(
            place=sheet.id, rule="source-cost", text=f"cost {stock.price} expected of {ref}, got {sheet.cost}"
        )
    if sheet.lot is not None and sheet.lot != stock.lot:
        yield Violation(place=sheet.id, rule="source-lot", text=f"lot {stock.lot} expected of {ref}, got {sheet.lot}")
    expiry = None if stock.expiry is None else stock.expiry.isoformat()
    if sheet.expiry is not None and sheet.expiry != expiry:
        yield Violation(
            place=sheet.id, rule="source-expiry", text=f"expiry {expiry} expected of {ref}, got {sheet.expiry}"
        )


def stock(facts: Facts) -> Iterator[Violation]:
    """Check that no more sheets are drawn than are on hand less the reserve, and each offcut at most once."""
    for key, count in sorted(facts.drawn().items()):
        item = facts.stock.get(key)
        if item is None or item.available is None or count <= item.available:
            continue
        rule = "offcut-twice" if key[0] is SourceKind.OFFCUT else "stock"
        kept = "" if facts.use_reserve or key[0] is SourceKind.OFFCUT else " without the reserve"
        yield Violation(place=key[1], rule=rule, text=f"at most {item.available} drawn{kept} expected, got {count}")


def suits(facts: Facts) -> Iterator[Violation]:
    """Check that a sheet serves its pieces: not expired when they are due, back-exposed only to their relief."""
    for one in facts.located:
        source, row = facts.source_of(one.sheet), one.wanted.row
        if source is None:
            continue
        if source.expiry is not None and row.due is not None and source.expiry < row.due.date():
            yield Violation(
                place=one.sheet.id, rule="expiry",
                text=f"{one.name} is due {row.due.date()}, {source.key[1]} expires {source.expiry}",
            )
        if source.relief is not None and not states_relief(row, source.relief):
            yield Violation(
                place=one.sheet.id, rule="offcut-relief",
                text=f"{one.name} states relief {row.relief or 'none'}, offcut {source.key[1]} is back-exposed to "
                     f"{source.relief:g}",
            )


def lots(facts: Facts) -> Iterator[Violation]:
    """Check that rows of a job that ask for one lot get it, per material; sheets without a lot don't serve."""
    found: dict[tuple[str, str], set[str | None]] = {}
    for one in facts.located:
        row = one.wanted.row
        if row.together is Together.LOT:
            source = facts.source_of(one.sheet)
            found.setdefault((row.job, row.material), set()).add(None if source is None else source.lot)
    for (job, material), got in sorted(found.items()):
        if len(got) > 1 or None in got:
            names = ", ".join(sorted("no lot" if lot is None else lot for lot in got))
            yield Violation(place=f"job {job}", rule="lot", text=f"{material} of one lot expected, got {names}")


def rests(facts: Facts) -> Iterator[Violation]:
    """Check that rests are kept only as the room allows, credited to the cent; others earn nothing."""
    costs = facts.room.costs
    for sheet in facts.plan.sheets:
        source = facts.source_of(sheet)
        kept = [rest for rest in sheet.rests if rest.kept]
        if len(kept) > costs.offcuts_per_sheet:
            yield Violation(
                place=sheet.id, rule="offcuts-per-sheet",
                text=f"at most {costs.offcuts_per_sheet} rests kept expected, got {len(kept)}",
            )
        for rest in sheet.rests:
            if source is None:
                continue
            w, h = rest.rect.w, rest.rect.h
            worth = rest_credit(costs, source.value_per_m2, w, h) if rest.kept else 0.0
            if differs(rest.credit, worth, 1e-6):
                yield Violation(place=rest.id, rule="credit", text=f"credit {worth:.2f} expected, got {rest.credit}")
            if rest.kept:
                yield from _keepable(facts, rest.id, w, h, worth)


def _keepable(facts: Facts, rest_id: str, w: float, h: float, worth: float) -> Iterator[Violation]:
    costs = facts.room.costs
    if not min(w, h) >= costs.offcut_min_side_mm - EPS_MM:
        yield Violation(
            place=rest_id, rule="rest-kept",
            text=f"short side of at least {mm(costs.offcut_min_side_mm)} mm expected to keep it, got {mm(min(w, h))}",
        )
    least = float(typed(costs.offcut_min_area_m2))
    if not float(area(w, h)) >= least - 1e-9:
        yield Violation(
            place=rest_id, rule="rest-kept",
            text=f"at least {least:g} m2 expected to keep it, got {float(area(w, h)):.6f}",
        )
    if not (worth > 0 or costs.offcut_value == 0):
        yield Violation(place=rest_id, rule="rest-kept", text="a credit above zero expected to keep it, got none")
