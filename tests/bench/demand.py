"""The simulation of demand: how fast, how well it shares the cores, how near it comes to the whole engine.

    python -m tests.bench.demand speed --weeks 1000 --cores 2 --alone
    python -m tests.bench.demand against --weeks 16

``speed`` simulates weeks of about 60 rows of the invented plate room of `nest demo`, on so many cores and, with
``--alone``, on one core too; efficiency is the time on one core over cores times the time on all. ``against`` nests
weeks that the history does not hold twice, by the short search and by the whole engine with its usual work: from the
same rack week by week, or with ``--own-rack`` each on a rack of its own. It tells what the short search draws more, and
what is left of that when its figures are corrected as the simulation corrects them, from the history alone.
"""

from __future__ import annotations

import argparse
import os
import time
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import numpy as np

from nest.buying.crew import Crew
from nest.buying.demand import sizes_of
from nest.buying.demo_history import FIRST_WEEK, week_files
from nest.buying.nesting import Drawn, Storeroom
from nest.buying.past import WEEK, History, PastWeek, Wishes
from nest.buying.paths import learnt_ratios, simulate
from nest.intake.week import read_week
from nest.pipeline import Effort
from tests.bench.invented import SHOPS, jobs_file, room_file

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.buying.checks import Ratios
    from nest.buying.resample import Rows
    from nest.domain.room import Room

ROWS, JOBS_FOR_ROWS = 60, 24.5
PATH_WEEKS = 10


def week_rows(texts: Sequence[str], room_text: str) -> tuple[list[Rows], Room]:
    """Return the rows of jobs files, and the room without offcuts."""
    out: list[Rows] = []
    with TemporaryDirectory() as name:
        jobs, room_path = Path(name) / "jobs.csv", Path(name) / "room.toml"
        room_path.write_text(room_text, encoding="utf-8")
        for text in texts:
            jobs.write_text(text, encoding="utf-8")
            rows, room = read_week(jobs, room_path)
            out.append(rows)
    return out, replace(room, offcuts=())


def demo_weeks(seed: int) -> tuple[list[Rows], Room]:
    """Return 25 weeks of about 60 rows of the demo's plate room."""
    room_text = (resources.files("nest") / "demo_week" / "room.toml").read_text(encoding="utf-8")
    return week_rows(list(week_files(seed=seed, jobs_a_week=JOBS_FOR_ROWS).values()), room_text)


def shop_weeks(name: str, first: int) -> tuple[list[Rows], Room]:
    """Return 25 weeks of 60 rows of one of the invented shops: sizes drawn anew for every job."""
    shop = replace(next(one for one in SHOPS if one.name == name), on_hand=None, offcuts=0)
    texts = []
    for seed in range(first, first + 25):
        lines = jobs_file(shop, 4 * ROWS, np.random.default_rng([5, seed])).splitlines()[: ROWS + 1]
        texts.append("\n".join(lines) + "\n")
    return week_rows(texts, room_file(shop, np.random.default_rng(0)))


def weeks_of(shop: str | None, *, held_out: bool) -> tuple[list[Rows], Room]:
    """Return weeks for the history, or others of the same kind that it does not hold."""
    return demo_weeks(8 if held_out else 7) if shop is None else shop_weeks(shop, 100 if held_out else 0)


def history_of(weeks: Sequence[Rows]) -> History:
    """Return weeks as a history."""
    return History(weeks=tuple(PastWeek(monday=FIRST_WEEK + n * WEEK, rows=rows) for n, rows in enumerate(weeks)))


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
    whole, fast = Storeroom(room, sizes, 26, None), Storeroom(room, sizes, 26, None)
    out = []
    for number, rows in enumerate(weeks):
        if not own_rack:
            fast.rack = list(whole.rack)
        begun = time.process_time()
        quick = fast.nest(rows, number, number)
        middle = time.process_time()
        slow = whole.nest(rows, number, number, effort=Effort.NORMAL)
        seconds = (middle - begun, time.process_time() - middle)
        out.append(Pair(rows=len(rows), fast=quick, whole=slow, seconds=seconds))
        print(f"  week {number + 1}: {len(rows)} rows, {sum(quick.sheets)} sheets fast {quick.sheets}, "
              f"{sum(slow.sheets)} whole {slow.sheets}; cost {quick.cost:.2f}, {slow.cost:.2f}; "
              f"{seconds[0]:.2f} s, {seconds[1]:.1f} s", flush=True)  # fmt: skip
    return out


