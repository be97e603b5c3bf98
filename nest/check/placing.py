"""Pieces on their plates: known, counted, at size, turned as allowed, inside, apart and partable."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from nest.check.geometry import Box, box_of, close_pairs, inseparable, inside
from nest.check.pieces import TURNS
from nest.check.violation import Violation, differs, mm
from nest.domain.job import Turn
from nest.domain.room import Cutting
from nest.units import EPS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts
    from nest.domain.plan import PlannedPlate


def unknown_pieces(facts: Facts) -> Iterator[Violation]:
    """Check that every piece is a copy of a row of the jobs."""
    for plate, piece in facts.unknown:
        yield Violation(
            place=plate, rule="unknown-piece",
            text=f"job {piece.job}, separation {piece.separation}, part {piece.part!r} is no row of the jobs",
        )


def materials(facts: Facts) -> Iterator[Violation]:
    """Check that every piece lies on its row's material."""
    for one in facts.located:
        if one.wanted.row.material != one.sheet.material:
            yield Violation(
                place=one.plate.id, rule="material",
                text=f"{one.name} wants material {one.wanted.row.material}, the sheet is {one.sheet.material}",
            )


def sizes(facts: Facts) -> Iterator[Violation]:
    """Check that every piece has its row's finished size, and its image lies where the borders put it."""
    for one in facts.located:
        piece, wanted = one.piece, one.wanted
        if piece.turn not in (0, 90, 180, 270):
            yield Violation(place=one.plate.id, rule="turn", text=f"{one.name}: turned by {piece.turn} degrees")
            continue
        w, h = wanted.size(piece.turn)
        if differs(piece.rect.w, w, EPS_MM) or differs(piece.rect.h, h, EPS_MM):
            yield Violation(
                place=one.plate.id, rule="piece-size",
                text=f"{one.name}: {mm(w)} x {mm(h)} mm expected at turn {piece.turn}, "
                     f"got {mm(piece.rect.w)} x {mm(piece.rect.h)}",
            )
        x, y, image_w, image_h = wanted.image(piece.turn)
        expected = (piece.rect.x + x, piece.rect.y + y, image_w, image_h)
        got = (piece.image.x, piece.image.y, piece.image.w, piece.image.h)
        if any(differs(a, b, EPS_MM) for a, b in zip(expected, got, strict=True)):
            yield Violation(
                place=one.plate.id, rule="image-box",
                text=f"{one.name}: image x, y, w, h {_numbers(expected)} expected at turn {piece.turn}, "
                     f"got {_numbers(got)}",
            )
        if piece.outline is not None:
            yield Violation(
                place=one.plate.id, rule="outline", text=f"{one.name}: the row has no outline, the piece has one",
            )


def turns(facts: Facts) -> Iterator[Violation]:
    """Check that every piece is turned as its row allows; a set lies along one sheet axis."""
    axes: dict[tuple[str, str], dict[int, list[str]]] = defaultdict(lambda: {0: [], 1: []})
    for one in facts.located:
        turn = one.piece.turn
        if turn not in (0, 90, 180, 270):
            continue
        if turn not in TURNS[one.wanted.turn]:
            allowed = " or ".join(str(t) for t in TURNS[one.wanted.turn])
            yield Violation(
                place=one.plate.id, rule="turn",
                text=f"{one.name}: turn {allowed} expected ({one.wanted.turn}), got {turn}",
            )
        if one.wanted.turn is Turn.SET:
            axes[(one.wanted.row.job, one.wanted.row.material)][turn // 90 % 2].append(f"{one.name} on {one.plate.id}")
    for (job, material), found in sorted(axes.items()):
        if found[0] and found[1]:
            yield Violation(
                place=f"job {job}", rule="set-turn",
                text=f"one sheet axis expected for the set on {material}, got {min(found[0])} along it "
                     f"and {min(found[1])} across it",
            )


def inner_box(plate: PlannedPlate) -> Box:
    """Return the plate inside its stated keep-outs."""
    box, out = box_of(plate.rect), plate.keep_out
    return Box(box.x0 + out.x0, box.y0 + out.y0, box.x1 - out.x1, box.y1 - out.y1)


def positions(facts: Facts) -> Iterator[Violation]:
    """Check that every piece lies inside the keep-outs of its plate."""
    for sheet in facts.plan.sheets:
        for plate in sheet.plates:
            inner = inner_box(plate)
            for piece in plate.pieces:
                if not inside(box_of(piece.rect), inner):
                    yield Violation(
                        place=plate.id, rule="keep-out-piece",
                        text=f"{piece.job}/{piece.separation} copy {piece.copy}: inside x {mm(inner.x0)} to "
                             f"{mm(inner.x1)}, y {mm(inner.y0)} to {mm(inner.y1)} expected, got x, y, w, h "
                             f"{_numbers((piece.rect.x, piece.rect.y, piece.rect.w, piece.rect.h))}",
                    )


def gaps(facts: Facts) -> Iterator[Violation]:
    """Check that two pieces of a plate keep the larger of their gaps in x or in y."""
    for plate_id, found in facts.by_plate().items():
        gap = max((one.wanted.gap for one in found), default=0.0)
        boxes = [box_of(one.piece.rect) for one in found]
        for i, j in close_pairs(boxes, gap):
            a, b = boxes[i], boxes[j]
            apart = max(a.x0 - b.x1, b.x0 - a.x1, a.y0 - b.y1, b.y0 - a.y1)
            names = sorted((found[i].name, found[j].name))
            yield Violation(
                place=plate_id, rule="gap",
                text=f"{names[0]} and {names[1]}: at least {mm(gap)} mm apart expected, got {mm(apart)} mm",
            )


def partable(facts: Facts) -> Iterator[Violation]:
    """Check that edge-to-edge cuts can part the pieces of a plate where the room cuts that way."""
    if facts.room.cutting is not Cutting.GUILLOTINE:
        return
    for sheet in facts.plan.sheets:
        for plate in sheet.plates:
            stuck = inseparable([box_of(piece.rect) for piece in plate.pieces])
            if stuck:
                first = plate.pieces[stuck[0]]
                yield Violation(
                    place=plate.id, rule="guillotine",
                    text=f"no edge-to-edge cut parts {len(stuck)} pieces, among them {first.job}/{first.separation} "
                         f"copy {first.copy}",
                )


def _numbers(values: tuple[float, ...]) -> str:
    return ", ".join(mm(value) for value in values)
