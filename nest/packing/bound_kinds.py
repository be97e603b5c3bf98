"""Kinds of plates: which units may lie on one plate, and how many plates of a kind there are at least.

Units of one group share plates, except that a unit that is *alone* shares its plate with its own job only. So each
group has a common kind for all its units that are not alone, and a kind for each job of it that has such a unit.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.packing.bound_area import least_keep_outs, single_plate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.packing.problem import Problem, Unit

MANY = -1
"""Stands for sheets with several plates, of whatever kinds."""


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Kind:
    """A kind of plate: its group, and the job it is alone for or -1."""

    group: int
    job: int

    def takes(self, unit: Unit) -> bool:
        """Return whether a unit may lie on a plate of this kind."""
        if unit.group != self.group:
            return False
        return unit.job == self.job if self.job >= 0 else not unit.alone


def kinds_of(problem: Problem, units: Sequence[int]) -> tuple[Kind, ...]:
    """Return the kinds of plates that ``units`` can lie on."""
    found = {
        Kind(group=unit.group, job=unit.job if unit.alone else -1) for unit in (problem.units[u] for u in units)
    }
    return tuple(sorted(found))


def least_plates(problem: Problem, kinds: Sequence[Kind], units: Sequence[int]) -> list[int]:
    """Return how many plates of each kind there are at least.

    Counted are the units that no other kind takes. They need room by area, copies that lie apart a plate each. A plate
    holds no more inflated area than the largest plate of any sheet (``bound_area.single_plate``).
    """
    side, lead = least_keep_outs(problem)
    gap = min(problem.limits.gap, 2 * min(side, lead))
    room = max((single_plate(problem, b.w, b.h, side, lead, gap)[0] for b in problem.bins), default=0.0)
    area: dict[int, float] = defaultdict(float)
    copies: dict[int, Counter[int]] = defaultdict(Counter)
    for u in units:
        unit = problem.units[u]
        at = [k for k, kind in enumerate(kinds) if kind.takes(unit)]
        if len(at) != 1:
            continue
        area[at[0]] += sum(float(i.w + gap) * (i.h + gap) for i in unit.items)
        copies[at[0]].update({i.row for i in unit.items if i.apart})
    least = []
    for k in range(len(kinds)):
        by_area = math.ceil(area[k] / room * (1.0 - 1e-9)) if room > 0.0 else 0
        least.append(max(by_area, max(copies[k].values(), default=0)))
    return least
