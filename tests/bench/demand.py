"""The simulation of demand: how fast, how well it shares the cores, how near the fast mode comes to the whole engine.

    python -m tests.bench.demand speed --weeks 1000 --cores 2
    python -m tests.bench.demand against --weeks 12

``speed`` simulates weeks of about 60 rows of the invented plate room of `nest demo`, on so many cores and, with
``--alone``, on one core too; efficiency is the time on one core over cores times the time on all. ``against`` nests
weeks of the same room twice, by the fast mode and by the whole engine with its usual work: from the same rack week by
week (what one nesting draws more), and each on a rack of its own (what a whole path draws more).
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from nest.buying.crew import Crew
from nest.buying.demand import sizes_of
from nest.buying.demo_history import week_files
from nest.buying.nesting import Drawn, Storeroom
from nest.buying.past import WEEK, History, PastWeek, Wishes
from nest.buying.paths import simulate
from nest.buying.resample import Rows, jobs_of
from nest.domain.job import Row
from nest.domain.room import Room
from nest.intake.week import read_week
from nest.packing.control import Silent, Stop
from nest.packing.means import Means
from nest.packing.team import Team
from nest.pipeline import Settings, Sketch, default_work, prepare, sketch_week, solve_all
from nest.plates.pieces import piece_of
from tests.bench.invented import SHOPS, jobs_file, room_file

ROWS, JOBS_FOR_ROWS = 60, 26.0
PATH_WEEKS = 10


def demo_history(jobs_a_week: float = JOBS_FOR_ROWS) -> tuple[History, Room]:
    """Return past weeks of the demo's plate room, and the room."""
    found: dict[date, PastWeek] = {}
    with TemporaryDirectory() as name:
        folder = Path(name)
        text = (resources.files("nest") / "demo_week" / "room.toml").read_text(encoding="utf-8")
        (folder / "room.toml").write_text(text, encoding="utf-8")
        for file, jobs in week_files(jobs_a_week=jobs_a_week).items():
            (folder / file).write_text(jobs, encoding="utf-8")
            rows, room = read_week(folder / file, folder / "room.toml")
            monday = date.fromisocalendar(int(file[:4]), int(file[6:8]), 1)
            found[monday] = PastWeek(monday=monday, rows=rows)
    first, last = min(found), max(found)
    mondays = [first + n * WEEK for n in range((last - first) // WEEK + 1)]
    return History(weeks=tuple(found.get(m, PastWeek(monday=m)) for m in mondays)), replace(room, offcuts=())


def shop_weeks(name: str, count: int) -> tuple[list[Rows], Room]:
    """Return weeks of one of the invented shops, 60 rows each: sizes drawn anew for every job."""
    shop = replace(next(one for one in SHOPS if one.name == name), on_hand=None, offcuts=0)
    out: list[Rows] = []
    with TemporaryDirectory() as folder:
        paths = Path(folder) / "jobs.csv", Path(folder) / "room.toml"
        paths[1].write_text(room_file(shop, np.random.default_rng(0)), encoding="utf-8")
        for seed in range(count):
            lines = jobs_file(shop, 4 * ROWS, np.random.default_rng([5, seed])).splitlines()[: ROWS + 1]
            paths[0].write_text("\n".join(lines) + "\n", encoding="utf-8")
            rows, room = read_week(*paths)
            out.append(rows)
    return out, room


def whole_engine(rows: Sequence[Row], room: Room, seed: int, work_limit: int | None) -> list[Sketch]:
    """Nest as `nest plan` does by default, without the costly proof, which nothing here needs."""
    pieces = [piece_of(row, room) for row in sorted(rows, key=lambda row: row.key)]
    works = [
        prepare(room, m, [p for p in pieces if p.row.material == m], Settings(seed=seed))
        for m in sorted({row.material for row in rows})
    ]
    units = sum(len(work.demand.must) for work in works)
    with Team(1) as team:
        stop = Stop(work_limit=work_limit or default_work(units))
        solved, _ = solve_all(works, stop, Silent(), Means(seed=seed, team=team, proof=0.0))
    return [Sketch(work=work, bins=one.bins, left=one.left) for work, one in zip(works, solved, strict=True)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One week nested both ways."""

    rows: int
    fast: Drawn
    whole: Drawn
    seconds: tuple[float, float]


def against(weeks: Sequence[Rows], room: Room, *, own_rack: bool) -> list[Pair]:
    """Nest weeks both ways, one after another."""
    sizes = sizes_of(room)
    whole = Storeroom(room, sizes, 26, None, whole_engine)
    fast = Storeroom(room, sizes, 26, None, sketch_week)
    out = []
    for number, rows in enumerate(weeks):
        if not own_rack:
            fast.rack = list(whole.rack)
        begun = time.process_time()
        quick = fast.nest(rows, number, number)
        middle = time.process_time()
        slow = whole.nest(rows, number, number)
        seconds = (middle - begun, time.process_time() - middle)
        out.append(Pair(rows=len(rows), fast=quick, whole=slow, seconds=seconds))
        print(f"  week {number + 1}: {len(rows)} rows, {sum(quick.sheets)} sheets fast {quick.sheets}, "
              f"{sum(slow.sheets)} whole {slow.sheets}; cost {quick.cost:.2f}, {slow.cost:.2f}; "
              f"{seconds[0]:.2f} s, {seconds[1]:.1f} s", flush=True)  # fmt: skip
    return out


def compared(pairs: Sequence[Pair], room: Room) -> str:
    """Return how much more the fast mode draws, as text."""
    sizes = sizes_of(room)
    counts = [np.array([getattr(pair, way).sheets for pair in pairs]) for way in ("fast", "whole")]
    areas = np.array([size.across_mm * size.around_mm / 1e6 for size in sizes])
    fast, whole = (float(c.sum()) for c in counts)
    lines = [
        f"sheets {fast:.0f} fast, {whole:.0f} whole: {fast / whole - 1:+.1%}",
        f"area of new sheets {(counts[0] @ areas).sum() / (counts[1] @ areas).sum() - 1:+.1%}, area drawn "
        f"{sum(p.fast.drawn_m2 for p in pairs) / sum(p.whole.drawn_m2 for p in pairs) - 1:+.1%}, cost "
        f"{sum(p.fast.cost for p in pairs) / sum(p.whole.cost for p in pairs) - 1:+.1%}",
        *(f"{size.label}: {counts[0][:, n].sum()} fast, {counts[1][:, n].sum()} whole" for n, size in enumerate(sizes)),
        f"seconds a week {np.mean([p.seconds[0] for p in pairs]):.2f} fast, {np.mean([p.seconds[1] for p in pairs]):.1f} "
        "whole (of the processor)",
    ]  # fmt: skip
    return "".join(f"  {line}\n" for line in lines)


def measured_speed(weeks: int, cores: int, *, alone: bool) -> str:
    """Return how long so many simulated weeks take."""
    history, room = demo_history()
    wishes = Wishes(weeks=PATH_WEEKS, paths=weeks // PATH_WEEKS)
    rows = np.mean([len(week.rows) for week in history.weeks if week.rows])
    seconds, digests = {}, set()
    for at_once in {cores, 1} if alone else {cores}:
        begun = time.perf_counter()
        demand = simulate(history, room, wishes, Crew(cores=at_once))
        seconds[at_once] = time.perf_counter() - begun
        digests.add((demand.sheets.tobytes(), demand.cost.tobytes()))
    lines = [f"{wishes.paths * PATH_WEEKS} weeks of {rows:.0f} rows on average"]
    lines += [f"{at_once} core(s): {took:.1f} s" for at_once, took in sorted(seconds.items())]
    if alone and cores > 1:
        lines.append(f"efficiency {seconds[1] / cores / seconds[cores]:.2f}, results equal: {len(digests) == 1}")
    return "".join(f"  {line}\n" for line in lines)


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure what is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.demand", description="Simulated demand.")
    parser.add_argument("what", choices=["speed", "against"])
    parser.add_argument("--weeks", type=int, default=12)
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--alone", action="store_true", help="speed: on one core too")
    parser.add_argument("--shop", choices=[shop.name for shop in SHOPS], help="against: this shop instead of the demo's")
    parser.add_argument("--own-rack", action="store_true", help="against: each way on its own rack")
    chosen = parser.parse_args(arguments)
    if chosen.what == "speed":
        print(measured_speed(chosen.weeks, chosen.cores, alone=chosen.alone), end="")
        return 0
    if chosen.shop is None:
        history, room = demo_history()
        weeks = [tuple(row for job in jobs_of(w) for row in job) for w in history.weeks if w.rows][: chosen.weeks]
    else:
        weeks, room = shop_weeks(chosen.shop, chosen.weeks)
    print(compared(against(weeks, room, own_rack=chosen.own_rack), room), end="")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
