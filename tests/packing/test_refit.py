"""Placing units beside what is there: sheets of 600 x 400 mm, pieces of 200 x 200 mm, six to a sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from nest.packing.control import Silent, Stop, Voice
from nest.packing.means import Means
from nest.packing.refit import NEW, Named, Placing, Refit
from nest.packing.reopen import Choice, Reopening, Terms, moves
from nest.packing.solve import solve
from nest.packing.team import Team
from nest.plates.pieces import piece_of
from nest.works import prepare
from tests.packing.shop import MATERIAL, costs, offcut, room, row, sheet

if TYPE_CHECKING:
    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.works import MaterialWork

SHOP = room(sheet(600, 400, price=50.0), costs=costs(plate=10.0, raw_parts_max=1))
WORK = 30


def work_of(rows: list[Row], at: Room) -> MaterialWork:
    return prepare(at, MATERIAL, [piece_of(one, at) for one in rows])


def solved(work: MaterialWork, units: list[int]) -> tuple[Named, ...]:
    """Return some units of a problem placed on their own."""
    refit = Refit(work.material.problem, work.demand, work.fit, (), 0, 9)
    made = refit.place((), units, WORK)
    assert made.left == ()
    return tuple(Named(layout=bin_.layout, name=n) for n, bin_ in enumerate(made.bins))


def test_free_areas_come_first_then_new_bins() -> None:
    work = work_of([row("a", 200, 200, copies=8)], SHOP)
    there = solved(work, [0, 1, 2, 3])
    refit = Refit(work.material.problem, work.demand, work.fit, (), 0, 0)
    made = refit.place(there, [4, 5, 6, 7], WORK)
    assert [bin_.name for bin_ in made.bins] == [0, NEW]
    assert [len(bin_.layout.units) for bin_ in made.bins] == [6, 2]
    assert made.bins[0].layout.plates[0].placed[:4] == there[0].layout.plates[0].placed


def test_what_stands_takes_nothing_but_counts_as_drawn() -> None:
    short = room(sheet(600, 400, price=50.0, on_hand=2), costs=costs(raw_parts_max=1))
    work = work_of([row("a", 200, 200, copies=14)], short)
    (standing,) = solved(work, [0, 1, 2, 3])
    refit = Refit(work.material.problem, work.demand, work.fit, [standing.layout], 0, 0)
    made = refit.place((), range(4, 14), WORK)
    assert len(made.bins) == 1
    assert len(made.left) == 4


def test_the_cheapest_of_rests_offcuts_and_sheets_is_taken() -> None:
    # a plate of 200 x 400 mm may come from the rest beside the first plate, or from an offcut
    for value, offcuts in ((0.5, 1), (30.0, 0)):
        shop = room(
            sheet(600, 400, price=50.0), offcuts=(offcut(200, 400, value=value),),
            costs=costs(plate=1.0, cut=1.0, offcut_value=0.6),
        )  # fmt: skip
        work = work_of([row("a", 400, 400), row("b", 200, 400, relief=0.5)], shop)
        sheets = [b for b, stocked in enumerate(work.material.stock) if not stocked.is_offcut]
        there = solved(work, [0])
        assert [bin_.layout.bin for bin_ in there] == sheets
        made = Refit(work.material.problem, work.demand, work.fit, (), 0, 0).place(there, [1], WORK)
        assert len(made.bins) == 1 + offcuts


def test_two_groups_fill_one_rest_with_plates_of_their_own() -> None:
    shop = room(sheet(600, 400, price=50.0), costs=costs(plate=1.0, process_per_m2=50.0))
    work = work_of([row("a", 400, 400), row("b", 200, 200, relief=0.5), row("c", 200, 200, relief=0.6)], shop)
    there = solved(work, [0])
    made = Refit(work.material.problem, work.demand, work.fit, (), 0, 0).place(there, [1, 2], WORK)
    assert (len(made.bins), made.left) == (1, ())
    assert len(made.bins[0].layout.plates) == 3


def test_a_bin_is_emptied_where_its_units_find_room_and_the_saving_pays_the_moves() -> None:
    work = work_of([row("a", 200, 200, copies=8)], SHOP)
    bins = (*solved(work, [0, 1, 2, 3]), *solved(work, [4, 5]))
    there = tuple(Named(layout=bin_.layout, name=n) for n, bin_ in enumerate(bins))
    for per_move, left in ((2.0, 1), (29.0, 1), (31.0, 2)):
        # two moves save a sheet and its plate: 60
        refit = Refit(work.material.problem, work.demand, work.fit, (), 0, 0)
        terms = Terms(per_move=per_move, work=WORK)
        found = Reopening(refit, there, (), terms).run(Placing(bins=there, left=()))
        assert len(found.taken.placing.bins) == left
        assert found.taken.moves == (2 if left == 1 else 0)
        assert found.anew is not None
        assert round(found.anew.placing.cost, 6) == 60.0


def test_bins_are_opened_at_any_price_for_units_that_find_no_place_else() -> None:
    short = room(sheet(600, 400, price=50.0, on_hand=1), costs=costs(raw_parts_max=1))
    work = work_of([row("a", 200, 200, copies=3), row("b", 600, 200)], short)
    large = next(u for u, unit in enumerate(work.material.problem.units) if len({unit.items[0].w, unit.items[0].h}) > 1)
    small = [u for u in range(4) if u != large]
    (one,) = solved(work, small)
    # the three lie in an L, so that 600 x 200 mm has no place
    placed = one.layout.plates[0].placed
    spots = [(0, 0), (2_000_000, 0), (0, 2_000_000)]
    moved = tuple(replace(p, x=x, y=y) for p, (x, y) in zip(placed, spots, strict=True))
    there = (Named(layout=replace(one.layout, plates=(replace(one.layout.plates[0], placed=moved),)), name=0),)
    refit = Refit(work.material.problem, work.demand, work.fit, (), 0, 0)
    first = refit.place(there, [large], WORK)
    assert first.left == (large,)
    found = Reopening(refit, there, [large], Terms(per_move=1e6, work=WORK)).run(first)
    assert found.taken.placing.left == ()
    assert found.taken.moves >= 1


def test_equal_units_that_change_places_have_not_moved() -> None:
    work = work_of([row("a", 200, 200, copies=6)], SHOP)
    there = solved(work, list(range(6)))
    plate = there[0].layout.plates[0]
    turned = replace(plate, placed=tuple(replace(p, unit=5 - p.unit) for p in plate.placed))
    other = (Named(layout=replace(there[0].layout, plates=(turned,)), name=0),)
    assert moves(work.material.problem, there, other) == 0
    assert moves(work.material.problem, there, ()) == 6


def test_a_choice_made_from_the_same_bins_is_the_same_bins() -> None:
    work = work_of([row("a", 200, 200, copies=6)], SHOP)
    there = solved(work, list(range(6)))
    refit = Refit(work.material.problem, work.demand, work.fit, (), 0, 0)
    reopening = Reopening(refit, there, (), Terms(per_move=2.0, work=WORK))
    unnamed = Placing(bins=tuple(Named(layout=bin_.layout) for bin_ in there), left=())
    assert reopening.choice(unnamed) == Choice(placing=Placing(bins=there, left=()), moves=0)


def test_a_refit_of_everything_costs_no_less_than_the_bound() -> None:
    rows = [row("a", 210, 170, copies=9), row("b", 320, 140, copies=5)]
    work = work_of(rows, SHOP)
    problem = work.material.problem
    with Team(1) as team:
        means = Means(seed=0, team=team)
        stop = Stop.after(WORK, None)
        bound = solve(problem, work.demand, work.fit, stop, 0, Voice(Silent(), ""), means).bound
    made = Refit(problem, work.demand, work.fit, (), 0, 0).place((), work.demand.must, WORK)
    assert made.left == ()
    assert made.cost >= bound - 1e-6
