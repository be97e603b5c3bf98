"""Past weeks of the invented plate room of `nest demo`, made in code: the same orders again and again, some new.

Random numbers are the standard library's, whose stream is the same in every version.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

FIRST_WEEK = date(2026, 8, 31)
"""Monday of the first of 26 weeks that end where the demo's own week begins."""
WEEKS = 26
JOBS_A_WEEK = 7.0
CLOSED = (17,)
"""Weeks without work, from 0: the turn of the year."""
HEAD = ("job", "separation", "material", "image_across", "image_around", "repeat", "copies", "relief", "resolution",
        "ready", "due", "customer", "title")  # fmt: skip
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """What a customer orders plates for now and then; lengths in mm, ``weight`` says how often."""

    customer: str
    title: str
    colours: tuple[str, ...]
    across: float
    around: float
    repeat: float | None = None
    copies: int = 1
    thick: bool = False
    weight: float = 1.0


PRODUCTS = (
    Product(customer="Brindlewick Tea", title="Evening blend 20 bags", colours=PROCESS, across=310, around=271,
            repeat=304.8, weight=2.0),
    Product(customer="Brindlewick Tea", title="Morning blend 40 bags", colours=(*PROCESS, "Gold"), across=310,
            around=360, repeat=393.7, weight=1.5),
    Product(customer="Brindlewick Tea", title="Gift tin label", colours=("Varnish", "Gold"), across=240, around=330,
            repeat=381.0),
    Product(customer="Tarnhollow Oats", title="Rolled oats 500 g", colours=("Red", "Black"), across=180, around=360,
            repeat=412.75, copies=2, weight=2.0),
    Product(customer="Tarnhollow Oats", title="Sachet", colours=(*PROCESS,), across=210, around=190, repeat=254.0),
    Product(customer="Tarnhollow Oats", title="Muesli bag", colours=("White", *PROCESS), across=395, around=480,
            repeat=527.05),
    Product(customer="Pellanmoor Dairy", title="Soft cheese lid", colours=("White", "Green"), across=420, around=560,
            repeat=660.4, weight=1.5),
    Product(customer="Pellanmoor Dairy", title="Butter wrap", colours=("Blue", "Gold", "White"), across=265,
            around=228, repeat=254.0, weight=1.5),
    Product(customer="Pellanmoor Dairy", title="Yoghurt sleeve", colours=PROCESS, across=232, around=295, repeat=330.2,
            weight=2.0),
    Product(customer="Vostrel Pet Food", title="Tray tag", colours=("Black", "Red"), across=96, around=280,
            repeat=304.8, copies=3),
    Product(customer="Vostrel Pet Food", title="Pouch 85 g", colours=("White", *PROCESS), across=355, around=420,
            repeat=457.2, weight=1.5),
    Product(customer="Marrowgate Paper", title="Wrap 70 g", colours=("Blue",), across=150, around=410, copies=2),
    Product(customer="Marrowgate Paper", title="Ream wrap", colours=("Blue", "Grey"), across=460, around=620,
            repeat=685.8),
    Product(customer="Ostrefeld Mills", title="Flour sack 5 kg", colours=("Black", "Brown"), across=330, around=520,
            repeat=640.0, thick=True, weight=2.0),
    Product(customer="Ostrefeld Mills", title="Flour sack 25 kg", colours=("Black", "Brown", "Red"), across=480,
            around=700, repeat=812.8, thick=True),
    Product(customer="Ostrefeld Mills", title="Sack side panel", colours=("Red", "Black"), across=260, around=300,
            copies=2, thick=True, weight=1.5),
    Product(customer="Marrowgate Paper", title="Carrier board", colours=("Green",), across=410, around=540,
            thick=True),
)  # fmt: skip


def week_files(seed: int = 7, weeks: int = WEEKS, jobs_a_week: float = JOBS_A_WEEK) -> dict[str, str]:
    """Return the jobs files of past weeks by name, such as ``2026-W36.csv``.

    Parameters
    ----------
    seed : int
        Start of the random numbers.
    weeks : int
        How many.
    jobs_a_week : float
        Jobs in a usual week.

    Examples
    --------
    >>> files = week_files()
    >>> len(files), min(files), max(files)
    (25, '2026-W36.csv', '2027-W08.csv')
    """
    random = Random(seed)
    out = {}
    job = 1800
    for number in range(weeks):
        monday = FIRST_WEEK + timedelta(weeks=number)
        rows: list[tuple[object, ...]] = []
        for _ in range(_count(random, jobs_a_week)):
            job += 1 + int(3 * random.random())
            rows += _job(random, job, monday)
        if number not in CLOSED:
            year, week, _ = monday.isocalendar()
            out[f"{year}-W{week:02d}.csv"] = _csv(rows)
    return out


def _count(random: Random, mean: float) -> int:
    """Return a random number of jobs around a mean, more spread than by chance alone: weeks are busy or not."""
    busy = 0.6 + 0.8 * random.random()
    return max(1, round(mean * busy + math.sqrt(mean) * (random.random() - 0.5)))


def _job(random: Random, job: int, monday: date) -> list[tuple[object, ...]]:
    """Return the rows of one order: a product whole, or only some colours of it made anew."""
    product = random.choices(PRODUCTS, [one.weight for one in PRODUCTS])[0]
    colours = product.colours
    if len(colours) > 1 and random.random() < 0.2:
        colours = tuple(c for c in colours if random.random() < 0.5) or colours[:1]
    across, around = product.across, product.around
    if random.random() < 0.25:
        # a version of its own: another width, the same cylinder
        across = round(across * (0.75 + 0.4 * random.random()))
    ready = monday + timedelta(days=int(4 * random.random()))
    due = ready + timedelta(days=2 + int(3 * random.random()))
    material, relief, resolution = ("QF284", "0.7", "2000") if product.thick else ("QF170", "0.5", "2540")
    return [
        (job, colour, material, across, around, product.repeat or "", product.copies, relief, resolution, ready, due,
         product.customer, product.title)
        for colour in colours
    ]  # fmt: skip


def _csv(rows: list[tuple[object, ...]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    writer.writerows(rows)
    return out.getvalue()
