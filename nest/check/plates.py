"""Plates: keep-outs, machines they must fit, what may share them, their process cost and free areas."""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

from nest.check.geometry import NOISE_MM, box_of, inside, overlaps
from nest.check.money import process_cost
from nest.check.pieces import own, round_mm
from nest.check.placing import inner_box
from nest.check.violation import Violation, differs, mm
from nest.domain.job import Need
from nest.domain.plan import Edge
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts
    from nest.domain.plan import PlannedPlate
    from nest.domain.room import Room

STEP_MM = 0.0001


def keep_outs_of(room: Room, material: str, lead: Edge, least_border: float) -> dict[Edge, float]:
    """Return the keep-out of each edge in mm (design, section 3).

    ``least_border`` is the smallest floor border on the plate, without bevel; it counts only where the room lets the
    border lie under clamp and tape.
    """
    trim = own(room.materials[material].trim_mm, room.imager.trim_mm) if material in room.materials else 0.0
    relieved = least_border if room.imager.border_under_hold else 0.0
    found = {}
    for edge in Edge:
        hold = room.imager.drum_tape_mm
        if edge is lead:
            hold = max([room.imager.clamp_mm, *(station.bar_mm for station in room.stations)])
        found[edge] = round_mm(max(trim, hold - relieved))
    return found


def misfits(room: Room, w: float, h: float, lead: Edge, tolerance: float = EPS_MM) -> list[tuple[str, str]]:
    """Return why a plate w by h mm does not fit the imager or a station, each with the rule's name."""
    across, around = (w, h) if lead in (Edge.Y0, Edge.Y1) else (h, w)
    imager, found = room.imager, []
    limits = (
        ("across", across, imager.min_across_mm, imager.max_across_mm),
        ("around", around, imager.min_around_mm, imager.max_around_mm),
    )
    for word, got, low, high in limits:
        if not low - tolerance <= got <= high + tolerance:
            found.append(("imager", f"{word} {mm(low)} to {mm(high)} mm expected on the imager, got {mm(got)}"))
    short, long = min(w, h), max(w, h)
    for station in room.stations:
        top = sorted(own(limit, float("inf")) for limit in (station.max_a_mm, station.max_b_mm))
        low_short, low_long = sorted((station.min_a_mm, station.min_b_mm))
        if not (short <= top[0] + tolerance and long <= top[1] + tolerance):
            found.append(
                ("station", f"at most {mm(top[0])} x {mm(top[1])} mm expected at {station.name}, "
                            f"got {mm(short)} x {mm(long)}")
            )
        if not (short >= low_short - tolerance and long >= low_long - tolerance):
            found.append(
                ("station", f"at least {mm(low_short)} x {mm(low_long)} mm expected at {station.name}, "
                            f"got {mm(short)} x {mm(long)}")
            )
    return found


def machines(facts: Facts) -> Iterator[Violation]:
    """Check that every plate fits the imager by its lead edge, and every station in one of its two turns."""
    for sheet in facts.plan.sheets:
        for plate in sheet.plates:
            for rule, text in misfits(facts.room, plate.rect.w, plate.rect.h, plate.lead):
                yield Violation(place=plate.id, rule=rule, text=text)


def keep_outs(facts: Facts) -> Iterator[Violation]:
    """Check that every plate states exactly the keep-out its edges owe."""
    pieces = facts.by_plate()
    for sheet in facts.plan.sheets:
        for plate in sheet.plates:
            least = min((one.wanted.least_border for one in pieces[plate.id]), default=0.0)
            expected = keep_outs_of(facts.room, sheet.material, plate.lead, least)
            for edge in Edge:
                got = float(getattr(plate.keep_out, edge.value))
                if differs(got, expected[edge], STEP_MM + NOISE_MM):
                    yield Violation(
                        place=plate.id, rule="keep-out",
                        text=f"{mm(expected[edge])} mm expected at edge {edge.value} (lead {plate.lead.value}), "
                             f"got {mm(got)}",
                    )


def groups(facts: Facts) -> Iterator[Violation]:
    """Check that pieces of one plate agree in material and in every value the room groups by."""
    for plate_id, found in facts.by_plate().items():
        kinds = sorted({str(one.wanted.group) for one in found})
        if len(kinds) > 1:
            yield Violation(
                place=plate_id, rule="group",
                text=f"one group of material and {', '.join(facts.room.group_by)} expected, got {' and '.join(kinds)}",
            )


def purposes(facts: Facts) -> Iterator[Violation]:
    """Check that every plate holds a piece that must be made; fill pieces only take its free area."""
    for plate_id, found in facts.by_plate().items():
        if not any(one.wanted.row.need is Need.MUST for one in found):
            kind = "only fill pieces" if found else "no known piece"
            yield Violation(place=plate_id, rule="fill-only", text=f"a piece that must be made expected, got {kind}")


def process(facts: Facts) -> Iterator[Violation]:
    """Check that every plate's process cost is its area at the room's rate, in cents."""
    for sheet in facts.plan.sheets:
        for plate in sheet.plates:
            expected = process_cost(facts.room.costs, plate.rect.w, plate.rect.h)
            if differs(plate.process, expected, 1e-6):
                yield Violation(
                    place=plate.id, rule="process", text=f"process cost {expected:.2f} expected, got {plate.process}",
                )


def free_areas(facts: Facts) -> Iterator[Violation]:
    """Check that every free area lies inside the keep-outs and holds no piece (no gap is owed by it)."""
    for sheet in facts.plan.sheets:
        for plate in sheet.plates:
            yield from _free_of(plate)


def _free_of(plate: PlannedPlate) -> Iterator[Violation]:
    inner = inner_box(plate)
    boxes = sorted(box_of(piece.rect) for piece in plate.pieces)
    starts = [box.x0 for box in boxes]
    for rect in plate.free:
        free = box_of(rect)
        text = f"x {mm(free.x0)} to {mm(free.x1)}, y {mm(free.y0)} to {mm(free.y1)}"
        if not (rect.w > 0 and rect.h > 0 and inside(free, inner)):
            yield Violation(place=plate.id, rule="free", text=f"a free area inside the keep-outs expected, got {text}")
        if any(overlaps(free, box) for box in boxes[: bisect_left(starts, free.x1)]):
            yield Violation(place=plate.id, rule="free", text=f"a free area without a piece expected, got {text}")
