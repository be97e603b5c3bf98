"""The constraint program of a shop and its search: least makespan with a proven bound, then least sum of ends.

Model. One start per work, precedence along chains. A machine that takes one work at a time is a disjunctive resource;
places that take several, or have several machines, are cumulative in slots and in area. Where works of a machine are
joint, each work either leads a go or joins the go of an earlier-numbered work of its kind; leaders alone occupy the
machine, members share their leader's start (batching made explicit, so a go holds exactly what its area allows).
Operators are one more cumulative resource, with fixed spans in which none is there.

Search. `nest.calendar.shop_start` gives a first schedule, `nest.calendar.shop_search` a better one,
`nest.calendar.shop_bounds` a bound. From there CP-SAT goes on with its strategies interleaved in one thread of work, a
fixed seed and a limit in deterministic time, so that the same shop gives the same schedule.

References: Baptiste, Le Pape and Nuijten, Constraint-Based Scheduling, 2001, doi 10.1007/978-1-4615-1479-4; Potts and
Kovalyov, Scheduling with batching, 2000, doi 10.1016/S0377-2217(99)00153-8 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from nest.calendar.shop import Found, Schedule, makespan_of, total_of
from nest.calendar.shop_bounds import makespan_bound
from nest.calendar.shop_machines import machines_of
from nest.calendar.shop_search import searched
from nest.calendar.shop_start import first_schedule
from nest.calendar.solver import cp_sat, repeatable
from nest.errors import NestError

if TYPE_CHECKING:
    from nest.calendar.shop import Place, Shop, Span

TRIES, PLACED = 60_000, 13_000_000
"""Schedules that local search builds at most at one effort, and works that it places in them."""
MOST_SEARCH = 4.0
"""Effort beyond which only the proof goes on."""
FOR_MAKESPAN, FOR_TOTAL = 0.5, 0.2
"""Deterministic time of each program at one effort."""


def best_schedule(shop: Shop, effort: float = 1.0) -> Found:
    """Return the best schedule found; the same shop and effort give the same one.

    Parameters
    ----------
    shop
        The works and places.
    effort
        How long to search; 1 takes up to some 20 s of one core for 200 works.

    Raises
    ------
    MissingExtra
        If the solver is not installed.
    """
    cp_model = cp_sat()
    bound = makespan_bound(shop)
    tries = round(min(effort, MOST_SEARCH) * min(TRIES, PLACED / len(shop.works)))
    best = searched(shop, first_schedule(shop), tries, bound)
    makespan = makespan_of(shop, best.starts)
    if makespan > bound:
        model = _Model(cp_model, shop, makespan)
        model.program.minimize(model.makespan)
        model.program.add(model.makespan >= bound)
        found, proven = model.solved(best, effort * FOR_MAKESPAN)
        bound = min(max(bound, proven), makespan)
        if found is not None and makespan_of(shop, found.starts) < makespan:
            best, makespan = found, makespan_of(shop, found.starts)
    model = _Model(cp_model, shop, makespan)
    model.program.minimize(model.total)
    found, proven = model.solved(best, effort * FOR_TOTAL)
    if found is not None and total_of(shop, found.starts) < total_of(shop, best.starts):
        best = found
    total = total_of(shop, best.starts)
    return Found(schedule=best, makespan=makespan, bound=bound, total=total, total_bound=min(proven, total))


@dataclass(frozen=True, slots=True)
class _Go:
    """What occupies a machine: a work that is alone in it or leads others; ``leads`` None where it always does."""

    work: int
    leads: Any | None


class _Model:
    """The program of one shop; lives only inside one search."""

    def __init__(self, cp_model: Any, shop: Shop, horizon: int) -> None:
        self.cp_model, self.shop = cp_model, shop
        self.program = cp_model.CpModel()
        self.starts = [
            self.program.new_int_var(shop.heads[at], horizon - shop.tails[at] - work.ticks, f"s{at}")
            for at, work in enumerate(shop.works)
        ]
        self.joins: dict[tuple[int, int], Any] = {}
        self.leads: dict[int, Any] = {}
        self.chosen: dict[tuple[int, int], Any] = {}
        for at, work in enumerate(shop.works):
            for one in work.after:
                self.program.add(self.starts[at] >= self.starts[one] + shop.works[one].ticks)
        goes = [go for at, place in enumerate(shop.places) for go in self._place(at, place)]
        self._operators(goes, horizon)
        last = [self.starts[at] + work.ticks for at, work in enumerate(shop.works) if work.last]
        self.makespan = self.program.new_int_var(0, horizon, "makespan")
        self.program.add_max_equality(self.makespan, last)
        self.total = sum(last)

    def _place(self, at: int, place: Place) -> list[_Go]:
        """Add the limits of a place; return what its hands are needed for."""
        works = self.shop.works_at(at)
        several = place.slots > 1 and len(works) > 1
        if several and place.joint:
            goes = self._joint(works, place)
            self._share(self._stays(goes), place.count)
            return goes
        goes = [_Go(one, None) for one in works]
        if not several:
            self._share(self._stays(goes), place.count)
        elif place.area is None or place.count == 1:
            stays = self._stays(goes)
            self._share(stays, place.count * place.slots)
            if place.area is not None:
                areas = [self.shop.works[one].area for one in works]
                self.program.add_cumulative(stays, areas, place.area)
        else:
            self._machines(works, place)
        return goes

    def _stays(self, goes: list[_Go]) -> list[Any]:
        return [self._interval(go, 0, self.shop.works[go.work].ticks) for go in goes]

    def _interval(self, go: _Go, offset: int, length: int, there: Any | None = None) -> Any:
        start, there = self.starts[go.work] + offset, go.leads if there is None else there
        if there is None:
            return self.program.new_fixed_size_interval_var(start, length, "")
        return self.program.new_optional_fixed_size_interval_var(start, length, there, "")

    def _share(self, stays: list[Any], most: int) -> None:
        """Let no more than so many intervals overlap."""
        if most == 1:
            self.program.add_no_overlap(stays)
        elif len(stays) > most:
            self.program.add_cumulative(stays, [1] * len(stays), most)

    def _joint(self, works: list[int], place: Place) -> list[_Go]:
        """Let every work lead a go or join that of an earlier one of its kind."""
        area = [work.area for work in self.shop.works]
        for n, one in enumerate(works):
            self.leads[one] = self.program.new_bool_var(f"lead{one}")
            for leader in works[:n]:
                if self._may_join(one, leader, place):
                    join = self.program.new_bool_var(f"join{one},{leader}")
                    self.joins[one, leader] = join
                    self.program.add_implication(join, self.leads[leader])
                    self.program.add(self.starts[one] == self.starts[leader]).only_enforce_if(join)
            choices = [join for (member, _), join in self.joins.items() if member == one]
            self.program.add_exactly_one([self.leads[one], *choices])
        for leader in works:
            members = [(one, join) for (one, first), join in self.joins.items() if first == leader]
            self.program.add(sum(join for _, join in members) <= place.slots - 1)
            if place.area is not None:
                self.program.add(sum(area[one] * join for one, join in members) <= place.area - area[leader])
        return [_Go(one, self.leads[one]) for one in works]

    def _may_join(self, one: int, leader: int, place: Place) -> bool:
        a, b = self.shop.works[one], self.shop.works[leader]
        alike = a.kind == b.kind and a.ticks == b.ticks
        return alike and (place.area is None or a.area + b.area <= place.area)

    def _machines(self, works: list[int], place: Place) -> None:
        """Give each work a machine of its own choice, where area has to be shared machine by machine."""
        chosen = {(one, n): self.program.new_bool_var(f"in{one},{n}") for one in works for n in range(place.count)}
        self.chosen |= chosen
        for one in works:
            self.program.add_exactly_one(chosen[one, n] for n in range(place.count))
        for n in range(place.count):
            stays = [self._interval(_Go(one, None), 0, self.shop.works[one].ticks, chosen[one, n]) for one in works]
            self.program.add_cumulative(stays, [1] * len(works), place.slots)
            self.program.add_cumulative(stays, [self.shop.works[one].area for one in works], place.area)

    def _operators(self, goes: list[_Go], horizon: int) -> None:
        if self.shop.operators is None:
            return
        needs = [
            self._interval(go, first, end - first) for go in goes for first, end in self.shop.works[go.work].hands
        ]
        if not needs:
            return
        away = [self._away(span) for span in self.shop.away if span[0] < horizon]
        if self.shop.operators == 1:
            self.program.add_no_overlap([*needs, *away])
            return
        demands = [1] * len(needs) + [self.shop.operators] * len(away)
        self.program.add_cumulative([*needs, *away], demands, self.shop.operators)

    def _away(self, span: Span) -> Any:
        return self.program.new_fixed_size_interval_var(span[0], span[1] - span[0], "")

    def solved(self, hint: Schedule, effort: float) -> tuple[Schedule | None, int]:
        """Return the best schedule found, None where none is, and a proven bound of the objective.

        Raises
        ------
        NestError
            If the program refuses the schedule it starts from: a fault of our own.
        """
        self._hint(hint)
        solver = repeatable(self.cp_model, effort)
        status = solver.solve(self.program)
        if status in (self.cp_model.INFEASIBLE, self.cp_model.MODEL_INVALID):
            raise NestError(f"the timetable's own first schedule is refused: {solver.status_name(status)}")
        bound = math.ceil(solver.best_objective_bound - 1e-6)
        if status not in (self.cp_model.OPTIMAL, self.cp_model.FEASIBLE):
            return None, bound
        starts = tuple(solver.value(start) for start in self.starts)
        goes = list(range(len(starts)))
        for (one, leader), join in self.joins.items():
            if solver.value(join):
                goes[one] = leader
        chosen = {one: n for (one, n), there in self.chosen.items() if solver.value(there)}
        machines = machines_of(self.shop, starts, goes, chosen)
        return Schedule(starts=starts, machines=machines, goes=tuple(goes)), bound

    def _hint(self, known: Schedule) -> None:
        """Start from a schedule; its goes are led by whichever work of each comes first."""
        for variable, start in zip(self.starts, known.starts, strict=True):
            self.program.add_hint(variable, start)
        first: dict[int, int] = {}
        for one in sorted(self.leads):
            first.setdefault(known.goes[one], one)
        for one, leads in self.leads.items():
            self.program.add_hint(leads, first[known.goes[one]] == one)
        for (one, leader), join in self.joins.items():
            self.program.add_hint(join, first[known.goes[one]] == leader)
        for (one, n), there in self.chosen.items():
            self.program.add_hint(there, known.machines[one] == n)
