"""The parts of the room file: imager, stations, materials, stock and rates, each from its own table."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from nest.domain.room import (
    USUAL_COUNTS,
    Costs,
    Datum,
    Guides,
    Imager,
    Material,
    Offcut,
    Paper,
    Ruler,
    Sheet,
    Sides,
    Station,
    Unit,
)
from nest.intake.faults import offer, quoted
from nest.intake.keys import MOST_MONEY, dotted, text_rule
from nest.intake.line import MOST_MINUTES, read_back_exposures, read_material_times
from nest.intake.room_buying import read_terms
from nest.units import M2_PER_SQFT, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from nest.intake.keys import Keys

MAX_BEVEL_DEG = 75.0
MAX_THICKNESS_MM = 200.0
MAX_RPM = 100_000.0
MAX_PPI = 100_000.0
MAX_MACHINES = 1000
MAX_ELAPSED_HOURS = 24 * 30.0
FRACTIONS = (0, 8, 16, 32, 64)
"""Smallest fractions of an inch that rulers carry; 0 for decimals."""


def read_imager(keys: Keys) -> Imager | None:
    """Return the imager, or None after noting that a required key is missing or wrong."""
    across, around = keys.length("max_across", above=True, required=True), keys.length(
        "max_around", above=True, required=True
    )
    least_across, least_around = keys.length_or("min_across", 0.0), keys.length_or("min_around", 0.0)
    rpm = keys.number("rpm", above=True, most=MAX_RPM)
    rest = {name: keys.length_or(name, 0.0) for name in ("clamp", "drum_tape", "trim")}
    beams, under = keys.count("beams", least=1), keys.flag("border_under_hold", False)
    loads = _read_loads(keys, rpm)
    keys.finish()
    for axis, least, most in (("across", least_across, across), ("around", least_around, around)):
        if most is not None and least > most:
            keys.note(f"min_{axis}", rule=f"must be at most max_{axis} ({quoted(keys.table[f'max_{axis}'])})",
                      got=quoted(keys.table[f"min_{axis}"]), remedy="correct one of the two")
    if across is None or around is None:
        return None
    return Imager(
        max_across_mm=across,
        max_around_mm=around,
        min_across_mm=least_across,
        min_around_mm=least_around,
        clamp_mm=rest["clamp"],
        drum_tape_mm=rest["drum_tape"],
        trim_mm=rest["trim"],
        rpm=rpm,
        beams=beams,
        border_under_hold=under,
        **loads,
    )


def _read_loads(keys: Keys, rpm: float | None) -> dict[str, Any]:
    """Return how plates share the drum and how fast it turns, as fields of the imager."""
    ppi = keys.number("resolution", above=True, most=MAX_PPI)
    slow = keys.number("slow_rpm", above=True, most=MAX_RPM)
    if slow is not None and rpm is not None and slow > rpm:
        keys.note("slow_rpm", rule=f"must be at most rpm ({quoted(keys.table['rpm'])})",
                  got=quoted(keys.table["slow_rpm"]), remedy="correct one of the two")
    if slow is None and "slow_rpm" not in keys:
        for key in ("slow_cover", "slow_thickness"):
            if key in keys:
                keys.note(key, rule="says when the drum runs at slow_rpm, which is missing",
                          got=quoted(keys.table[key]), remedy="add slow_rpm")
    usual: dict[str, Any] = {field.name: field.default for field in fields(Imager)}
    return {
        "resolution": usual["resolution"] if ppi is None else ppi,
        "load_gap_mm": keys.length_or("load_gap", usual["load_gap_mm"]),
        "load_minutes": keys.number_or("load_minutes", usual["load_minutes"], most=MOST_MINUTES),
        "share_turn": keys.flag("share_turn", usual["share_turn"]),
        "slow_rpm": slow,
        "slow_cover": keys.number_or("slow_cover", usual["slow_cover"], most=1.0),
        "slow_thickness_mm": keys.length("slow_thickness", above=True),
    }


def read_stations(keys: Keys) -> tuple[Station, ...]:
    """Return the stations in file order."""
    stations = []
    for name in keys.table:
        own = _named(keys, name)
        if own is None:
            continue
        station = Station(
            name=name,
            max_a_mm=own.length("max_a", above=True),
            max_b_mm=own.length("max_b", above=True),
            min_a_mm=own.length_or("min_a", 0.0),
            min_b_mm=own.length_or("min_b", 0.0),
            bar_mm=own.length_or("bar", 0.0),
            count=own.count("count", least=1, most=MAX_MACHINES) or USUAL_COUNTS.get(name, 1),
            places=own.count("places", least=1, most=MAX_MACHINES) or 1,
            start_together=own.flag("start_together", False),
        )
        own.finish()
        most = sorted((_unlimited(station.max_a_mm), _unlimited(station.max_b_mm)))
        least = sorted((station.min_a_mm, station.min_b_mm))
        if least[0] > most[0] or least[1] > most[1]:
            own.note(None, rule="no plate passes: the least sizes are larger than the largest in either turn",
                     remedy="correct min_a, min_b, max_a or max_b")
        stations.append(station)
    return tuple(stations)


def _unlimited(value: float | None) -> float:
    return float("inf") if value is None else value


def read_materials(keys: Keys) -> dict[str, Material]:
    """Return the materials by name; those at fault are left out."""
    materials = {}
    for name in keys.table:
        own = _named(keys, name)
        if own is None:
            continue
        thickness = own.length("thickness", above=True, required=True)
        base, k = own.length("base"), own.length("k")
        overrides = {key: own.length(key) for key in ("gap", "border", "trim")}
        bevel = own.number("bevel_deg", most=MAX_BEVEL_DEG)
        elapsed = own.number("elapsed_hours", most=MAX_ELAPSED_HOURS)
        relief, back, times = own.number("relief", above=True), read_back_exposures(own), read_material_times(own)
        own.finish()
        if thickness is None or not _sound(own, thickness, base):
            continue
        materials[name] = Material(
            name=name,
            thickness_mm=thickness,
            base_mm=base,
            k_mm=k,
            gap_mm=overrides["gap"],
            border_mm=overrides["border"],
            trim_mm=overrides["trim"],
            bevel_deg=bevel,
            elapsed_hours=elapsed,
            relief=relief,
            back_exposures=back,
            times=times,
        )
    return materials


def _sound(own: Keys, thickness: float, base: float | None) -> bool:
    """Whether thickness and base can be those of a plate; notes what is wrong."""
    if thickness > MAX_THICKNESS_MM:
        own.note("thickness", rule=f"must be at most {MAX_THICKNESS_MM:g} mm", got=quoted(own.table["thickness"]),
                 remedy="check the figure and the room's unit")
        return False
    if base is not None and base >= thickness:
        own.note("base", rule=f"must be less than the thickness ({quoted(own.table['thickness'])})",
                 got=quoted(own.table["base"]), remedy="correct one of the two")
        return False
    if "base" not in own and "k" not in own:
        own.note(None, rule="the required key 'base' is missing",
                 remedy="add the base film's thickness, or k where K is measured")
        return False
    return "base" not in own or base is not None or "k" in own


def _named(keys: Keys, name: str) -> Keys | None:
    """Return the table of a name, None after noting that the name or the table is wrong."""
    rule = text_rule(name)
    if rule is not None:
        keys.take(name)
        keys.note(name, rule=f"the name {rule}", got=quoted(name), remedy="correct the name")
        return None
    return keys.section(name)


def read_sheets(entries: tuple[Keys, ...], materials: Collection[str] | None) -> tuple[Sheet, ...]:
    """Return the stocked sheets in file order; those at fault are left out."""
    sheets = []
    for keys in entries:
        ident, material, across, around = _identity(keys, materials)
        price = keys.number("price", most=MOST_MONEY, required=True)
        on_hand, per_box, days = keys.count("on_hand"), keys.count("per_box", least=1), keys.count("delivery_days")
        back, terms = keys.count_or("keep_back", 0), read_terms(keys)
        lot, expiry, received = keys.text("lot"), keys.day("expiry"), keys.day("received")
        keys.finish()
        if ident is None or material is None or across is None or around is None or price is None:
            continue
        sheets.append(
            Sheet(
                id=ident,
                material=material,
                across_mm=across,
                around_mm=around,
                price=price,
                on_hand=on_hand,
                keep_back=back,
                per_box=per_box,
                delivery_days=days,
                delivery_spread_days=terms.delivery_spread_days,
                min_order=terms.min_order,
                shelf_life_days=terms.shelf_life_days,
                price_breaks=terms.price_breaks,
                lot=lot,
                expiry=expiry,
                received=received,
            )
        )
    _note_doubles(entries, "sheets")
    return tuple(sheets)


def read_offcuts(entries: tuple[Keys, ...], materials: Collection[str] | None) -> tuple[Offcut, ...]:
    """Return the stored offcuts in file order; those at fault are left out."""
    offcuts = []
    for keys in entries:
        ident, material, across, around = _identity(keys, materials)
        value = keys.number("value", most=MOST_MONEY, required=True)
        relief = keys.number("relief", above=True)
        lot, expiry, received = keys.text("lot"), keys.day("expiry"), keys.day("received")
        keys.finish()
        if ident is None or material is None or across is None or around is None or value is None:
            continue
        offcuts.append(
            Offcut(
                id=ident,
                material=material,
                across_mm=across,
                around_mm=around,
                value=value,
                relief=relief,
                lot=lot,
                expiry=expiry,
                received=received,
            )
        )
    _note_doubles(entries, "offcuts")
    return tuple(offcuts)


def _identity(
    keys: Keys, materials: Collection[str] | None
) -> tuple[str | None, str | None, float | None, float | None]:
    """Return id, material, across and around in mm of a sheet or offcut; None for each that is wrong."""
    own = keys.text("id")
    material = keys.text("material", required=True)
    across = keys.length("across", above=True, required=True)
    around = keys.length("around", above=True, required=True)
    if material is not None and materials is not None and material not in materials:
        keys.note("material", rule="no such material in [materials]", got=quoted(material),
                  remedy=offer(material, materials))
        material = None
    return own if "id" in keys else default_id(keys), material, across, around


def default_id(keys: Keys) -> str | None:
    """Return the id of an entry without one: material, then across x around in the room's unit (design, section 8)."""
    size = [keys.table.get(key) for key in ("across", "around")]
    material = keys.table.get("material")
    numbers = [float(v) for v in size if isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < MOST_MONEY]
    if not isinstance(material, str) or len(numbers) != len(size):
        return None
    return f"{material} {plain(numbers[0])}x{plain(numbers[1])}"


