"""Revise one material: its standing sheets as filled bins, what stays on the open ones, and places for the rest."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nest.packing.arrays import data_of
from nest.packing.bound_units import set_choices
from nest.packing.complete import priced
from nest.packing.fill_up import filled_up
from nest.packing.problem import Solution
from nest.packing.refit import Named, Placing, Refit
from nest.packing.reopen import Choice, Reopening, Terms
from nest.packing.resume import Slots, Stayed, bin_index, filled_bin
from nest.packing.vacate import unfit, vacated
from nest.units import to_units

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from nest.domain.job import RowKey
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room
    from nest.packing.problem import BinLayout
    from nest.packing.refit import Spot
    from nest.works import MaterialWork


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """One material's sheets as they are before anything is placed.

    ``standing`` and ``open_bins`` are filled bins; an open bin's name is the index of its sheet in ``stayed``.
    ``loosened`` tells whether any piece left an open sheet, ``loose`` which plates that are still there lost one.
    """

    work: MaterialWork
    standing: tuple[Stayed, ...]
    stayed: tuple[Stayed, ...]
    open_bins: tuple[Named, ...]
    loosened: bool
    loose: frozenset[Spot]

    def waiting(self, units: Iterable[int]) -> list[int]:
        """Return those of some units that have no place yet."""
        layouts = [*(s.layout for s in self.standing), *(b.layout for b in self.open_bins)]
        placed = {u for layout in layouts for u in layout.units}
        return [u for u in units if u not in placed]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """One material revised: its bins, how many pieces moved for money, and what planning it anew would give."""

    ground: Ground
    placing: Placing
    moves: int
    anew: Choice | None

    @property
    def layouts(self) -> list[BinLayout]:
        """All filled bins, standing ones first."""
        return [*(s.layout for s in self.ground.standing), *(b.layout for b in self.placing.bins)]

    def solution(self, bound: float, proof: str) -> Solution:
        """Return the bins as a solution of the whole problem."""
        problem = self.ground.work.material.problem
        axes, lots = set_choices(problem, self.layouts)
        return Solution(
            bins=tuple(self.layouts),
            left=self.placing.left,
            axes=tuple(axes.get(s, -1) for s in range(problem.axis_sets)),
            lots=tuple(lots.get(s, -1) for s in range(problem.lot_sets)),
            bound=bound,
            proof=proof,
            work=0,
        )


def by_content(sheet: PlannedSheet) -> tuple[float, str]:
    """Return the order in which open sheets keep copies of a row of which fewer are wanted: the fullest first."""
    return (-sum(p.rect.w * p.rect.h for plate in sheet.plates for p in plate.pieces), sheet.id)


class Desk:
    """Turns sheets into filled bins one after another: each takes from the stock and from the copies wanted."""

    def __init__(self, work: MaterialWork, room: Room) -> None:
        self._material, self._room = work.material, room
        self._slots = Slots(work.material)
        self._stock = [b.stock for b in work.material.problem.bins]

    def standing(self, sheet: PlannedSheet) -> Stayed:
        """Return a sheet that stands as a filled bin.

        Raises
        ------
        ValueError
            If its stock is gone: the check of what stands has refused such a sheet before.
        """
        found = self.resumed(sheet)
        if found is None:
            raise ValueError(f"{sheet.id} is drawn from no sheet that is there")
        return found

    def resumed(self, sheet: PlannedSheet) -> Stayed | None:
        """Return a sheet as a filled bin of the pieces still wanted as they are, None where its stock is gone."""
        at = bin_index(self._material, sheet)
        if at is None or self._stock[at] <= 0:
            return None
        self._stock[at] -= 1
        found = ((piece, self._slots.take(piece)) for plate in sheet.plates for piece in plate.pieces)
        slots = {piece: slot for piece, slot in found if slot is not None}
        return Stayed(sheet=sheet, layout=filled_bin(self._material, self._room, sheet, at, slots), slots=slots)


def ground_of(
    work: MaterialWork,
    room: Room,
    sheets: Sequence[PlannedSheet],
    standing: Collection[str],
    suspects: Collection[RowKey],
    *,
    reopen_all: bool,
    reprice: bool,
) -> Ground:
    """Return a material's sheets as filled bins.

    Parameters
    ----------
    sheets : sequence of PlannedSheet
        The material's sheets of the earlier plan.
    standing : collection of str
        Ids of those that stay as they are.
    suspects : collection of row keys
        Rows whose rules changed: their pieces stay only where the new rules let them.
    reopen_all : bool
        Whether every other sheet is to be planned anew, because the rules of the room changed.
    reprice : bool
        Whether the rates changed, so that other rests may be worth keeping.
    """
    desk = Desk(work, room)
    stand = [desk.standing(sheet) for sheet in sheets if sheet.id in standing]
    others = [] if reopen_all else sorted((s for s in sheets if s.id not in standing), key=by_content)
    found = {sheet.id: one for sheet in others if (one := desk.resumed(sheet)) is not None}
    before = [found[sheet.id] for sheet in sheets if sheet.id in found]
    whole = [whole_units(work, one.layout) for one in before]
    bins = open_bins(work, [s.layout for s in stand], whole, suspects)
    if reprice:
        problem = work.material.problem
        bins = tuple(replace(b, layout=priced(problem, data_of(problem), b.layout)) for b in bins)
    pieces = sum(len(p.pieces) for s in sheets if s.id not in standing for p in s.plates)
    there = {slot for one in before for slot in one.slots.values()}
    stays = sum((p.unit, p.item) in there for b in bins for plate in b.layout.plates for p in plate.placed)
    return Ground(
        work=work, standing=tuple(stand), stayed=tuple(before), open_bins=bins, loosened=stays < pieces,
        loose=frozenset(loose_plates([one.sheet for one in before], bins)),
    )  # fmt: skip


def loose_plates(sheets: Sequence[PlannedSheet], bins: Sequence[Named]) -> Iterator[Spot]:
    """Yield the plates that hold fewer pieces than they did."""
    for bin_ in bins:
        had = {(to_units(p.rect.x), to_units(p.rect.y)): len(p.pieces) for p in sheets[bin_.name].plates}
        for plate in bin_.layout.plates:
            if len(plate.placed) < had[plate.x, plate.y]:
                yield bin_.name, plate.x, plate.y


def whole_units(work: MaterialWork, layout: BinLayout) -> BinLayout:
    """Return a bin without units of which items are missing, unless those find a place beside the others."""
    units = work.material.problem.units
    held = Counter(p.unit for plate in layout.plates for p in plate.placed)
    for u in sorted(u for u, count in held.items() if count < len(units[u].items)):
        full = filled_up(work.material.problem, work.demand, layout, u)
        layout = without(layout, u) if full is None else full
    return layout


def without(layout: BinLayout, unit: int) -> BinLayout:
    """Return a bin without one unit, its plates as they are."""
    plates = (replace(p, placed=tuple(q for q in p.placed if q.unit != unit)) for p in layout.plates)
    return replace(layout, plates=tuple(plates))


def open_bins(
    work: MaterialWork, standing: Sequence[BinLayout], before: Sequence[BinLayout], suspects: Collection[RowKey]
) -> tuple[Named, ...]:
    """Return the open sheets' bins without plates that lost their last must piece and without pieces out of place."""
    problem, members = work.material.problem, work.material.members
    doubtful = {u for u, pieces in enumerate(members) if any(p.row.key in suspects for p in pieces)}
    must, data = set(work.demand.must), data_of(problem)
    sure = [vacated(problem, data, layout, doubtful, must) for layout in before]
    axes, lots = set_choices(problem, [*standing, *(layout for layout in sure if layout is not None)])
    out = []
    for name, layout in enumerate(before):
        gone = unfit(problem, layout, doubtful, axes, lots) if doubtful else set()
        left = vacated(problem, data, layout, gone, must)
        if left is not None:
            out.append(Named(layout=left, name=name))
    return tuple(out)


def settled(ground: Ground, seed: int, stream: int, terms: Terms, *, opens: bool) -> Settled:
    """Return a material with everything placed that can be.

    ``opens`` allows open sheets to be emptied where that saves enough; a material without a change stays as it is.
    """
    work = ground.work
    refit = Refit(work.material.problem, work.demand, work.fit, [s.layout for s in ground.standing], seed, stream,
                  ground.loose)  # fmt: skip
    must = ground.waiting(work.demand.must)
    first = refit.place(ground.open_bins, must, terms.work if not opens else terms.work // 3)
    choice, anew = Choice(placing=first, moves=0), None
    if opens and (ground.loosened or must):
        spare = Terms(per_move=terms.per_move, work=terms.work - terms.work // 3)
        found = Reopening(refit, ground.open_bins, must, spare).run(first)
        choice, anew = found.taken, found.anew
    placed = {u for b in choice.placing.bins for u in b.layout.units}
    standing = {u for s in ground.standing for u in s.layout.units}
    fill = [u for u in work.demand.fill if u not in placed and u not in standing]
    return Settled(
        ground=ground, placing=refit.finished(choice.placing, fill), moves=choice.moves, anew=anew
    )
