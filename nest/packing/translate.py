"""Where the plate room's words and the packing field's words meet: rows and room to problems, and the names back.

A material's problem holds units of all its pieces, must and fill ones; which of them are searched for is told apart
from it (``nest.packing.solve.Demand``).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from nest.domain.job import Together, Turn
from nest.domain.room import Cutting
from nest.domain.room import Unit as LengthUnit
from nest.packing.problem import NEVER, Bin, Item, Level, Limits, Problem, Rates, Unit
from nest.plates.groups import group_of
from nest.units import UNITS_PER_MM, to_units

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from nest.domain.job import Row, RowKey
    from nest.domain.room import Offcut, Room, Sheet
    from nest.plates.pieces import Piece

Name = TypeVar("Name")
NO_LIMIT = 1 << 50
AREA_UNIT = float(UNITS_PER_MM * UNITS_PER_MM) * 1e6
"""Squared length units in one m2."""
AXES = {Turn.SET: 3, Turn.FREE: 3, Turn.FIXED: 1, Turn.CROSS: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocked:
    """A bin type's source: a sheet or an offcut of the room."""

    entry: Sheet | Offcut
    is_offcut: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialProblem:
    """One material's problem with the names behind its numbers.

    ``members`` gives the row of each item of each unit; ``levels`` of the problem are borders, ``groups`` group keys.
    ``told_in`` is the unit that reasons tell lengths in.
    """

    material: str
    problem: Problem
    stock: tuple[Stocked, ...]
    members: tuple[tuple[Piece, ...], ...]
    axis_jobs: dict[str, int]
    lot_jobs: dict[str, int]
    lots: tuple[str, ...]
    told_in: LengthUnit = LengthUnit.MM


def limits_of(room: Room, material: str) -> Limits:
    """Return the machine limits and raw-cut rules that hold for one material."""
    im, costs = room.imager, room.costs
    short, long, low, high = NO_LIMIT, NO_LIMIT, 0, 0
    for st in room.stations:
        a, b = (NO_LIMIT if side is None else to_units(side) for side in (st.max_a_mm, st.max_b_mm))
        short, long = min(short, min(a, b)), min(long, max(a, b))
        a, b = to_units(st.min_a_mm), to_units(st.min_b_mm)
        low, high = max(low, min(a, b)), max(high, max(a, b))
    return Limits(
        gap=to_units(room.gap_of(material)),
        max_across=to_units(im.max_across_mm),
        max_around=to_units(im.max_around_mm),
        min_across=to_units(im.min_across_mm),
        min_around=to_units(im.min_around_mm),
        max_short=short,
        max_long=long,
        min_short=low,
        min_long=high,
        strip=to_units(costs.raw_min_strip_mm),
        full_side=to_units(costs.offcut_full_side_mm),
        min_side=to_units(costs.offcut_min_side_mm),
        parts=costs.raw_parts_max,
        keep=costs.offcuts_per_sheet,
        free_cutting=room.cutting is Cutting.FREE,
    )


def rates_of(room: Room) -> Rates:
    """Return the room's rates per squared length unit."""
    c = room.costs
    return Rates(
        plate=c.plate,
        process=c.process_per_m2 / AREA_UNIT,
        cut=c.cut,
        handling=c.offcut_handling,
        min_area=c.offcut_min_area_m2 * AREA_UNIT,
        zero_credit=c.offcut_value == 0,
    )


def keep_outs(room: Room, material: str, least_border_mm: float) -> tuple[float, float]:
    """Return the keep-out in mm of the lead edge and of the other edges of a plate with that least border."""
    trim, im = room.trim_of(material), room.imager
    under = least_border_mm if im.border_under_hold else 0.0
    lead = max([im.clamp_mm, *(st.bar_mm for st in room.stations)])
    return max(trim, lead - under), max(trim, im.drum_tape_mm - under)


def keep_out_units(room: Room, material: str, least_border: int) -> tuple[int, int]:
    """Return the keep-outs of the lead edge and the other edges in units, for a least border in units."""
    lead, side = keep_outs(room, material, least_border / UNITS_PER_MM)
    return to_units(lead), to_units(side)