def _note_doubles(entries: tuple[Keys, ...], kind: str) -> None:
    first: dict[str, str] = {}
    for keys in entries:
        given = keys.table.get("id")
        ident = given if isinstance(given, str) else default_id(keys)
        if ident is None:
            continue
        if ident in first:
            what = "two lots" if kind == "sheets" else "two offcuts"
            keys.note("id" if "id" in keys else None, rule=f"the id must be unique, {first[ident]} has it too",
                      got=quoted(ident), remedy=f"{what} of one size need ids of their own")
        first.setdefault(ident, dotted(keys.path))


def read_costs(keys: Keys) -> Costs:
    """Return the rates; those per square foot are converted to m2."""
    defaults = Costs()
    process = _per_area(keys, "process", lambda value: value / M2_PER_SQFT)
    least_area = _per_area(keys, "offcut_min_area", lambda value: value * M2_PER_SQFT)
    costs = Costs(
        plate=keys.number_or("plate", defaults.plate),
        process_per_m2=defaults.process_per_m2 if process is None else process,
        cut=keys.number_or("cut", defaults.cut),
        offcut_value=keys.number_or("offcut_value", defaults.offcut_value, most=1.0),
        offcut_handling=keys.number_or("offcut_handling", defaults.offcut_handling),
        offcut_full_side_mm=keys.length_or("offcut_full_side", defaults.offcut_full_side_mm),
        offcut_min_side_mm=keys.length_or("offcut_min_side", defaults.offcut_min_side_mm),
        offcut_min_area_m2=defaults.offcut_min_area_m2 if least_area is None else least_area,
        offcuts_per_sheet=keys.count_or("offcuts_per_sheet", defaults.offcuts_per_sheet),
        raw_min_strip_mm=keys.length_or("raw_min_strip", defaults.raw_min_strip_mm),
        raw_parts_max=keys.count_or("raw_parts_max", defaults.raw_parts_max, least=1),
    )
    keys.finish()
    return costs


