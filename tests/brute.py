"""The exact optimum of small plate-room weeks by complete enumeration: a slow second opinion on the engine.

It takes the plan problem of the design (section 5) and tries everything that can matter: every axis of every set, every
choice of pieces per sheet, every grouping of those into plates, every tree of raw cuts, every size of plate. It is
meant for up to six pieces. It knows nothing of ``nest.packing``.

Method
------
Materials share nothing, so each is solved alone. For each choice of a sheet axis for every ``set`` job:

1. ``brute_fit`` gives the frontier of a set of pieces: the least plate sizes that hold it (guillotine or free).
2. ``brute_sheet`` gives the least cost of parting a sheet into given plates and rests; the least over all partitions
   of a set of pieces into plates is what the set costs on that sheet.
3. A recursion over the pieces left and the stock left draws a sheet for the first piece and some of the others, or
   leaves that piece out, and keeps the least (area left out, cost).

Why the raw cuts tried are enough
---------------------------------
*The two sides of a cut may be swapped* (a mirrored layout is as good: leads and pieces are mirrored with it), so the
first plate is always on the low side. *A rest is not cut again*: two rests side by side earn no more than both as one,
which also saves a cut.

Now fix the tree of cuts, what each part is, and on which axis each plate's lead edge lies. Open are the positions: x of
the vertical cuts, y of the horizontal ones. What a plate asks of its width (frontier plus keep-outs, machine and strip
minimum, machine maximum) changes only at finitely many widths, its *tight* ones: the widths of the points of its region
and its largest width. A rest's tight width is the raw strip or the least side of a kept rest. Keep all y and consider
one vertical cut x of a rectangle [a, b]. Call two cuts linked if a part between them is tight. If neither a nor b is
linked with x, over links inside the rectangle, then x and the cuts linked with it can be moved both ways together,
until one more part gets tight. On the way every plate stays big enough. The cost changes by plate area and credits:

- *Linear case*: every rest that may be kept is wide enough for the full rate and large enough by its sides alone
  (offcut_full_side <= s and offcut_min_area <= s * s, s the larger of offcut_min_side and the raw strip). Then each
  part's value is linear in the shift, or the larger of two linear functions (kept or not): the whole is convex, and one
  of the two ways does not make it worse.
- *One-rest case*: one kept rest at most and no processing rate. Only that rest's credit counts; it never falls when the
  rest gets wider, so again one of the two ways does not make it worse.

After finitely many moves each cut is linked to a or b. The path of links from x to a runs through parts of x's low side
one after another from left to right, each part tight, none twice: x - a is a sum of tight widths of plates of the low
side and rests; or b - x is one of the high side. The tight widths used belong to sizes that fit the rectangle's height.
Moving the horizontal cuts afterwards leaves all x as they are, and a plate that is tight in x at a frontier point keeps
at least that point's height. So cutting each rectangle only at those sums (``brute_sheet.chained``) meets an optimum.
Rooms outside both cases are refused. Such a row has at most as many rests of least kept side as may be kept. Scrap of
the least strip is in it only where processing costs by area, or where a plate of the row has its largest size inside
the rectangle, or where the whole side is that scrap: otherwise all of the scrap can go to the parts beside it (no plate
gets too large, no kept rest smaller) and a cut is saved.

Rounding to cents: in the one-rest case the argument holds for rounded credits as it stands. In the linear case it
holds where every amount is whole cents (the lattice weeks of ``brute_weeks``); elsewhere a cost can come out above the
optimum by at most a cent per part of a cut sheet.

What spares time changes no result: a rectangle is not looked into when a lower bound of it (``Parting.at_least``) is
not under what is found already, and a sheet is not when it and a lower bound for the pieces left cost more than a plan
found by a first, quick pass (``_worth``).

Not covered, and refused: fill rows, sheets of one lot, one batch, guillotine plates of more than three pieces with a
gap. Among plans that place the same area, due dates are not compared.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from math import inf
from typing import TYPE_CHECKING

from nest.domain.job import Need, Together, Turn
from nest.domain.room import Cutting, Offcut
from nest.plates.groups import group_of
from nest.plates.pieces import piece_of
from nest.units import area_m2, to_units
from tests.brute_fit import plate_regions
from tests.brute_sheet import Bin, Parting, Positions, Shape, chained

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from nest.domain.job import Row
    from nest.domain.room import Room, Sheet
    from nest.plates.pieces import Piece
    from tests.brute_fit import Turns

MOST_PIECES = 7
Axes = dict[str, int]
"""Sheet axis of each set job: 0 upright as at turn 0, 1 a quarter turn from it."""
Indexes = tuple[int, ...]
"""Pieces of a material, by place in its list."""


@dataclass(frozen=True, slots=True)
class Optimum:
    """Least area of must pieces left out, and the least cost of a plan that leaves out no more."""

    unplaced_m2: float
    cost: float


def optimum(rows: Sequence[Row], room: Room, positions: Positions = chained) -> Optimum:
    """Return the optimum of a week of at most ``MOST_PIECES`` pieces per material, no reserve drawn.

    Raises
    ------
    ValueError
        If the week is too large or has something this search does not cover.
    """
    _refuse(rows, room)
    unplaced, cost = 0, 0.0
    for material in sorted({row.material for row in rows}):
        pieces = [piece_of(row, room) for row in rows if row.material == material for _ in range(row.copies)]
        found = _Material(material, pieces, room, positions, quick=True).best()
        left, spent = _Material(material, pieces, room, positions, known=found).best()
        unplaced, cost = unplaced + left, cost + spent
    return Optimum(area_m2(unplaced, 1), round(cost, 6))


def _refuse(rows: Sequence[Row], room: Room) -> None:
    for row in rows:
        if row.need is Need.FILL or row.together in (Together.LOT, Together.BATCH):
            raise ValueError(f"row {row.key}: fill, lot and batch are not covered")
    for material, count in Counter(row.material for row in rows for _ in range(row.copies)).items():
        if count > MOST_PIECES:
            raise ValueError(f"{count} pieces of {material}, at most {MOST_PIECES} are covered")
    groups = Counter((row.material, group_of(row, room)) for row in rows for _ in range(row.copies))
    for (material, _), count in groups.items():
        if room.cutting is Cutting.GUILLOTINE and room.gap_of(material) and count > 3:
            raise ValueError("more than three guillotined pieces with a gap are not covered")
    costs = room.costs
    side = max(costs.offcut_min_side_mm, costs.raw_min_strip_mm)
    linear = costs.offcut_full_side_mm <= side and costs.offcut_min_area_m2 <= side * side / 1e6 + 1e-12
    one_rest = costs.offcuts_per_sheet <= 1 and costs.process_per_m2 == 0
    worthless = costs.offcuts_per_sheet == 0 or (costs.offcut_value == 0 and not room.offcuts)
    if not (linear or one_rest or worthless):
        raise ValueError("credits neither linear nor of one rest without processing rate")


class _Material:
    """All pieces and all stock of one material."""

    def __init__(
        self, material: str, pieces: list[Piece], room: Room, positions: Positions, *, quick: bool = False,
        known: tuple[int, float] = (1, inf),
    ) -> None:
        self.material, self.pieces, self.room, self.positions = material, pieces, room, positions
        self.quick, self.known = quick, known
        self.parts = min(3, room.costs.raw_parts_max) if quick else room.costs.raw_parts_max
        entries: list[Sheet | Offcut] = [*room.sheets, *room.offcuts]
        self.entries = [entry for entry in entries if entry.material == material]
        self.bins = [_bin(entry, room) for entry in self.entries]
        self._shapes: dict[object, Shape] = {}
        self._costs: dict[object, float] = {}

    def best(self) -> tuple[int, float]:
        """Return the least (area left out in square units, cost) over all choices of the sets' axes."""
        jobs = sorted({piece.row.job for piece in self.pieces if piece.turn is Turn.SET})
        choices = product((0, 1), repeat=len(jobs))
        return min((self._best(dict(zip(jobs, axes, strict=True))) for axes in choices), default=(0, 0.0))

    def _best(self, axes: Axes) -> tuple[int, float]:
        memo: dict[tuple[int, tuple[int, ...]], tuple[int, float]] = {}

        def rest_of(mask: int, stock: tuple[int, ...]) -> tuple[int, float]:
            if mask == 0:
                return (0, 0.0)
            if (mask, stock) not in memo:
                memo[mask, stock] = step(mask, stock)
            return memo[mask, stock]

        def step(mask: int, stock: tuple[int, ...]) -> tuple[int, float]:
            first = mask & -mask
            left, cost = rest_of(mask ^ first, stock)
            piece = self.pieces[first.bit_length() - 1]
            found = (left + piece.w * piece.h, cost)
            for chosen, kind in product(_subsets(mask), range(len(stock))):
                spent = self._sheet_cost(_indexes(chosen), kind, axes) if stock[kind] else inf
                if spent < inf:
                    after = tuple(count - (k == kind) for k, count in enumerate(stock))
                    left, cost = rest_of(mask ^ chosen, after)
                    found = min(found, (left, round(cost + spent, 6)))
            return found

        return rest_of((1 << len(self.pieces)) - 1, self._stock)

    @cached_property
    def _stock(self) -> tuple[int, ...]:
        """How many of each kind may be drawn; more than there are pieces is as good as unlimited."""
        most = len(self.pieces)
        counts = []
        for entry in self.entries:
            if isinstance(entry, Offcut):
                counts.append(1)
            else:
                counts.append(most if entry.on_hand is None else max(0, min(most, entry.on_hand - entry.keep_back)))
        return tuple(counts)

    def _sheet_cost(self, chosen: Indexes, kind: int, axes: Axes) -> float:
        """Return the least cost of making these pieces from one sheet or offcut, inf where it can't be done."""
        key = (kind, tuple(sorted((self._type(i), self._turns(i, axes)) for i in chosen)))
        if key not in self._costs:
            self._costs[key] = self._cheapest(chosen, kind, axes)
        return self._costs[key]

    def _cheapest(self, chosen: Indexes, kind: int, axes: Axes) -> float:
        entry, stock = self.entries[kind], self.bins[kind]
        if not all(_serves(entry, self.pieces[i].row) for i in chosen):
            return inf
        if not self._whole(chosen):
            return inf
        limit = self._worth(chosen) - stock.price
        best, seen, fewest = limit, set(), self.parts
        costs = replace(self.room.costs, raw_parts_max=self.parts)
        for plates in sorted(_partitions(chosen), key=len):
            sign = tuple(sorted(tuple(sorted(self._type(i) for i in plate)) for plate in plates))
            if sign in seen or len(plates) > fewest or not all(map(self._may_share, plates)):
                continue
            seen.add(sign)
            shapes = tuple(self._shape(plate, axes) for plate in plates)
            if all(shape.whole for shape in shapes):
                best = min(best, Parting(stock, shapes, costs, self.positions).cheapest(best))
                fewest = len(plates) if self.quick and best < limit else fewest
        return best + stock.price if best < limit else inf

    def _worth(self, chosen: Indexes) -> float:
        """Return what a sheet of these pieces may cost: more is dearer than a known plan, whatever the others cost.

        The others cost at least: their area at the price of a sheet in full use, any rest of it credited at the full
        rate (each sheet costs price - rate * (sheet area - plate area) + process * plate area or more).
        """
        left_out, cost = self.known
        if left_out:
            return inf
        others = sum(area_m2(p.w, p.h) for i, p in enumerate(self.pieces) if i not in chosen)
        per_m2 = min(b.price / area_m2(*b.size) for b in self.bins) + self.room.costs.process_per_m2
        return cost - others * per_m2 + 0.01 * self.room.costs.raw_parts_max * len(self.pieces)

    def _shape(self, plate: Indexes, axes: Axes) -> Shape:
        border = min(self.pieces[i].least_border for i in plate)
        turns = tuple(sorted(self._turns(i, axes) for i in plate))
        if (turns, border) not in self._shapes:
            strip = to_units(self.room.costs.raw_min_strip_mm)
            largest = (max(b.size[0] for b in self.bins), max(b.size[1] for b in self.bins))
            whole, part = (
                plate_regions(turns, border, self.room, self.material, strip=least, largest=largest)
                for least in (0, strip)
            )
            self._shapes[turns, border] = Shape(whole, part)
        return self._shapes[turns, border]

    def _turns(self, i: int, axes: Axes) -> Turns:
        piece = self.pieces[i]
        upright, quarter = (piece.w, piece.h), (piece.h, piece.w)
        if piece.turn is Turn.FREE:
            return tuple(sorted({upright, quarter}))
        crossed = axes[piece.row.job] == 1 if piece.turn is Turn.SET else piece.turn is Turn.CROSS
        return (quarter,) if crossed else (upright,)

    def _type(self, i: int) -> str:
        return repr(self.pieces[i].row.key)

    def _may_share(self, plate: Indexes) -> bool:
        """Whether these pieces may lie on one plate: group, alone, apart."""
        rows = [self.pieces[i].row for i in plate]
        one_job = len({row.job for row in rows}) == 1
        one_group = len({group_of(row, self.room) for row in rows}) == 1
        copies = Counter(row.key for row in rows)
        apart = all(copies[row.key] == 1 for row in rows if row.apart)
        return one_group and apart and (one_job or not any(row.alone for row in rows)) and self._whole(plate)

    def _whole(self, chosen: Indexes) -> bool:
        """Whether each bundle that must share a plate is in the chosen pieces with all its pieces or none."""
        bundles = [self._bundle(i) for i in chosen]
        everywhere = Counter(self._bundle(i) for i in range(len(self.pieces)))
        return all(bundle is None or bundles.count(bundle) == everywhere[bundle] for bundle in bundles)

    def _bundle(self, i: int) -> object:
        row = self.pieces[i].row
        return {Together.PLATE: ("job", row.job), Together.COPIES: ("row", row.key), None: None}[row.together]


