"""Rules that join several parts of the room: bevel and cutting, holds and limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.room import Cutting
from nest.intake.faults import quoted
from nest.intake.keys import LONGEST_MM
from nest.intake.line import check_line
from nest.units import plain

if TYPE_CHECKING:
    from nest.domain.room import Room
    from nest.intake.keys import Keys

UNLIMITED = float("inf")


def check_room(room: Room, keys: Keys) -> None:
    """Note what no plate of this room could comply with; ``keys`` is the file's top table."""
    _check_bevel(room, keys)
    _check_reliefs(room, keys)
    _check_usable(room, keys)
    _check_minutes(room, keys)
    check_line(room, keys)


def _check_bevel(room: Room, keys: Keys) -> None:
    """Bevelled pieces cannot share the one cut of a guillotine (design, section 3)."""
    if room.cutting is not Cutting.GUILLOTINE:
        return
    remedy = 'set bevel_deg to 0, or cutting to "free"'
    rule = "guillotine cutting leaves no bevel"
    usual = [name for name, material in room.materials.items() if material.bevel_deg is None]
    if room.bevel_deg > 0 and usual:
        keys.note("bevel_deg", rule=rule, got=plain(room.bevel_deg), remedy=remedy)
    for name, material in room.materials.items():
        if material.bevel_deg:
            keys.note_at(("materials", name, "bevel_deg"), rule=rule, got=plain(material.bevel_deg), remedy=remedy)


def _check_reliefs(room: Room, keys: Keys) -> None:
    entries = keys.table.get("offcuts")
    for n, entry in enumerate(entries if isinstance(entries, list) else ()):
        if not isinstance(entry, dict):
            continue
        relief, known = entry.get("relief"), room.materials.get(str(entry.get("material")))
        if known is None or not isinstance(relief, int | float) or relief > LONGEST_MM:
            continue
        if relief * float(keys.scale) >= known.thickness_mm:
            keys.note_at(
                ("offcuts", n, "relief"),
                rule=f"must be less than the thickness of {known.name}",
                got=quoted(relief),
                remedy="relief is thickness less floor, in the room's unit",
            )


def _check_minutes(room: Room, keys: Keys) -> None:
    """Minutes of a batch are only known where the room says how fast its imager is."""
    calendar = room.calendar
    if calendar is None or (room.imager.rpm is not None and room.imager.beams is not None):
        return
    stated = [("shifts", n, shift.minutes) for n, shift in enumerate(calendar.shifts)]
    stated += [("changes", n, change.minutes) for n, change in enumerate(calendar.changes)]
    for kind, n, minutes in stated:
        if minutes is not None:
            keys.note_at(("calendar", kind, n, "minutes"), rule="minutes of the imager need rpm and beams",
                         got=plain(minutes), remedy="give both in [imager], or limit the plates")


def _check_usable(room: Room, keys: Keys) -> None:
    """Note holds and limits that leave no plate with any image area, by the smallest plate that has some."""
    imager = room.imager
    bars = [station.bar_mm for station in room.stations]
    lead_hold, side_hold = max([imager.clamp_mm, *bars]), imager.drum_tape_mm
    if imager.border_under_hold:
        lead_hold = side_hold = 0.0
    trim = min((room.trim_of(name) for name in room.materials), default=imager.trim_mm)
    lead, side = max(trim, lead_hold), max(trim, side_hold)
    across, around = 2 * side, lead + side
    if across >= imager.max_across_mm or around >= imager.max_around_mm:
        wide = across >= imager.max_across_mm
        axis, most = ("across", imager.max_across_mm) if wide else ("around", imager.max_around_mm)
        keys.note_at(
            ("imager", f"max_{axis}"),
            rule="the keep-outs leave no image area on the largest plate",
            got=plain(most / float(keys.scale)),
            remedy="check clamp, bar, drum_tape and trim against it",
        )
        return
    least = sorted((max(across, imager.min_across_mm), max(around, imager.min_around_mm)))
    for station in room.stations:
        limits = sorted(UNLIMITED if limit is None else limit for limit in (station.max_a_mm, station.max_b_mm))
        if least[0] > limits[0] or least[1] > limits[1]:
            keys.note_at(
                ("stations", station.name),
                rule="takes no plate that the imager can make, or none with any image area",
                remedy="check max_a and max_b against min_across, min_around and the keep-outs",
            )