def compared(pairs: Sequence[Pair], room: Room, ratios: Ratios) -> str:
    """Return how much more the fast mode draws, as text."""
    sizes = sizes_of(room)
    counts = [np.array([getattr(pair, way).sheets for pair in pairs]) for way in ("fast", "whole")]
    areas = np.array([size.across_mm * size.around_mm / 1e6 for size in sizes])
    counts.insert(1, counts[0] * np.array(ratios.sheets))
    fast, right, whole = (c.sum(axis=0) for c in counts)
    seconds = [np.mean([pair.seconds[way] for pair in pairs]) for way in range(2)]
    lines = [
        f"corrected by {ratios.weeks} weeks of the history: {', '.join(f'{ratio:.3f}' for ratio in ratios.sheets)}, "
        f"area used {ratios.used:.3f}",
        *(f"{size.label}: {fast[n]} short, {right[n]:.1f} corrected, {whole[n]} whole" for n, size in enumerate(sizes)),
        f"sheets {fast.sum()} short, {right.sum():.1f} corrected, {whole.sum()} whole: "
        f"{fast.sum() / whole.sum() - 1:+.1%} short, {right.sum() / whole.sum() - 1:+.1%} corrected",
        f"area of new sheets {fast @ areas / (whole @ areas) - 1:+.1%} short, "
        f"{right @ areas / (whole @ areas) - 1:+.1%} corrected",
        *(f"{name} {_more(pairs, name):+.1%} short, {(1 + _more(pairs, name)) * ratio - 1:+.1%} corrected"
          for name, ratio in (("cost", ratios.cost), ("used_m2", ratios.used))),
        f"seconds of the processor a week: {seconds[0]:.2f} short, {seconds[1]:.1f} whole",
    ]  # fmt: skip
    return "".join(f"  {line}\n" for line in lines)


def _more(pairs: Sequence[Pair], name: str) -> float:
    return float(sum(getattr(p.fast, name) for p in pairs) / sum(getattr(p.whole, name) for p in pairs) - 1)


def measured_speed(weeks: int, cores: int, *, alone: bool) -> str:
    """Return how long so many simulated weeks take."""
    weeks_past, room = weeks_of(None, held_out=False)
    history = history_of(weeks_past)
    wishes = Wishes(weeks=PATH_WEEKS, paths=weeks // PATH_WEEKS)
    rows = np.mean([len(week.rows) for week in history.weeks])
    seconds, digests = {}, set()
    for at_once in [cores, 1] if alone and cores > 1 else [cores]:
        begun, spent = time.perf_counter(), processor_seconds()
        demand = simulate(history, room, wishes, Crew(cores=at_once))
        seconds[at_once] = (time.perf_counter() - begun, processor_seconds() - spent)
        digests.add((demand.sheets.tobytes(), demand.cost.tobytes()))
    lines = [f"{wishes.paths * PATH_WEEKS} weeks of {rows:.0f} rows on average, {wishes.checks} of them checked"]
    lines += [f"{at_once} core(s): {took:.1f} s, {spent:.1f} s of the processor; load {os.getloadavg()[0]:.1f}"
              for at_once, (took, spent) in sorted(seconds.items())]  # fmt: skip
    if len(seconds) > 1:
        lines.append(f"efficiency {seconds[1][0] / cores / seconds[cores][0]:.2f}, by processor time "
                     f"{seconds[1][1] / seconds[cores][1]:.2f}; results equal: {len(digests) == 1}")  # fmt: skip
    return "".join(f"  {line}\n" for line in lines)


def processor_seconds() -> float:
    """Return the processor time of this process and of its children that have ended."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure what is asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.demand", description="Simulated demand.")
    parser.add_argument("what", choices=["speed", "against"])
    parser.add_argument("--weeks", type=int, default=12)
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--alone", action="store_true", help="speed: on one core too")
    parser.add_argument("--shop", choices=[shop.name for shop in SHOPS], help="against: this shop, not the demo's")
    parser.add_argument("--own-rack", action="store_true", help="against: each way on its own rack")
    chosen = parser.parse_args(arguments)
    if chosen.what == "speed":
        print(measured_speed(chosen.weeks, chosen.cores, alone=chosen.alone), end="")
        return 0
    past, room = weeks_of(chosen.shop, held_out=False)
    ratios = learnt_ratios(history_of(past), room, Wishes(), Crew(cores=chosen.cores))
    weeks, _ = weeks_of(chosen.shop, held_out=True)
    print(compared(against(weeks[: chosen.weeks], room, own_rack=chosen.own_rack), room, ratios), end="")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
