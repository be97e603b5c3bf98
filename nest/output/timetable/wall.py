"""The two charts of a timetable for the wall: a row for each plate, and a row for each machine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.line import IMAGING, step_words
from nest.output.timetable.chart import Bar, Chart, Row, charts, key_words
from nest.output.timetable.clock import clock, day_words, span_words
from nest.output.timetable.text import line_order, proof_words, title_words
from nest.output.words import one_line

if TYPE_CHECKING:
    from nest.domain.room import Paper
    from nest.domain.timetable import PlateTimes, Timetable, Visit

CAUTION = (
    "Times are planned, not measured. UV lamps, lasers, solvents and uncured polymer can harm: follow local codes, the "
    "material's own data sheet and the machines' manuals."
)
OPERATORS = "operators"


def plates_chart(table: Timetable, paper: Paper) -> tuple[str, ...]:
    """Return the pages of the chart with a row for each plate, those that begin first on top."""
    steps = _steps(table)
    rows = tuple(
        Row(
            name=f"{plate.plate}  {plate.material}",
            bars=tuple(_bar(table, visit, steps, plate) for visit in plate.visits),
            end=clock(table, plate.ready),
        )
        for plate in sorted(table.plates, key=_first)
    )
    return charts(table, _chart(table, f"TIMETABLE by plate, {title_words(table)}", rows, steps), paper)


def stations_chart(table: Timetable, paper: Paper) -> tuple[str, ...]:
    """Return the pages of the chart with a row for each machine, or for each plate in it at once, and the operators."""
    steps = _steps(table)
    places = dict.fromkeys(visit.station for step in steps for plate in table.plates for visit in plate.visits
                           if visit.step == step)  # fmt: skip
    rows: list[Row] = []
    for place in places:
        machines = sorted({visit.machine for _, visit in _visits(table) if visit.station == place})
        for machine in machines:
            lanes = _lanes([one for one in _stays(table, steps) if one[0] == (place, machine)])
            name = f"{place} {machine}" if len(machines) > 1 else place
            rows += [Row(name=name if not n else "", bars=bars, bold=True) for n, bars in enumerate(lanes)]
    tended = _lanes(_tended(table, steps))
    rows += [Row(name=OPERATORS if not n else "", bars=bars, bold=True) for n, bars in enumerate(tended)]
    return charts(table, _chart(table, f"TIMETABLE by station, {title_words(table)}", tuple(rows), steps), paper)


def _chart(table: Timetable, title: str, rows: tuple[Row, ...], steps: dict[str, int]) -> Chart:
    at = {visit.step: visit.station for _, visit in _visits(table)}
    use = table.uses[0]
    about = (
        f"From {day_words(table, 0.0)}; last ready to mount {day_words(table, table.makespan)}, after "
        f"{span_words(table.makespan)}; {proof_words(table)}. Bottleneck: {use.station}, in use "
        f"{100 * use.share:.0f} %."
    )
    return Chart(
        title=title, about=about, rows=rows, steps=tuple(key_words(step, at[step]) for step in steps), foot=(CAUTION,)
    )


def _steps(table: Timetable) -> dict[str, int]:
    return {step: n for n, step in enumerate(line_order(table), 1)}


def _first(plate: PlateTimes) -> tuple[float, float, str]:
    starts = [visit.start for visit in plate.visits]
    return min(starts), plate.ready, plate.plate


def _visits(table: Timetable) -> list[tuple[PlateTimes, Visit]]:
    return [(plate, visit) for plate in table.plates for visit in plate.visits]


def _bar(table: Timetable, visit: Visit, steps: dict[str, int], plate: PlateTimes, words: str = "") -> Bar:
    times = f"{clock(table, visit.start)} to {clock(table, visit.end)}"
    told = f"{one_line(plate.plate)}: {step_words(visit.step)}, {times}"
    return Bar(start=visit.start, end=visit.end, step=steps[visit.step], words=words, about=told)


def _stays(table: Timetable, steps: dict[str, int]) -> list[tuple[tuple[str, int], Bar]]:
    """Return what is in each machine: a bar for each plate, or for all that go in and come out together."""
    found: dict[tuple[str, int, float, tuple[str, ...]], tuple[tuple[str, int], Bar]] = {}
    for plate, visit in _visits(table):
        names = tuple(sorted((plate.plate, *visit.company)))
        words = names[0] if len(names) == 1 else f"{names[0]} +{len(names) - 1}"
        if visit.step == IMAGING and plate.load:
            words = plate.load
        key = (visit.station, visit.machine, visit.start, names)
        bar = _bar(table, visit, steps, plate, one_line(words))
        found.setdefault(key, ((visit.station, visit.machine), bar))
    return list(found.values())


def _tended(table: Timetable, steps: dict[str, int]) -> list[tuple[tuple[str, int], Bar]]:
    """Return when operators are needed, once for plates that are tended together."""
    spans = {
        (start, end, visit.station, visit.machine, tuple(sorted((plate.plate, *visit.company)))): (plate, visit)
        for plate, visit in _visits(table) for start, end in visit.tended
    }  # fmt: skip
    return [
        (("", 0), Bar(start=start, end=end, step=steps[visit.step], words="",
                      about=f"{one_line(plate.plate)}: operator at {visit.station}"))
        for (start, end, *_), (plate, visit) in sorted(spans.items(), key=lambda one: one[0])
    ]  # fmt: skip


def _lanes(stays: list[tuple[tuple[str, int], Bar]]) -> list[tuple[Bar, ...]]:
    """Return bars in as few rows as they overlap at most."""
    lanes: list[list[Bar]] = []
    for _, bar in sorted(stays, key=lambda one: (one[1].start, one[1].end, one[1].words)):
        free = next((lane for lane in lanes if lane[-1].end <= bar.start + 1e-6), None)
        if free is None:
            lanes.append([bar])
        else:
            free.append(bar)
    return [tuple(lane) for lane in lanes]
