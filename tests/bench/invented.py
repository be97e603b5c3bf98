"""Invented plate-room weeks, seeded, written as the two input files so that they take the whole way in.

Four rooms of our own: narrow printing in sets of colours, wide printing with repeats that nearly fill a sheet, thick
plates cut on a table with a gap, and a store with little left and offcuts of other weeks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

PITCH = 3.175
COLOURS = ("Cyan", "Magenta", "Yellow", "Black", "White", "Green", "Orange", "Varnish")
PRICE_PER_M2 = 58.0
"""An invented price of 1.70 mm material."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What a room's weeks look like; lengths in mm, ranges as (least, most)."""

    name: str
    thickness: float
    across: tuple[float, float]
    around: tuple[float, float]
    colours: tuple[int, int]
    sheets: tuple[tuple[float, float], ...]
    border: float = 5.0
    gap: float = 0.0
    cutting: str = "guillotine"
    turn: str = "set"
    resolutions: tuple[int, ...] = (2540,)
    on_hand: int | None = None
    offcuts: int = 0


SHOPS = (
    Shop(name="narrow", thickness=1.14, across=(90, 280), around=(180, 480), colours=(3, 7),
         sheets=((620, 760), (760, 1000), (900, 1180)), resolutions=(2540, 4000)),
    Shop(name="wide", thickness=1.7, across=(350, 1050), around=(280, 720), colours=(4, 8),
         sheets=((900, 1180), (1050, 1500), (1250, 1980))),
    Shop(name="thick", thickness=3.94, across=(150, 900), around=(120, 700), colours=(1, 3), border=8.0, gap=5.0,
         cutting="free", turn="free", sheets=((1050, 1500), (1250, 1980))),
    Shop(name="spare", thickness=1.7, across=(110, 420), around=(160, 520), colours=(2, 5), on_hand=9, offcuts=6,
         sheets=((760, 1000), (900, 1180)), resolutions=(2000, 2540)),
)  # fmt: skip


def jobs_file(shop: Shop, pieces: int, random: np.random.Generator) -> str:
    """Return the jobs of a week with so many pieces."""
    lines = ["job,separation,material,image_across,image_around,teeth,copies,turn,resolution"]
    made, job = 0, 7000
    while made < pieces:
        job += int(random.integers(1, 9))
        across = round(float(random.uniform(*shop.across)), 1)
        around = round(float(random.uniform(*shop.around)), 1)
        resolution = shop.resolutions[int(random.integers(len(shop.resolutions)))]
        # the cylinder is the next gear longer than image and borders
        teeth = int((around + 2 * shop.border + 25) // PITCH) + int(random.integers(1, 6))
        for colour in COLOURS[: int(random.integers(shop.colours[0], shop.colours[1] + 1))]:
            copies = min(pieces - made, 1 if random.random() < 0.8 else int(random.integers(2, 4)))
            if copies < 1:
                break
            # a spot colour often needs only part of the width
            own = round(across * float(random.uniform(0.4, 1.0)), 1) if random.random() < 0.2 else across
            lines.append(f"{job},{colour},{shop.name},{own},{around},{teeth},{copies},{shop.turn},{resolution}")
            made += copies
    return "\n".join(lines) + "\n"


def room_file(shop: Shop, random: np.random.Generator) -> str:
    """Return the room of a shop with its stock."""
    wide = max(w for w, _ in shop.sheets)
    high = max(h for _, h in shop.sheets)
    lines = [
        f'cutting = "{shop.cutting}"', f"gap = {shop.gap}", f"border = {shop.border}", f"pitch = {PITCH}",
        "[imager]", f"max_across = {wide + 20}", f"max_around = {high + 20}", "min_across = 180.0",
        "min_around = 180.0", "clamp = 11.0", "drum_tape = 9.0", "trim = 7.0",
        f"[materials.{shop.name}]", f"thickness = {shop.thickness}", "base = 0.125",
        "[costs]", "plate = 11.0", "process_per_m2 = 15.0", "cut = 1.4", "offcut_value = 0.55", "offcut_handling = 2.5",
        "offcut_full_side = 380.0", "offcut_min_side = 240.0", "offcut_min_area_m2 = 0.11", "raw_min_strip = 45.0",
    ]  # fmt: skip
    rate = PRICE_PER_M2 * (0.6 + 0.4 * shop.thickness / 1.7) / 1e6
    for w, h in shop.sheets:
        # larger sheets are a little cheaper by area
        price = round(w * h * rate * (1.04 - 0.04 * w * h / (wide * high)), 2)
        lines += ["[[sheets]]", f'material = "{shop.name}"', f"across = {w:.1f}", f"around = {h:.1f}"]
        lines.append(f"price = {price}")
        if shop.on_hand is not None:
            lines.append(f"on_hand = {shop.on_hand}")
    for number in range(shop.offcuts):
        w, h = (round(float(random.uniform(250, 0.8 * side))) for side in shop.sheets[-1])
        lines += [
            "[[offcuts]]", f'id = "R-{number + 1:04d}"', f'material = "{shop.name}"', f"across = {w:.1f}",
            f"around = {h:.1f}", f"value = {w * h * rate * 0.5:.2f}",
        ]  # fmt: skip
    return "\n".join(lines) + "\n"


def invented_week(under: Path, shop: Shop, pieces: int, seed: int) -> Path:
    """Write a week into a folder named after shop, pieces and seed; return the folder."""
    folder = under / f"{shop.name}-{pieces}-{seed}"
    if not folder.exists():
        random = np.random.default_rng([SHOPS_ORDER[shop.name], pieces, seed])
        # a week of this size needs about that many sheets
        stocked = shop if shop.on_hand is None else replace(shop, on_hand=max(shop.on_hand, pieces // 4))
        folder.mkdir(parents=True)
        (folder / "jobs.csv").write_text(jobs_file(shop, pieces, random), encoding="utf-8")
        (folder / "room.toml").write_text(room_file(stocked, random), encoding="utf-8")
    return folder


SHOPS_ORDER = {shop.name: at for at, shop in enumerate(SHOPS)}
