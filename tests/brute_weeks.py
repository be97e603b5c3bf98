"""Random weeks of an invented plate room, small enough to be enumerated completely by ``brute``.

Two kinds, for which ``brute`` is exact to the cent:

- *lattice* weeks: every length is a multiple of 20 mm, so areas are multiples of 0.0004 m2; every rate is a multiple of
  25 per m2, so every process cost and credit is whole cents; kept rests earn the full rate. Up to two kept rests.
- *one-rest* weeks: lengths in tenths of a mm, shortening, credits that grow with the short side, at most one kept rest
  and no process rate.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import TYPE_CHECKING

from nest.domain.job import Row, Turn
from nest.domain.room import Costs, Cutting, Imager, Material, Offcut, Room, Sheet, Station

if TYPE_CHECKING:
    from collections.abc import Callable

STEP_MM = 20
PIECES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """A week of at most six pieces and the room that plans it."""

    name: str
    rows: tuple[Row, ...]
    room: Room


def week(seed: int, pieces: int = PIECES) -> Week:
    """Return the random week of a seed, always the same: even seeds guillotine, odd seeds free cutting."""
    draw = Random(seed)
    cutting = Cutting.FREE if seed % 2 else Cutting.GUILLOTINE
    lattice = seed % 4 < 2
    length = _on_lattice(draw) if lattice else _tenths(draw)
    room = _lattice_room(draw, cutting, length) if lattice else _one_rest_room(draw, cutting, length)
    rows = _rows(draw, length, draw.randint(2, pieces), lattice)
    return Week(name=f"{seed} {'lattice' if lattice else 'one-rest'} {cutting}", rows=rows, room=room)


def _on_lattice(draw: Random) -> Callable[[float, float], float]:
    return lambda low, high: float(STEP_MM * draw.randint(round(low / STEP_MM), round(high / STEP_MM)))


def _tenths(draw: Random) -> Callable[[float, float], float]:
    return lambda low, high: round(draw.uniform(low, high), 1)


def _rows(draw: Random, length: Callable[[float, float], float], count: int, lattice: bool) -> tuple[Row, ...]:
    """Return rows of jobs that share a turning policy, with so many pieces in all."""
    rows: list[Row] = []
    left, job = count, 0
    while left:
        job += 1
        turn = draw.choices(list(Turn), weights=(5, 3, 1, 1))[0]
        relief = draw.choice(("", "", 0.5))
        for colour in range(draw.randint(1, min(3, left))):
            copies = draw.choice((1, 1, 1, min(2, left)))
            size = length(120, 520), length(120, 620)
            repeat = None if lattice or draw.random() < 0.3 else size[1] + draw.choice((15.0, 120.5))
            rows.append(
                Row(job=str(2400 + job), separation=f"Colour {colour + 1}", material="PM170", image_across_mm=size[0],
                    image_around_mm=size[1], repeat_mm=repeat, copies=copies, turn=turn, relief=relief,
                    alone=draw.random() < 0.05, apart=draw.random() < 0.05, line=len(rows) + 2)
            )
            left -= copies
            if not left:
                break
    return tuple(rows)


def _imager(draw: Random, length: Callable[[float, float], float], hold: float) -> Imager:
    """Return an imager that often can't take the largest sheets whole."""
    return Imager(
        max_across_mm=length(800, 1300), max_around_mm=length(700, 1100), min_across_mm=draw.choice((0.0, 200.0)),
        min_around_mm=draw.choice((0.0, 300.0)), clamp_mm=draw.choice((0.0, 2 * hold)),
        drum_tape_mm=draw.choice((0.0, hold)), trim_mm=draw.choice((0.0, hold)), border_under_hold=draw.random() < 0.2,
    )


def _stations(draw: Random, length: Callable[[float, float], float], hold: float) -> tuple[Station, ...]:
    if draw.random() < 0.6:
        return ()
    return (
        Station(name="washer", max_a_mm=length(700, 1000), max_b_mm=draw.choice((None, length(800, 1300))),
                min_a_mm=draw.choice((0.0, 160.0)), min_b_mm=draw.choice((0.0, 240.0)),
                bar_mm=draw.choice((0.0, hold))),
    )


