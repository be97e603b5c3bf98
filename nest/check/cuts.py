"""Cuts: their numbers, the raw cuts that part a sheet and the finish cuts that part its plates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.check.geometry import Box, box_of
from nest.check.replay import Parting, unmatched
from nest.check.violation import Violation, mm
from nest.domain.plan import CutStage
from nest.domain.room import Cutting
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts
    from nest.domain.plan import Cut, PlannedPlate, PlannedSheet


def numbers(facts: Facts) -> Iterator[Violation]:
    """Check that cuts are numbered 1..n on each sheet, raw ones first, and finish cuts name a plate of the sheet."""
    for sheet in facts.plan.sheets:
        ordered = sheet.cuts
        got = [cut.order for cut in ordered]
        if got != list(range(1, len(got) + 1)):
            yield Violation(
                place=sheet.id, rule="cut-order", text=f"cuts numbered 1 to {len(got)} expected, got {_shown(got)}",
            )
        stages = [cut.stage for cut in ordered]
        if stages != sorted(stages, key=lambda stage: stage is CutStage.FINISH):
            yield Violation(place=sheet.id, rule="cut-order", text="raw cuts before finish cuts expected")
        plates = {plate.id for plate in sheet.plates}
        for cut in ordered:
            if (cut.plate is not None) if cut.stage is CutStage.RAW else (cut.plate not in plates):
                expected = "no plate" if cut.stage is CutStage.RAW else "a plate of this sheet"
                yield Violation(
                    place=sheet.id, rule="cut-plate",
                    text=f"cut {cut.order} ({cut.stage.value}): {expected} expected, got {cut.plate}",
                )


def raw(facts: Facts) -> Iterator[Violation]:
    """Check that raw cuts, edge to edge one after the other, part each sheet into exactly its plates and rests."""
    for sheet in facts.plan.sheets:
        cuts = sorted((cut for cut in sheet.cuts if cut.stage is CutStage.RAW), key=lambda cut: cut.order)
        parts = _parts_of(sheet)
        if len(cuts) != len(parts) - 1:
            yield Violation(
                place=sheet.id, rule="raw-cuts",
                text=f"{len(parts) - 1} raw cuts expected for {len(parts)} parts, got {len(cuts)}",
            )
        whole = Box(0.0, 0.0, sheet.across_mm, sheet.around_mm)
        yield from _parted(sheet.id, "raw", whole, cuts, parts, left_over=True)


def parts(facts: Facts) -> Iterator[Violation]:
    """Check that a sheet has a plate, not too many parts, and when cut none narrower than the least raw strip."""
    costs = facts.room.costs
    for sheet in facts.plan.sheets:
        found = _parts_of(sheet)
        if len(found) > costs.raw_parts_max:
            yield Violation(
                place=sheet.id, rule="raw-parts-max",
                text=f"at most {costs.raw_parts_max} parts expected, got {len(found)}",
            )
        if not sheet.plates:
            yield Violation(place=sheet.id, rule="no-plate", text="a sheet drawn for at least one plate expected")
        for name, box in found:
            short = min(box.w, box.h)
            if len(found) > 1 and not short >= costs.raw_min_strip_mm - EPS_MM:
                yield Violation(
                    place=name, rule="raw-min-strip",
                    text=f"at least {mm(costs.raw_min_strip_mm)} mm wide expected, got {mm(short)}",
                )


def finish(facts: Facts) -> Iterator[Violation]:
    """Check that finish cuts, edge to edge one after the other, free every piece of a plate at its exact size.

    A plate of a free-cutting room needs none; where it lists some, they are held to the same rule.
    """
    for sheet in facts.plan.sheets:
        by_plate: dict[str | None, list[Cut]] = {}
        for cut in sorted(sheet.cuts, key=lambda one: one.order):
            if cut.stage is CutStage.FINISH:
                by_plate.setdefault(cut.plate, []).append(cut)
        for plate in sheet.plates:
            cuts = by_plate.get(plate.id, [])
            if cuts or facts.room.cutting is Cutting.GUILLOTINE:
                yield from _parted(plate.id, "finish", box_of(plate.rect), cuts, _named(plate), left_over=False)


def _parts_of(sheet: PlannedSheet) -> list[tuple[str, Box]]:
    plates = [(plate.id, box_of(plate.rect)) for plate in sheet.plates]
    return [*plates, *((rest.id, box_of(rest.rect)) for rest in sheet.rests)]


def _named(plate: PlannedPlate) -> list[tuple[str, Box]]:
    return [(f"{p.job}/{p.separation} copy {p.copy}", box_of(p.rect)) for p in plate.pieces]


def _parted(
    place: str, stage: str, whole: Box, cuts: list[Cut], wanted: list[tuple[str, Box]], *, left_over: bool
) -> Iterator[Violation]:
    """Replay cuts and compare what is left with what is wanted; ``left_over``: nothing else may be left."""
    table = Parting(whole)
    for cut in cuts:
        wrong = table.cut(cut)
        if wrong is not None:
            yield Violation(place=place, rule=f"{stage}-cut", text=f"cut {cut.order}: {wrong}")
    missing, rest = unmatched([box for _, box in wanted], table.parts)
    for k in missing:
        name, box = wanted[k]
        yield Violation(
            place=place, rule=f"{stage}-parts",
            text=f"{name} expected as a part of its own after the {stage} cuts, x {mm(box.x0)} to {mm(box.x1)}, "
                 f"y {mm(box.y0)} to {mm(box.y1)}",
        )
    for box in rest if left_over else []:
        yield Violation(
            place=place, rule=f"{stage}-parts",
            text=f"no other part expected after the {stage} cuts, got x {mm(box.x0)} to {mm(box.x1)}, "
                 f"y {mm(box.y0)} to {mm(box.y1)}",
        )


def _shown(numbers: list[int]) -> str:
    head = ", ".join(str(n) for n in numbers[:12])
    return f"{head}, ..." if len(numbers) > 12 else head
