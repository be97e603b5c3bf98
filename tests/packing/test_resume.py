from __future__ import annotations

from dataclasses import replace

from nest.domain.plan import PlannedSheet, Rect
from nest.packing.problem import RestLayout
from nest.packing.resume import Slots, Stayed, again, bin_index, filled_bin, new_ids, with_old_names
from tests.packing.shop import costs, planned, problem_of, room, row, sheet

SHOP = room(
    sheet(600, 400, price=24.0), costs=costs(plate=1.0, process_per_m2=10.0, cut=0.5, offcut_value=0.5), border_mm=5.0
)
ROWS = [row("a", 290, 190, copies=2), row("b", 290, 190, relief=0.5), row("c", 140, 190, relief=0.5)]
PLAN = planned(ROWS, SHOP)
MATERIAL = problem_of(ROWS, SHOP)


def stayed(one: PlannedSheet) -> Stayed:
    slots = Slots(MATERIAL)
    taken = {}
    for plate in one.plates:
        for piece in plate.pieces:
            slot = slots.take(piece)
            assert slot is not None
            taken[piece] = slot
    return Stayed(sheet=one, layout=filled_bin(MATERIAL, SHOP, one, 0, taken), slots=taken)


def numbers(before: Stayed) -> dict[tuple[int, int], int]:
    return {slot: piece.copy for piece, slot in before.slots.items()}


def test_a_planned_sheet_is_a_filled_bin_of_the_same_cost_and_back() -> None:
    (only,) = PLAN.sheets
    before = stayed(only)
    assert before.layout.cost == PLAN.totals.cost
    assert len(before.layout.units) == 4
    assert again(SHOP, MATERIAL, before.layout, "S01", before, numbers(before)) is only
    # planned anew from the bin it is the same but for half turns
    assert again(SHOP, MATERIAL, before.layout, "S01", None, numbers(before)) == only


def test_a_changed_sheet_keeps_its_ids_and_the_pieces_that_stay() -> None:
    (only,) = PLAN.sheets
    plates = list(only.plates)
    half = replace(plates[0], pieces=tuple(replace(p, turn=180) for p in plates[0].pieces))
    turned = replace(only, plates=(replace(half, id="S01-C"), *plates[1:]))
    before = stayed(turned)
    gone = next(iter(before.layout.plates[-1].placed)).unit
    layout = replace(before.layout, rests=(*before.layout.rests, RestLayout(x=1, y=2, w=3, h=4, kept=False)))
    kept = {p: s for p, s in before.slots.items() if s[0] != gone}
    made = again(SHOP, MATERIAL, layout, "S01", replace(before, slots=kept), numbers(before))
    assert {plate.id: plate.rect for plate in made.plates} == {plate.id: plate.rect for plate in turned.plates}
    assert {p.turn for plate in made.plates if plate.id == "S01-C" for p in plate.pieces} == {180}
    names = {plate.id for plate in made.plates}
    assert {cut.plate for cut in made.cuts if cut.plate} <= names
    olds = {rest.id for rest in only.rests}
    assert {rest.id for rest in made.rests} > olds


def test_new_parts_take_the_next_ids_that_were_never_used() -> None:
    one, two, three = (Rect(x=float(n), y=0.0, w=1.0, h=1.0) for n in range(3))
    old = {one: "S01-B", two: "S01-A"}
    fresh = iter(["S01-A", "S01-B", "S01-C", "S01-D"])
    assert new_ids([("x", three), ("y", one)], old, fresh) == {"x": "S01-C", "y": "S01-B"}


def test_a_piece_of_another_size_or_turn_gets_no_slot() -> None:
    piece = PLAN.sheets[0].plates[0].pieces[0]
    longer = replace(piece, rect=replace(piece.rect, w=piece.rect.w + 1))
    assert Slots(MATERIAL).take(longer) is None
    assert Slots(MATERIAL).take(replace(piece, separation="none")) is None
    slots = Slots(MATERIAL)
    assert [slots.take(replace(piece, copy=n)) is not None for n in (1, 2, 3)] == [
        True, piece.separation == "a", False,
    ]  # fmt: skip


def test_a_sheet_the_room_has_in_another_size_is_not_known() -> None:
    (only,) = PLAN.sheets
    assert bin_index(MATERIAL, only) == 0
    assert bin_index(MATERIAL, replace(only, across_mm=601.0)) is None
    assert bin_index(MATERIAL, replace(only, source=replace(only.source, ref="none"))) is None
    assert with_old_names(only, only) == only