def _stock(
    draw: Random, length: Callable[[float, float], float], rates: tuple[float, ...]
) -> tuple[tuple[Sheet, ...], tuple[Offcut, ...]]:
    """Return two sheet sizes, one of them often short, and one offcut; ``rates`` are prices per m2."""
    sheets = []
    for name, low, high in (("small", 500, 800), ("large", 700, 1200)):
        across, around = length(low, high), length(low, high)
        price = round(draw.choice(rates) * across * around / 1e6, 2)
        on_hand, keep_back = draw.choice((None, None, 1, 2, 3)), draw.choice((0, 0, 1))
        sheets.append(
            Sheet(id=f"PM170 {name}", material="PM170", across_mm=across, around_mm=around, price=price,
                  on_hand=on_hand, keep_back=keep_back if on_hand else 0)
        )
    across, around = length(300, 600), length(300, 700)
    value = round(draw.choice((25.0, 50.0)) * across * around / 1e6, 2)
    relief = draw.choice((None, None, 0.5))
    offcut = Offcut(id="R-0007", material="PM170", across_mm=across, around_mm=around, value=value, relief=relief)
    return tuple(sheets), (offcut,)


def _room(
    draw: Random, cutting: Cutting, length: Callable[[float, float], float], hold: float, costs: Costs,
    rates: tuple[float, ...],
) -> Room:
    sheets, offcuts = _stock(draw, length, rates)
    gap = draw.choice((0.0, hold)) if cutting is Cutting.FREE else 0.0
    return Room(
        cutting=cutting, gap_mm=gap, border_mm=draw.choice((0.0, hold)), imager=_imager(draw, length, hold),
        stations=_stations(draw, length, hold),
        materials={"PM170": Material(name="PM170", thickness_mm=1.7, base_mm=0.125)},
        sheets=sheets, offcuts=offcuts, costs=costs,
    )


def _lattice_room(draw: Random, cutting: Cutting, length: Callable[[float, float], float]) -> Room:
    value = draw.choice((0.0, 0.5, 0.5, 1.0))
    costs = Costs(
        plate=draw.choice((0.0, 6.0, 12.0)), process_per_m2=draw.choice((0.0, 25.0)), cut=draw.choice((0.5, 1.5)),
        offcut_value=value, offcut_handling=draw.choice((0.0, 2.0)), offcut_full_side_mm=draw.choice((0.0, 200.0)),
        offcut_min_side_mm=draw.choice((200.0, 240.0)), offcut_min_area_m2=draw.choice((0.0, 0.04)),
        offcuts_per_sheet=draw.choice((0, 1, 2, 2)), raw_min_strip_mm=draw.choice((0.0, 40.0, 100.0)),
        raw_parts_max=draw.choice((3, 3, 4)),
    )
    return _room(draw, cutting, length, float(STEP_MM), costs, (50.0, 100.0) if value == 0.5 else (50.0, 75.0, 100.0))


def _one_rest_room(draw: Random, cutting: Cutting, length: Callable[[float, float], float]) -> Room:
    costs = Costs(
        plate=draw.choice((3.0, 6.5, 12.0)), cut=draw.choice((0.5, 1.5)), offcut_value=draw.choice((0.0, 0.4, 0.7)),
        offcut_handling=draw.choice((0.0, 2.0)), offcut_full_side_mm=draw.choice((0.0, 400.0)),
        offcut_min_side_mm=draw.choice((0.0, 150.0, 250.0)), offcut_min_area_m2=draw.choice((0.0, 0.12)),
        offcuts_per_sheet=draw.choice((0, 1, 1)), raw_min_strip_mm=draw.choice((0.0, 50.0)),
        raw_parts_max=draw.choice((3, 3, 4)),
    )
    return _room(draw, cutting, length, 8.5, costs, (62.0, 77.3, 80.0))