def _per_area(keys: Keys, stem: str, from_sqft: Callable[[float], float]) -> float | None:
    """Return a figure that is given per m2 or per square foot, but not both, in m2."""
    metric, imperial = f"{stem}_per_m2", f"{stem}_per_sqft"
    if stem == "offcut_min_area":
        metric, imperial = f"{stem}_m2", f"{stem}_sqft"
    own, other = keys.number(metric, most=MOST_MONEY), keys.number(imperial, most=MOST_MONEY)
    if metric in keys and imperial in keys:
        keys.note(imperial, rule=f"must not be given beside {metric}", got=quoted(keys.table[imperial]),
                  remedy="keep one of the two")
    return own if other is None else from_sqft(other)


def read_guides(keys: Keys, room_unit: Unit) -> Guides:
    """Return how guides are drawn; an absent unit is the room's."""
    usual = Guides()
    unit = keys.choice("unit", Unit, room_unit)
    fractions = keys.count_or("fractions", usual.fractions)
    if fractions not in FRACTIONS:
        keys.note("fractions", rule=f"must be one of {', '.join(map(str, FRACTIONS))}", got=quoted(fractions),
                  remedy="write 16 for a ruler with 1/16 in, 0 for decimals")
    elif fractions and unit is Unit.MM:
        keys.note("fractions", rule="fractions are of an inch", got=quoted(fractions),
                  remedy='set unit = "in" in [guides] beside it, or leave fractions out')
    guides = Guides(
        datum=keys.choice("datum", Datum, usual.datum),
        ruler=keys.choice("ruler", Ruler, usual.ruler),
        unit=unit if "unit" in keys else None,
        fractions=fractions,
        paper=keys.choice("paper", Paper, usual.paper),
        sides=keys.choice("sides", Sides, usual.sides),
    )
    keys.finish()
    return guides
