"""Weeks on a ledger, one after another: does keeping offcuts pay, and does the rack stay bounded?

An invented shop plans week by week on a ledger of its own, releases every plan, gets boxes when a size runs low and
writes off what expires. The same weeks are run under each policy:

- ``nothing``: no rest is kept;
- ``keep``: rests are kept by the room file's figures;
- ``proposed``: as ``keep``, and every fourth week from the eighth on the room takes over what the ledger's own report
  of offcuts proposes; the rack is held to the proposed limit by scrapping what is worth least.

What counts is the money that leaves the shop: sheets drawn at what they cost, plates, processing, cuts, and the
handling of every rest kept. Book values of offcuts move no money; what the rack is worth at the end is told beside.

    python -m tests.bench.rolling --shop narrow --weeks 26 --pieces 18 --work-limit 60
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import io
import subprocess
import sys
import tempfile
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from nest.domain.plan import SourceKind
from nest.domain.room import Unit
from nest.domain.stock import Delivery
from nest.intake.room import read_room
from nest.intake.week import read_week
from nest.output.offcut_use_text import offcut_use_text
from nest.output.plan_file import dump_plan
from nest.output.room_file import room_with_stock
from nest.packing import solve
from nest.pipeline import Settings, make_plan
from nest.store import actions
from nest.store.ledger import Ledger
from nest.store.offcut_use import offcut_use, offcuts_kept
from nest.store.opening import create
from nest.store.release import planned_releases, release
from nest.store.room import note_of, stocked_room
from nest.store.value import value_cents
from tests.bench.invented import SHOPS, jobs_file, room_file

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from nest.domain.plan import Plan
    from nest.domain.room import Room
    from nest.domain.stock_reports import Proposal

POLICIES = ("nothing", "keep", "proposed")
FIRST_DAY = date(2027, 1, 4)
BOX = 10
SHELF_DAYS = 300
FIRST_PROPOSAL, EVERY = 8, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """What one week took: money out in cents by kind, offcuts used and kept, and the rack after it."""

    number: int
    pieces: int
    unplaced: int
    sheets_cents: int
    other_cents: int
    handling_cents: int
    used: int
    kept: int
    rack: int
    rack_cents: int
    violations: int

    @property
    def cents(self) -> int:
        """All the money out."""
        return self.sheets_cents + self.other_cents + self.handling_cents


class Year:
    """One policy's shop: a ledger, a room, and the weeks so far."""

    def __init__(self, folder: Path, shop_name: str, policy: str, pieces: int, work: int, checker: Path | None) -> None:
        self.folder, self.policy, self.pieces, self.work, self.checker = folder, policy, pieces, work, checker
        self.shop = next(shop for shop in SHOPS if shop.name == shop_name)
        self.room_text = room_file(replace(self.shop, offcuts=0, on_hand=None), np.random.default_rng(0))
        self.path = folder / f"{policy}.db"
        create(self.path, Unit.MM, "EUR")
        self.proposal: Proposal | None = None

    def week(self, number: int) -> Week:
        """Plan and release one week; return what it took."""
        day = FIRST_DAY + timedelta(days=7 * number)
        random = np.random.default_rng([7, number])
        count = max(4, int(random.poisson(self.pieces)))
        (self.folder / "jobs.csv").write_text(jobs_file(self.shop, count, random), encoding="utf-8")
        (self.folder / "room.toml").write_text(self.room_text, encoding="utf-8")
        rows, listed = read_week(self.folder / "jobs.csv", self.folder / "room.toml")
        with Ledger(self.path) as ledger:
            actions.expire(ledger, day)
            restock(ledger, listed, day)
            stock = ledger.stock()
            room = stocked_room(self.ruled(listed), stock, day)
            plan = make_plan(rows, room, Settings(work_limit=self.work)).plan
            violations = self.checked(plan, room)
            note = note_of(
                plan, hashlib.sha256(dump_plan(plan).encode()).hexdigest(), stock, room, day, use_reserve=False
            )
            release(ledger, note, planned_releases(plan, day), day)
            if self.policy == "proposed" and number >= FIRST_PROPOSAL and (number - FIRST_PROPOSAL) % EVERY == 0:
                use = offcut_use(offcuts_kept(ledger), day, 100 * listed.costs.offcut_handling)
                self.proposal = use.proposal or self.proposal
            self.hold_limit(ledger, day)
            return taken(number, plan, stock_prices(ledger), listed, ledger, day, violations)

    def ruled(self, room: Room) -> Room:
        """Return the room under the policy."""
        if self.policy == "nothing":
            return replace(room, costs=replace(room.costs, offcuts_per_sheet=0))
        found = self.proposal
        if found is None:
            return room
        if not found.keep:
            return replace(room, costs=replace(room.costs, offcuts_per_sheet=0))
        costs = replace(room.costs, offcut_value=found.offcut_value, offcut_min_side_mm=found.min_side_mm,
                        offcut_min_area_m2=found.min_area_m2)  # fmt: skip
        return replace(room, costs=costs)

    def hold_limit(self, ledger: Ledger, day: date) -> None:
        """Scrap what is worth least beyond the proposed rack limit."""
        if self.proposal is None:
            return
        stock = ledger.stock()
        rack = sorted((o for o in stock.offcuts if o.on_rack), key=lambda o: (value_cents(o, day, stock.curve), o.id))
        for offcut in rack[: max(0, len(rack) - self.proposal.rack_limit)]:
            actions.scrap(ledger, offcut.id, 1, "rack limit", day)

    def checked(self, plan: Plan, room: Room) -> int:
        """Return how many rules the plan breaks by an independent checker, where one is given."""
        if self.checker is None:
            return 0
        (self.folder / "plan.json").write_text(dump_plan(plan), encoding="utf-8")
        lines = self.room_text.splitlines()
        costs = {"offcut_value": room.costs.offcut_value, "offcut_min_side": room.costs.offcut_min_side_mm,
                 "offcut_min_area_m2": room.costs.offcut_min_area_m2}  # fmt: skip
        text = "\n".join(
            f"{line}\noffcuts_per_sheet = {room.costs.offcuts_per_sheet}" if line == "[costs]"
            else f"{line.split(' = ')[0]} = {costs[line.split(' = ')[0]]}" if line.split(" = ")[0] in costs else line
            for line in lines
        )  # fmt: skip
        (self.folder / "asked.toml").write_text(room_with_stock(text, room), encoding="utf-8")
        ran = subprocess.run([sys.executable, str(self.checker), "plan.json", "jobs.csv", "asked.toml"],
                             cwd=self.folder, capture_output=True, text=True, check=False)  # fmt: skip
        return int(ran.stdout.strip().splitlines()[-1].split(" ")[0])