def _bin(entry: Sheet | Offcut, room: Room) -> Bin:
    size = (to_units(entry.across_mm), to_units(entry.around_mm))
    if isinstance(entry, Offcut):
        return Bin(size, entry.value, entry.value / area_m2(*size))
    return Bin(size, entry.price, room.costs.offcut_value * entry.price / area_m2(*size))


def _serves(entry: Sheet | Offcut, row: Row) -> bool:
    """Whether the sheet or offcut may serve the row: not expired when it is due, no other floor exposed."""
    in_time = entry.expiry is None or row.due is None or row.due.date() <= entry.expiry
    return in_time and (not isinstance(entry, Offcut) or entry.relief is None or entry.relief == row.relief)


def _subsets(mask: int) -> Iterator[int]:
    """Yield every subset of the mask that holds its first member."""
    first = mask & -mask
    others = mask ^ first
    more = others
    while True:
        yield first | more
        if more == 0:
            return
        more = (more - 1) & others


def _indexes(mask: int) -> Indexes:
    return tuple(i for i in range(mask.bit_length()) if mask >> i & 1)


def _partitions(items: Indexes) -> Iterator[list[Indexes]]:
    """Yield every partition of the items into non-empty sets."""
    if not items:
        yield []
        return
    for mask in _subsets((1 << len(items)) - 1):
        block = tuple(items[i] for i in _indexes(mask))
        others = tuple(item for item in items if item not in block)
        for more in _partitions(others):
            yield [block, *more]
