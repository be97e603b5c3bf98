"""A card for each plate of a batch, to go with it through the line: one page of A5 each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.domain.line import BACK, IMAGING, step_words
from nest.domain.room import Unit
from nest.output.lengths import lengths_of
from nest.output.pages.shell import page
from nest.output.timetable.clock import clock, day_words
from nest.output.timetable.text import title_words
from nest.output.words import EDGE_WORDS, decimal, one_line
from nest.plates.weight import HEAVY_KG, plate_kilos
from nest.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from nest.domain.job import Row, RowKey
    from nest.domain.plan import Plan, PlannedPlate, PlannedSheet
    from nest.domain.room import Room
    from nest.domain.timetable import Load, PlateTimes, Timetable
    from nest.output.lengths import Lengths

CAUTIONS = (
    "Imager: laser and drum run behind closed, interlocked covers; never bypass them. A loose plate can strike the "
    "laser head: tape every edge.",
    "Uncured polymer harms skin: gloves, no bare contact, wash. Solvent and its waste: ventilation, no sparks, "
    "approved containers.",
    "UV lamps harm eyes and skin and may make ozone: covers closed, extraction on.",
    "Times and targets are this room's settings. Local codes, the material's own data sheet, the machines' manuals and "
    "the room's qualified safety person come first.",
)
HEAVY = "Two people lift this plate."
MOST_COMPANY = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class CardStep:
    """A line of a card's steps."""

    name: str
    station: str
    enters: str
    leaves: str
    minutes: str
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateCard:
    """Everything a card shows, in words; ``fields`` are heads with their words."""

    plate: str
    across: str
    around: str
    unit: str
    fields: tuple[tuple[str, str], ...]
    heavy: str
    steps: tuple[CardStep, ...]
    ready: str


def plate_cards(table: Timetable, plan: Plan, room: Room, rows: Sequence[Row], key: str) -> str:
    """Return the cards of a batch as one HTML page that fetches nothing; ``key`` names the plan."""
    made = {plate.id: (plate, sheet) for sheet in plan.sheets for plate in sheet.plates}
    loads = {load.id: load for load in table.loads}
    by_key = {row.key: row for row in rows}
    cards = [
        _card(table, times, made[times.plate], room, by_key, loads.get(times.load))
        for times in sorted(table.plates, key=lambda one: (min(visit.start for visit in one.visits), one.plate))
    ]
    return page(
        "cards.html", ("cards.css",), title=f"Plate cards, {title_words(table)}", key=key, cards=cards,
        batch=table.batch, cautions=CAUTIONS,
    )  # fmt: skip


def _card(
    table: Timetable, times: PlateTimes, made: tuple[PlannedPlate, PlannedSheet], room: Room,
    rows: Mapping[RowKey, Row], load: Load | None,
) -> PlateCard:  # fmt: skip
    plate, sheet = made
    told = lengths_of(room)
    material = room.materials[sheet.material]
    kilos = plate_kilos(plate.rect.w * plate.rect.h / 1e6, material.thickness_mm, material.base_mm)
    jobs = ", ".join(dict.fromkeys(one_line(piece.job) for piece in plate.pieces))
    back = next((visit for visit in times.visits if visit.step == BACK), None)
    seconds = "not done here" if back is None else f"{decimal(60 * (back.end - back.start), 1)} s"
    fields = [
        ("Plate", f"{plate.id} of {sheet.source.kind.value} {sheet.source.ref}, for {plate.group or 'usual'}"),
        ("Material", f"{sheet.material}, {told.told(material.thickness_mm)} thick; lot {sheet.lot or 'not stated'}, "
                     f"use by {sheet.expiry or 'not stated'}"),
        ("Jobs", jobs or "none"),
        ("Target", f"{_floor(plate, sheet, room, rows, told)}; back exposure {seconds}"),
        ("Lead edge", f"{EDGE_WORDS[plate.lead]} of the sheet, seen from the print side"),
        *_on_drum(times, load, told),
        ("Weight", f"about {kilos:.1f} kg"),
    ]  # fmt: skip
    return PlateCard(
        plate=plate.id, across=told.words(plate.across_mm), around=told.words(plate.around_mm), unit=told.unit.value,
        fields=tuple(fields), heavy=HEAVY if kilos >= HEAVY_KG else "",
        steps=tuple(_steps(table, times)), ready=day_words(table, times.ready),
    )  # fmt: skip


def _floor(
    plate: PlannedPlate, sheet: PlannedSheet, room: Room, rows: Mapping[RowKey, Row], told: Lengths
) -> str:
    """Return floor and relief aimed at: relief = thickness − floor."""
    material = room.materials[sheet.material]
    reliefs = [rows[piece.row].relief for piece in plate.pieces if piece.row in rows]
    relief = next((one for one in reliefs if isinstance(one, float)), material.relief)
    if relief is None:
        return "floor and relief as usual for the material (not stated)"
    relief_mm = relief * (MM_PER_INCH if room.unit is Unit.INCH else 1.0)
    return f"floor {told.told(material.thickness_mm - relief_mm)}, relief {told.told(relief_mm)}"


def _on_drum(times: PlateTimes, load: Load | None, told: Lengths) -> list[tuple[str, str]]:
    """Return where the plate lies on the drum, where the laser may start, and what lies beside it."""
    if load is None:
        return []
    own = next(one for one in load.plates if one.plate == times.plate)
    taped = f"lead edge taped {told.told(own.turn_mm)} behind the clamp line"
    held = taped if own.turn_mm else "lead edge in the clamp"
    beside = [one for one in load.plates if one.plate != times.plate]
    words = ", ".join(f"{one.plate} at {told.words(one.axial_mm)}" for one in beside)
    return [
        ("Drum load", f"{load.id}, {decimal(load.ppi, 2)} ppi, {decimal(load.rpm, 1)} rpm"
                      f"{' (slower drum)' if load.slow else ''}, with {words or 'no other plate'}"),
        ("Place", f"left edge at {told.told(own.axial_mm)} on the clamp's ruler, {held}"),
        ("Laser start", f"at {told.told(own.laser_axial_mm)} on the ruler and {told.told(own.laser_turn_mm)} from the "
                        f"clamp line: behind clamp, tape and trim"),
    ]  # fmt: skip


def _steps(table: Timetable, times: PlateTimes) -> list[CardStep]:
    steps = []
    for visit in times.visits:
        company = list(visit.company)
        more = f" and {len(company) - MOST_COMPANY} more" if len(company) > MOST_COMPANY else ""
        machine = len({one.machine for plate in table.plates for one in plate.visits if one.station == visit.station})
        label = f"load {times.load}" if visit.step == IMAGING else f"with {', '.join(company[:MOST_COMPANY])}{more}"
        steps.append(CardStep(
            name=step_words(visit.step),
            station=f"{visit.station} {visit.machine}" if machine > 1 else visit.station,
            enters=clock(table, visit.start),
            leaves=clock(table, visit.end),
            minutes=decimal(visit.end - visit.start, 1),
            told=label if company or visit.step == IMAGING else "",
        ))  # fmt: skip
    return steps
