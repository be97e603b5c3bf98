"""One simulated storeroom: nests week after week, keeps rests and draws them again.

Sheets never run out, so what a week draws is what it would have liked to draw.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.resample import without_lots
from nest.domain.room import Offcut, Sheet
from nest.domain.stock import Curve
from nest.packing.assemble import credit_of
from nest.sketching import sketch_week
from nest.store.value import share_left
from nest.units import area_m2, money, to_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.buying.demand import SizeKey
    from nest.domain.job import Row
    from nest.domain.room import Room
    from nest.packing.problem import BinLayout
    from nest.packing.translate import Stocked
    from nest.pipeline import Effort
    from nest.sketching import Sketch

START = date(2001, 1, 1)
"""A Monday to count the age of offcuts from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What one nesting took and gave: new sheets by size, money, areas in m2, pieces no sheet takes."""

    sheets: tuple[int, ...]
    cost: float = 0.0
    drawn_m2: float = 0.0
    kept_m2: float = 0.0
    pieces_m2: float = 0.0
    left: int = 0

    @property
    def used_m2(self) -> float:
        """Area drawn less that of the rests kept."""
        return self.drawn_m2 - self.kept_m2

    def __add__(self, other: Drawn) -> Drawn:
        """Return both together."""
        return Drawn(
            sheets=tuple(a + b for a, b in zip(self.sheets, other.sheets, strict=True)),
            cost=money(self.cost + other.cost),
            drawn_m2=round(self.drawn_m2 + other.drawn_m2, 6),
            kept_m2=round(self.kept_m2 + other.kept_m2, 6),
            pieces_m2=round(self.pieces_m2 + other.pieces_m2, 6),
            left=self.left + other.left,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """An offcut on the rack: ``offcut.value`` is its value when new, ``made`` the week it was kept in."""

    offcut: Offcut
    made: int


class Storeroom:
    """Endless sheets of each size and a rack of offcuts, which it owns and changes."""

    def __init__(self, room: Room, sizes: Sequence[SizeKey], offcut_weeks: int | None, rack_limit: int | None) -> None:
        """Begin with the room's offcuts on the rack; the limits are those of `Wishes`."""
        self.sizes = tuple(sizes)
        self.room = replace(room, sheets=endless(room, sizes), offcuts=())
        self.offcut_weeks, self.rack_limit = offcut_weeks, rack_limit
        plain = (replace(o, lot=None, expiry=None) for o in room.offcuts)
        self.rack = [Kept(offcut=offcut, made=0) for offcut in plain]
        self._named = 0

    def nest(
        self, rows: Sequence[Row], week: int, seed: int, work_limit: int | None = None, effort: Effort | None = None
    ) -> Drawn:
        """Nest the rows in a week (from 0): draw sheets and offcuts, keep the rests that are worth keeping.

        With an ``effort`` by a long search, see `nest.sketching.sketch_week`.
        """
        rack = self._rack_in(week)
        total = Drawn(sheets=(0,) * len(self.sizes))
        if not rows:
            return total
        room = replace(self.room, offcuts=tuple(rack))
        for sketch in sketch_week(without_lots(rows), room, seed, work_limit, effort):
            total += self._take(sketch, week)
        self._hold_limit(week)
        return total

    def _rack_in(self, week: int) -> list[Offcut]:
        """Scrap what is too old; return the rack at the values of that week."""
        if self.offcut_weeks is not None:
            self.rack = [kept for kept in self.rack if week - kept.made < self.offcut_weeks]
        return [replace(kept.offcut, value=value_in(kept, week)) for kept in self.rack]

    def _take(self, sketch: Sketch, week: int) -> Drawn:
        """Book what one material drew and kept."""
        problem = sketch.work.material.problem
        sheets = [0] * len(self.sizes)
        cost = drawn = kept_m2 = pieces = 0.0
        for layout in sketch.bins:
            stocked, b = sketch.work.material.stock[layout.bin], problem.bins[layout.bin]
            cost += layout.cost
            drawn += area_m2(b.w, b.h)
            pieces += sum(area_m2(i.w, i.h) for u in sorted(layout.units) for i in problem.units[u].items)
            if stocked.is_offcut:
                self.rack = [kept for kept in self.rack if kept.offcut.id != stocked.entry.id]
            else:
                sheets[self._size_of(stocked)] += 1
            kept_m2 += self._keep(layout, stocked, b.rate * b.w * b.h / area_m2(b.w, b.h), week)
        left = sum(len(sketch.work.material.members[u]) for u in sketch.left)
        return Drawn(
            sheets=tuple(sheets), cost=money(cost), drawn_m2=round(drawn, 6), kept_m2=round(kept_m2, 6),
            pieces_m2=round(pieces, 6), left=left,
        )  # fmt: skip

    def _keep(self, layout: BinLayout, stocked: Stocked, rate: float, week: int) -> float:
        """Put the kept rests of a filled sheet on the rack; return their area. ``rate`` is money per m2."""
        area = 0.0
        for rest in layout.rests:
            credit = credit_of(self.room, rate, rest.w, rest.h) if rest.kept else 0.0
            if not rest.kept or (credit <= 0.0 and self.room.costs.offcut_value > 0.0):
                continue
            self._named += 1
            offcut = Offcut(
                id=f"~{self._named:06d}", material=stocked.entry.material, across_mm=to_mm(rest.w),
                around_mm=to_mm(rest.h), value=credit, relief=getattr(stocked.entry, "relief", None),
            )  # fmt: skip
            self.rack.append(Kept(offcut=offcut, made=week))
            area += area_m2(rest.w, rest.h)
        return area

    def _size_of(self, stocked: Stocked) -> int:
        entry = stocked.entry
        return next(
            n for n, size in enumerate(self.sizes)
            if (size.material, size.across_mm, size.around_mm) == (entry.material, entry.across_mm, entry.around_mm)
        )  # fmt: skip

    def _hold_limit(self, week: int) -> None:
        if self.rack_limit is not None and len(self.rack) > self.rack_limit:
            ranked = sorted(self.rack, key=lambda kept: (-value_in(kept, week), kept.offcut.id))
            stay = {kept.offcut.id for kept in ranked[: self.rack_limit]}
            self.rack = [kept for kept in self.rack if kept.offcut.id in stay]


def value_in(kept: Kept, week: int) -> float:
    """Return what an offcut is worth in a week, by the curve that a new ledger has."""
    made, day = START + timedelta(weeks=kept.made), START + timedelta(weeks=week)
    return money(kept.offcut.value * float(share_left(made, None, day, Curve())))


def endless(room: Room, sizes: Sequence[SizeKey]) -> tuple[Sheet, ...]:
    """Return one sheet that never runs out for each size, at the highest price of its lots."""
    return tuple(
        Sheet(
            id=size.label, material=size.material, across_mm=size.across_mm, around_mm=size.around_mm,
            price=max(
                s.price for s in room.sheets
                if (s.material, s.across_mm, s.around_mm) == (size.material, size.across_mm, size.around_mm)
            ),
        )
        for size in sizes
    )  # fmt: skip


def stacked(weeks: Sequence[Drawn]) -> tuple[np.ndarray, np.ndarray]:
    """Return the weeks of a path as arrays: sheets (weeks, sizes), and cost, drawn, kept and pieces (4, weeks)."""
    sheets = np.array([week.sheets for week in weeks], np.int64)
    figures = np.array([(week.cost, week.drawn_m2, week.kept_m2, week.pieces_m2) for week in weeks], np.float64)
    return sheets, figures.T.copy()
