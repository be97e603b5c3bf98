"""The sheets kept back for remakes: offered to the pieces they are kept for; once drawn, sheets like any other."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from nest.domain.plan import SourceKind
from nest.domain.room import Sheet
from nest.packing.fits import Fit
from nest.packing.refit import Placing, Refit

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from nest.domain.job import RowKey
    from nest.domain.plan import PlannedSheet
    from nest.domain.room import Room
    from nest.revise.material import Settled
    from nest.works import MaterialWork


def reserve_of(entry: object) -> int:
    """Return how many of a stocked entry are there and kept back."""
    if not isinstance(entry, Sheet) or entry.on_hand is None:
        return 0
    return min(entry.keep_back, entry.on_hand)


def with_reserve(work: MaterialWork, rows: Collection[RowKey]) -> MaterialWork:
    """Return a material's problem in which the units of some rows, and no others, may draw the reserve.

    The reserve of each sheet becomes a bin type of its own beside the sheet's.
    """
    made, fit = work.material, work.fit
    twins = [b for b, stocked in enumerate(made.stock) if reserve_of(stocked.entry)]
    number = {b: len(made.stock) + n for n, b in enumerate(twins)}
    bins = [replace(made.problem.bins[b], stock=reserve_of(made.stock[b].entry)) for b in twins]
    may = {u for u, pieces in enumerate(made.members) if all(piece.row.key in rows for piece in pieces)}

    def grown(known: Iterable[int]) -> tuple[int, ...]:
        known = tuple(known)
        return (*known, *(number[b] for b in twins if b in known))

    units = tuple(
        replace(unit, bins=grown(unit.bins)) if u in may else unit for u, unit in enumerate(made.problem.units)
    )
    along, across = (
        tuple(frozenset(grown(side)) if u in may else side for u, side in enumerate(sides))
        for sides in (fit.along, fit.across)
    )
    problem = replace(made.problem, units=units, bins=(*made.problem.bins, *bins))
    material = replace(made, problem=problem, stock=(*made.stock, *(made.stock[b] for b in twins)))
    return replace(work, material=material, fit=Fit(along=along, across=across))


def once_drawn(settled: Settled, plain: MaterialWork, seed: int, stream: int) -> Settled:
    """Return a material whose drawn reserve is stock like any other, with what still had no place put there too.

    Parameters
    ----------
    settled : Settled
        The material as `with_reserve` made it.
    plain : MaterialWork
        The material without its reserve.
    """
    made = plain.material
    twins = [b for b, stocked in enumerate(made.stock) if reserve_of(stocked.entry)]
    home = {len(made.stock) + n: b for n, b in enumerate(twins)}
    drawn = Counter(home[bin_.layout.bin] for bin_ in settled.placing.bins if bin_.layout.bin in home)
    bins = tuple(replace(b, stock=b.stock + drawn[at]) for at, b in enumerate(made.problem.bins))
    work = replace(plain, material=replace(made, problem=replace(made.problem, bins=bins)))
    refit = Refit(
        work.material.problem, work.demand, work.fit, [s.layout for s in settled.ground.standing], seed, stream
    )
    placing = Placing(
        bins=tuple(
            replace(bin_, layout=replace(bin_.layout, bin=home.get(bin_.layout.bin, bin_.layout.bin)))
            for bin_ in settled.placing.bins
        ),
        left=tuple(u for u in settled.placing.left if u in set(work.demand.must)),
    )
    fill = [u for u in settled.placing.left if u in set(work.demand.fill)]
    return replace(
        settled,
        ground=replace(settled.ground, work=work),
        placing=refit.finished(refit.last_places(placing), fill),
    )


def reserve_drawn(room: Room, sheets: Iterable[PlannedSheet]) -> Room:
    """Return a room that keeps back no more than the sheets drawn leave of each reserve."""
    drawn = Counter(sheet.source.ref for sheet in sheets if sheet.source.kind is SourceKind.SHEET)
    left = []
    for sheet in room.sheets:
        spare = None if sheet.on_hand is None else max(0, sheet.on_hand - drawn[sheet.id])
        left.append(sheet if spare is None or spare >= sheet.keep_back else replace(sheet, keep_back=spare))
    return replace(room, sheets=tuple(left))