def levels_of(room: Room, material: str, borders: Sequence[int]) -> tuple[Level, ...]:
    """Return the keep-out levels, one for each different pair of keep-outs, ascending in border."""
    found: dict[tuple[int, int], int] = {}
    for border in sorted(set(borders)) or [0]:
        found.setdefault(keep_out_units(room, material, border), border)
    return tuple(Level(border=border, lead=lead, side=side) for (lead, side), border in found.items())


def stock_of(room: Room, material: str, use_reserve: bool, lots: Sequence[str]) -> tuple[list[Stocked], list[Bin]]:
    """Return the sheets and offcuts of a material, ordered by kind and id, with what may be drawn of each."""
    stocked = [Stocked(entry=s, is_offcut=False) for s in sorted(room.sheets, key=lambda s: s.id)]
    stocked += [Stocked(entry=o, is_offcut=True) for o in sorted(room.offcuts, key=lambda o: o.id)]
    stocked = [s for s in stocked if s.entry.material == material]
    bins = []
    for s in stocked:
        e = s.entry
        w, h = to_units(e.across_mm), to_units(e.around_mm)
        price = e.value if s.is_offcut else e.price  # type: ignore[union-attr]
        have = 1 if s.is_offcut else e.on_hand  # type: ignore[union-attr]
        if have is None:
            have = NO_LIMIT
        elif not s.is_offcut and not use_reserve:
            have = max(0, have - e.keep_back)  # type: ignore[union-attr]
        share = 1.0 if s.is_offcut else room.costs.offcut_value
        lot = lots.index(e.lot) if e.lot else -1
        bins.append(Bin(name=e.id, w=w, h=h, price=price, rate=share * price / (w * h), stock=have, lot=lot))
    return stocked, bins


def serving(row: Row, stocked: Sequence[Stocked]) -> tuple[int, ...]:
    """Return the indices of the bin types whose relief, expiry and lot serve a row."""
    out = []
    for index, s in enumerate(stocked):
        e = s.entry
        relief = getattr(e, "relief", None)
        if relief is not None and row.relief != float(relief):
            continue
        if e.expiry is not None and row.due is not None and row.due.date() > e.expiry:
            continue
        if row.together is Together.LOT and not e.lot:
            continue
        out.append(index)
    return tuple(out)


def earliness(rows: Sequence[Row]) -> dict[datetime | None, float]:
    """Return a weight per due date, 1 for the earliest and falling to 0 for none."""
    dates = sorted({row.due for row in rows if row.due is not None})
    weights: dict[datetime | None, float] = {due: 1.0 - i / (len(dates) + 1) for i, due in enumerate(dates)}
    weights[None] = 0.0
    return weights


def bundles(pieces: Sequence[Piece]) -> list[tuple[Piece, ...]]:
    """Return what must be placed whole: rows of a job together on a plate, all copies of a row, or single copies."""
    plates: dict[str, list[Piece]] = defaultdict(list)
    out: list[tuple[Piece, ...]] = []
    for piece in pieces:
        row = piece.row
        if row.together is Together.PLATE:
            plates[row.job] += [piece] * row.copies
        elif row.together is Together.COPIES and row.copies > 1:
            out.append((piece,) * row.copies)
        else:
            out += [(piece,)] * row.copies
    return out + [tuple(sorted(group, key=lambda p: (-p.w * p.h, p.row.key))) for group in plates.values()]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchCosts:
    """What one piece of each row costs in each batch, ``NEVER`` where it cannot be made then, and a plate besides."""

    late: Mapping[RowKey, tuple[float, ...]]
    prices: tuple[float, ...]


def beyond_best(costs: Sequence[float]) -> tuple[float, ...]:
    """Return costs per batch less the least of them; what nothing can be made in stays ``NEVER``."""
    least = min(costs)
    return tuple(NEVER if cost >= NEVER else cost - least for cost in costs)


