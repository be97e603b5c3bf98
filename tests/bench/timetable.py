"""How near the best possible timetables are, and how long they take.

Batches of invented plates go through rooms of different lines; every timetable is checked. The gap is from the makespan
to the proven bound, so it counts what the timetable lacks and what the proof lacks together.

    python -m tests.bench.timetable --plates 25 --seeds 3 --effort 1
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass, replace
from datetime import datetime

from nest.calendar.timetable import When, make_timetable
from nest.check.timetable import check_timetable
from nest.domain.line import Hours, Line, StepTimes
from nest.domain.room import Room, Station
from tests.calendar.line_plans import THICK, THIN, hand_plan, invented_sizes, line_room, rows_of

MONDAY = datetime(2027, 3, 1, 6)
BED = Station(name="exposure", max_a_mm=1300.0, max_b_mm=1600.0, places=4, start_together=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One batch: makespan, bound and loads in minutes, seconds it took."""

    room: str
    seed: int
    makespan: float
    bound: float
    seconds: float
    loads: float
    least_loads: float
    violations: int


def rooms() -> dict[str, Room]:
    """Return the rooms by name."""
    usual = Line(steps=Line().steps)
    water = {
        name: StepTimes(minutes=minutes)
        for name, minutes in (("back_exposure", 1.5), ("main_exposure", 10.0), ("washout", 12.0), ("drying", 15.0),
                              ("post_exposure", 5.0), ("detack", 5.0))
    }  # fmt: skip
    thick = replace(THICK, times={"drying": StepTimes(minutes=180.0), "washout": StepTimes(minutes=11.0)})
    washed = {one.name: replace(one, times=water) for one in (THIN, THICK)}
    day = (Hours(start=datetime(1, 1, 1, 6).time(), end=datetime(1, 1, 1, 22).time()),)
    found = {
        "one drawer, one operator": line_room(usual),
        "one drawer, two operators": line_room(replace(usual, operators=2)),
        "bed of several plates": line_room(replace(usual, operators=2), (BED,)),
        "bed, one operator": line_room(usual, (BED,)),
        "two of each, three operators": line_room(replace(usual, operators=3), tuple(
            Station(name=name, count=2) for name in ("exposure", "washer", "detack", "bench"))),
        "six dryer drawers": line_room(replace(usual, operators=2), (Station(name="dryer", count=6),)),
        "hours 06:00 to 22:00": line_room(replace(usual, operator_hours=day)),
    }  # fmt: skip
    rooms = {name: replace(room, materials=room.materials | {"QF284": thick}) for name, room in found.items()}
    return rooms | {"water-washed, one operator": replace(line_room(usual), materials=washed)}


def measured(name: str, room: Room, plates: int, seed: int, effort: float) -> Result:
    """Return what one batch of a room came to."""
    plan = hand_plan(invented_sizes(plates, seed), cut=True)
    begun = time.perf_counter()
    table = make_timetable(plan, room, rows_of(plan), When(start=MONDAY), effort)
    seconds = time.perf_counter() - begun
    return Result(
        room=name, seed=seed, makespan=table.makespan, bound=table.bound, seconds=seconds,
        loads=sum(load.minutes for load in table.loads), least_loads=table.least_loads,
        violations=len(check_timetable(table, plan, rows_of(plan), room)),
    )  # fmt: skip


def main(args: list[str] | None = None) -> int:
    """Print a line for each batch and the worst; 1 where a timetable breaks its line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--plates", type=int, default=25)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--effort", type=float, default=1.0)
    parser.add_argument("--only", default="", help="rooms whose name holds these words")
    asked = parser.parse_args(args)
    chosen = {name: room for name, room in rooms().items() if asked.only in name}
    results = []
    print(f"{'room':<30} seed  makespan    bound     gap   loads  least  seconds")
    for name, room in chosen.items():
        for seed in range(1, asked.seeds + 1):
            one = measured(name, room, asked.plates, seed, asked.effort)
            results.append(one)
            gap = 100 * (one.makespan - one.bound) / one.makespan
            print(
                f"{name:<30} {seed:4d} {one.makespan:9.1f} {one.bound:8.1f} {gap:6.2f}% {one.loads:7.1f} "
                f"{one.least_loads:6.1f} {one.seconds:8.1f}{'  BROKEN' * (one.violations > 0)}",
                flush=True,
            )
    gaps = [100 * (one.makespan - one.bound) / one.makespan for one in results]
    near, worst = sum(gap <= 5.0 for gap in gaps), max(one.seconds for one in results)
    print(
        f"{len(results)} batches of {asked.plates}: mean gap {sum(gaps) / len(gaps):.2f} %, worst {max(gaps):.2f} %, "
        f"{near} within 5 %; slowest {worst:.1f} s; violations {sum(one.violations for one in results)}"
    )
    return int(any(one.violations for one in results))


if __name__ == "__main__":
    raise SystemExit(main())