def restock(ledger: Ledger, room: Room, day: date) -> None:
    """Receive a box of each size that has run low; the shop orders in time."""
    have: Counter[tuple[float, float]] = Counter()
    for lot in ledger.stock().lots:
        have[lot.across_mm, lot.around_mm] += lot.on_hand
    for sheet in room.sheets:
        while have[sheet.across_mm, sheet.around_mm] < 2 * BOX:
            have[sheet.across_mm, sheet.around_mm] += BOX
            number = f"{day:%y%j}-{sheet.across_mm:g}-{have[sheet.across_mm, sheet.around_mm]}"
            one = Delivery(material=sheet.material, across_mm=sheet.across_mm, around_mm=sheet.around_mm, sheets=BOX,
                           price_cents=round(sheet.price * 100), received=day, lot=number,
                           expiry=day + timedelta(days=SHELF_DAYS), per_box=BOX)  # fmt: skip
            actions.receive(ledger, one, day)


def stock_prices(ledger: Ledger) -> dict[str, int]:
    """Return what a sheet of each lot cost, by id."""
    return {lot.id: lot.price_cents for lot in ledger.stock().lots}


def taken(number: int, plan: Plan, prices: dict[str, int], room: Room, ledger: Ledger, day: date,
          violations: int) -> Week:  # fmt: skip
    """Return what a week took out of the shop's pocket and left on its rack."""
    parts, stock = plan.totals.cost_parts, ledger.stock()
    rack = [o for o in stock.offcuts if o.on_rack]
    kept = sum(rest.kept for sheet in plan.sheets for rest in sheet.rests)
    return Week(
        number=number, pieces=plan.totals.pieces, unplaced=sum(row.copies for row in plan.unplaced),
        sheets_cents=sum(prices[s.source.ref] for s in plan.sheets if s.source.kind is SourceKind.SHEET),
        other_cents=round(100 * (parts.plates + parts.process + parts.cuts)),
        handling_cents=round(100 * room.costs.offcut_handling * kept),
        used=sum(s.source.kind is SourceKind.OFFCUT for s in plan.sheets), kept=kept, rack=len(rack),
        rack_cents=sum(value_cents(o, day, stock.curve) for o in rack), violations=violations,
    )  # fmt: skip