@dataclass(frozen=True, slots=True)
class Numbers:
    """The numbers of one material's names, given out in the order in which the names first come."""

    groups: dict[object, int] = field(default_factory=dict)
    jobs: dict[str, int] = field(default_factory=dict)
    axis_jobs: dict[str, int] = field(default_factory=dict)
    lot_jobs: dict[str, int] = field(default_factory=dict)
    rows: dict[RowKey, int] = field(default_factory=dict)
    windows: dict[tuple[float, ...], int] = field(default_factory=dict)


def number_of(known: dict[Name, int], name: Name) -> int:
    """Return a name's number, the next one where the name is new."""
    return known.setdefault(name, len(known))


def unit_of(
    room: Room,
    bundle: Sequence[Piece],
    numbers: Numbers,
    levels: Sequence[Level],
    stocked: Sequence[Stocked],
    early: Mapping[datetime | None, float],
    batches: BatchCosts | None = None,
) -> Unit:
    """Return the unit of pieces that are placed whole; names that are new get their ``numbers``."""
    first = bundle[0].row
    lot = number_of(numbers.lot_jobs, first.job) if first.together is Together.LOT else -1
    in_set = any(p.turn is Turn.SET for p in bundle)
    axis = number_of(numbers.axis_jobs, first.job) if in_set else -1
    items = tuple(
        Item(
            row=number_of(numbers.rows, p.row.key),
            w=p.w,
            h=p.h,
            axes=0 if p.turn is Turn.SET else AXES[p.turn],
            apart=p.row.apart,
        )
        for p in bundle
    )
    keep = min(p.least_border for p in bundle)
    served = [set(serving(p.row, stocked)) for p in bundle]
    return Unit(
        items=items,
        group=number_of(numbers.groups, group_of(first, room)),
        job=number_of(numbers.jobs, first.job),
        alone=any(p.row.alone for p in bundle),
        level=max((i for i, level in enumerate(levels) if level.border <= keep), default=0),
        axis_set=axis,
        lot_set=lot,
        bins=tuple(sorted(set.intersection(*served))),
        early=max(early[p.row.due] for p in bundle),
        window=0 if batches is None else number_of(numbers.windows, window_of(bundle, batches)),
    )


def window_of(bundle: Sequence[Piece], batches: BatchCosts) -> tuple[float, ...]:
    """Return what pieces that are placed whole cost in each batch beyond their best one."""
    costs = [batches.late[p.row.key] for p in bundle]
    return beyond_best([min(NEVER, sum(column)) for column in zip(*costs, strict=True)])


def material_problem(
    room: Room,
    material: str,
    must: Sequence[Piece],
    fill: Sequence[Piece],
    rows: Sequence[Row],
    use_reserve: bool,
    batches: BatchCosts | None = None,
) -> MaterialProblem:
    """Return the problem of one material's pieces (in canonical order: by job, separation, part).

    Must and fill pieces make units of their own. Keep-out levels come from the must pieces alone, since fill pieces
    join plates that are made already. ``rows`` are all rows of the material. ``batches`` is None where it does not
    matter when plates are made.
    """
    entries: list[Sheet | Offcut] = [*room.sheets, *room.offcuts]
    lots = sorted({e.lot for e in entries if e.lot and e.material == material})
    stocked, bins = stock_of(room, material, use_reserve, lots)
    levels = levels_of(room, material, [p.least_border for p in must])
    early, numbers = earliness(rows), Numbers()
    members = [*bundles(must), *bundles(fill)]
    units = [unit_of(room, bundle, numbers, levels, stocked, early, batches) for bundle in members]
    problem = Problem(
        units=tuple(units),
        bins=tuple(bins),
        levels=levels,
        limits=limits_of(room, material),
        rates=rates_of(room),
        axis_sets=len(numbers.axis_jobs),
        lot_sets=len(numbers.lot_jobs),
        lots=len(lots),
        late=tuple(numbers.windows),
        batch_prices=() if batches is None else batches.prices,
    )
    return MaterialProblem(
        material=material,
        problem=problem,
        stock=tuple(stocked),
        members=tuple(members),
        axis_jobs=numbers.axis_jobs,
        lot_jobs=numbers.lot_jobs,
        lots=tuple(lots),
        told_in=room.unit,
    )
