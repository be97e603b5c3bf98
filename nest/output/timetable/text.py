"""A timetable as a terminal shows it: what the day brings first, then loads, plates and stations."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from nest.domain.line import step_words
from nest.output.text_columns import aligned
from nest.output.timetable.clock import clock, day_words, span_words
from nest.output.words import counted, decimal, length_words, one_line

if TYPE_CHECKING:
    from collections.abc import Iterable

    from nest.domain.room import Unit
    from nest.domain.timetable import Load, Timetable

WIDTH = 100


def timetable_text(table: Timetable, unit: Unit) -> str:
    """Return a timetable as text; lengths in the room's unit."""
    parts = [
        _head(table),
        *_late(table),
        *_loads(table, unit),
        ["PLATES: when each goes in and comes out", *_matrix(table)],
        ["STATIONS", *_uses(table)],
        *([["TO KNOW", *_wrapped(table.notes)]] if table.notes else []),
    ]
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def title_words(table: Timetable) -> str:
    """Return what a timetable is of."""
    batch = f"batch {one_line(table.batch)}" if table.batch else "all plates of the plan"
    loads = f" in {counted(len(table.loads), 'drum load')}" if table.loads else ""
    return f"{batch}: {counted(len(table.plates), 'plate')}{loads}"


def proof_words(table: Timetable) -> str:
    """Return how good a timetable is proven to be."""
    if not table.gap:
        return "no timetable ends earlier"
    return (
        f"within {100 * table.gap:.1f} % of the best possible, which takes {span_words(table.bound)} or more"
    )


def _head(table: Timetable) -> list[str]:
    last = max(table.plates, key=lambda plate: plate.ready)
    use = table.uses[0]
    return [
        f"TIMETABLE of {title_words(table)}",
        f"  starts               {day_words(table, 0.0)}",
        f"  last ready to mount  {day_words(table, table.makespan)}, {last.plate}, after {span_words(table.makespan)}; "
        f"{proof_words(table)}",
        f"  bottleneck           {use.station}, in use {100 * use.share:.0f} % of that time",
    ]


def _late(table: Timetable) -> list[list[str]]:
    """Return the plates that are not ready before the batch has to be out."""
    late = table.late()
    if table.end is None or not late:
        return []
    names = ", ".join(f"{one_line(plate.plate)} ({day_words(table, plate.ready)})" for plate in late)
    text = f"{counted(len(late), 'plate')} of {len(table.plates)}: {names}"
    return [[f"READY ONLY AFTER THE BATCH'S END at {table.end:%H:%M}", *_wrapped([text])]]


def _loads(table: Timetable, unit: Unit) -> list[list[str]]:
    if not table.loads:
        return []
    minutes = sum(load.minutes for load in table.loads)
    least = "no fewer are possible" if minutes <= table.least_loads + 1e-6 else (
        f"at least {decimal(table.least_loads, 1)} min are needed"
    )
    head = f"DRUM LOADS: {decimal(minutes, 1)} min of loading and imaging, {least}; lengths in {unit.value}"
    return [[head, *_wrapped(load_words(load, unit) for load in table.loads)]]


def load_words(load: Load, unit: Unit) -> str:
    """Return a load on one line: minutes, and where each plate lies and the laser may start."""

    def told(mm: float) -> str:
        return length_words(mm, unit)

    plates = "; ".join(
        f"{one_line(one.plate)} at {told(one.axial_mm)} on the ruler"
        + (f", taped {told(one.turn_mm)} behind the clamp line" if one.turn_mm else "")
        + f", laser from {told(one.laser_axial_mm)} across / {told(one.laser_turn_mm)} around"
        for one in load.plates
    )
    slow = ", slower drum" if load.slow else ""
    return (
        f"{load.id}: {decimal(load.minutes, 1)} min, {decimal(load.ppi, 2)} ppi, {decimal(load.rpm, 1)} rpm{slow}, "
        f"{told(load.width_mm)} of the drum: {plates}"
    )


def _matrix(table: Timetable) -> list[str]:
    steps = list(dict.fromkeys(visit.step for plate in table.plates for visit in plate.visits))
    order = {step: at for at, step in enumerate(line_order(table))}
    steps.sort(key=lambda step: order[step])
    rows = [["plate", "", *(step_words(step) for step in steps)]]
    for plate in sorted(table.plates, key=lambda one: (min(visit.start for visit in one.visits), one.plate)):
        at = {visit.step: visit for visit in plate.visits}
        rows.append([one_line(plate.plate), "in", *(clock(table, at[s].start) if s in at else "-" for s in steps)])
        rows.append(["", "out", *(clock(table, at[s].end) if s in at else "-" for s in steps)])
    return ["  " + line for line in aligned(rows, right=frozenset(range(2, len(rows[0]))))]


def line_order(table: Timetable) -> list[str]:
    """Return the steps in the line's order, as the plates that pass most of them show it."""
    order: list[str] = []
    for plate in sorted(table.plates, key=lambda one: -len(one.visits)):
        at = 0
        for visit in plate.visits:
            if visit.step in order:
                at = order.index(visit.step) + 1
            else:
                order.insert(at, visit.step)
                at += 1
    return order


def _uses(table: Timetable) -> list[str]:
    rows = [
        [f"  {use.station}", f"{100 * use.share:.0f} %", f"× {use.machines}" if use.machines > 1 else ""]
        for use in table.uses
    ]
    return [line.rstrip() for line in aligned(rows, right=frozenset((1,)))]


def _wrapped(texts: Iterable[str]) -> list[str]:
    return [
        line for text in texts for line in textwrap.wrap(text, WIDTH, initial_indent="  ", subsequent_indent="    ")
    ]