def table(weeks: Sequence[Week]) -> str:
    """Return the weeks as CSV."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("week", "pieces", "unplaced", "sheets", "other", "handling", "used", "kept", "rack", "rack_value"))
    for one in weeks:
        money = (f"{cents / 100:.2f}" for cents in (one.sheets_cents, one.other_cents, one.handling_cents))
        writer.writerow((one.number + 1, one.pieces, one.unplaced, *money, one.used, one.kept, one.rack,
                         f"{one.rack_cents / 100:.2f}"))  # fmt: skip
    return out.getvalue()


def summary(policy: str, weeks: Sequence[Week]) -> str:
    """Return one line on a policy."""
    cents, last = sum(one.cents for one in weeks), weeks[-1]
    return (
        f"{policy:<9} money out {cents / 100:>10.2f}  pieces {sum(one.pieces for one in weeks)}  "
        f"unplaced {sum(one.unplaced for one in weeks)}  offcuts kept {sum(one.kept for one in weeks)}, "
        f"used {sum(one.used for one in weeks)}; rack at most {max(one.rack for one in weeks)}, at the end {last.rack} "
        f"worth {last.rack_cents / 100:.2f}; violations {sum(one.violations for one in weeks)}"
    )


@contextmanager
def without_long_proof() -> Iterator[None]:
    """Run a block without the costly part of the bound, which nothing here needs; no clock decides anything."""
    usual = solve.bound_effort
    solve.bound_effort = lambda units, stop, means: 0.0
    try:
        yield
    finally:
        solve.bound_effort = usual


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the weeks under the policies asked for and print what they took."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.rolling", description="Weeks on a ledger.")
    parser.add_argument("--shop", default="narrow", choices=[shop.name for shop in SHOPS])
    parser.add_argument("--weeks", type=int, default=26)
    parser.add_argument("--pieces", type=int, default=18, help="pieces a week, on average")
    parser.add_argument("--work-limit", type=int, default=60)
    parser.add_argument("--policies", default=",".join(POLICIES))
    parser.add_argument("--checker", type=Path, help="a script that checks plan.json jobs.csv room.toml")
    parser.add_argument("--table", action="store_true", help="print every week too")
    chosen = parser.parse_args(arguments)
    for policy in chosen.policies.split(","):
        with tempfile.TemporaryDirectory() as folder:
            year = Year(Path(folder), chosen.shop, policy, chosen.pieces, chosen.work_limit,
                        None if chosen.checker is None else chosen.checker.resolve())  # fmt: skip
            with without_long_proof():
                weeks = [year.week(number) for number in range(chosen.weeks)]
            with Ledger(year.path) as ledger:
                faults, stock = ledger.integrity(), ledger.stock()
                last = FIRST_DAY + timedelta(days=7 * chosen.weeks)
                listed = read_room(Path(folder) / "room.toml").room.costs
                use = offcut_use(offcuts_kept(ledger), last, 100 * listed.offcut_handling)
            if chosen.table:
                print(table(weeks), end="")
            if chosen.table and use.kept:
                print(offcut_use_text(use, stock.unit, stock.currency, listed, None), end="")
            print(summary(policy, weeks), "" if not faults else f"LEDGER {faults}", flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
