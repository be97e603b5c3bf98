"""The terminal summary: what a planner must act on first, then what to fetch, what it yields and what it costs."""

from __future__ import annotations

import math
import textwrap
from collections import defaultdict
from typing import TYPE_CHECKING

from nest.domain.job import Need
from nest.domain.plan import SourceKind, StoppedBy
from nest.output.batches import calendar_lines
from nest.output.notices import job_rows_words, plan_rows, told_warnings
from nest.output.split_sets import split_sets
from nest.output.words import EDGE_WORDS, counted, one_line, percent, row_words, size_words
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from nest.domain.job import Row
    from nest.domain.plan import JobShare, Plan, PlannedPlate, PlannedSheet, Unplaced
    from nest.domain.room import Room

WIDTH = 100
_MOST = 40
"""Longest list printed; the rest is counted and stands in the files."""
STOPPED = {
    StoppedBy.WORK_LIMIT: "at the work limit: the same input gives the same plan",
    StoppedBy.TIME_LIMIT: "by the time limit: another go may give another plan",
    StoppedBy.INTERRUPT: "by you: the best checked plan so far; another go may give another plan",
    StoppedBy.OPTIMAL: "because no cheaper plan is possible",
}


def summary_text(plan: Plan, room: Room, rows: Sequence[Row], shares: Sequence[JobShare]) -> str:
    """Return the summary of a plan, at most 100 columns wide, ending in a newline.

    What is unplaced and every warning come first. Sizes are in the room's unit.
    """
    must = [row for row in plan.unplaced if row.need is Need.MUST]
    fill = [row for row in plan.unplaced if row.need is Need.FILL]
    blocks = [
        _unplaced("NOT PLACED", must),
        _warnings(plan),
        _pick_list(plan, room),
        _plates(plan, room),
        calendar_lines(plan),
        _split_sets(plan, room, rows),
        _yields(plan),
        _areas(plan),
        _costs(plan),
        _jobs(plan, shares),
        _unplaced("FILL LEFT OVER (no fault)", fill),
        [f"STOPPED {STOPPED[plan.stopped_by]}."],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def bound_words(plan: Plan) -> str:
    """Return how far the plan's cost can be from the best possible, in words."""
    gap = money(plan.totals.cost - plan.totals.bound)
    if gap <= 0:
        return "proven the best possible"
    amount = f"{math.ceil(gap)}" if gap >= 10 else f"{gap:.2f}"
    return f"at most {amount} {one_line(plan.currency)} above the best possible"


def _wrapped(text: str, first: str = "  ", rest: str = "    ") -> list[str]:
    text = one_line(text)
    # Wide signs take two columns of a terminal: wrap such lines at half the width, always safe.
    width = WIDTH if text.isascii() or not any(ord(sign) > 0x10FF for sign in text) else WIDTH // 2
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=rest) or [first.rstrip()]


def _listed(title: str, texts: Iterable[str]) -> list[str]:
    texts = list(texts)
    if not texts:
        return []
    lines = [title]
    for text in texts[:_MOST]:
        lines += _wrapped(text)
    if len(texts) > _MOST:
        lines.append(f"  and {len(texts) - _MOST} more, all of them in plan.json")
    return lines


def _unplaced(title: str, rows: Sequence[Unplaced]) -> list[str]:
    """Return the rows left over, those with one reason together: what would help all of them is told once."""
    by_reason: dict[str, list[Unplaced]] = defaultdict(list)
    for row in rows:
        by_reason[row.reason].append(row)
    texts = (_left_over(reason, alike) for reason, alike in by_reason.items())
    return _listed(f"{title}: {counted(_copies(rows), 'piece')}", texts)


def _copies(rows: Iterable[Unplaced]) -> int:
    return sum(row.copies for row in rows)


def _left_over(reason: str, rows: Sequence[Unplaced]) -> str:
    if len(rows) == 1:
        row = rows[0]
        return f"{row_words(row.job, row.separation, row.part)}, {counted(row.copies, 'copy')}: {reason}"
    by_job: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for row in rows:
        times = f"{row.copies} × " if row.copies > 1 else ""
        by_job[row.job].append((f"{times}{row.separation}", row.part))
    names = [job_rows_words(job, words) for job, words in by_job.items()]
    shown = "; ".join(names[:_MOST]) + (f" and {len(names) - _MOST} more jobs" if len(names) > _MOST else "")
    return f"{reason}; {counted(_copies(rows), 'piece')}: {shown}"


def _warnings(plan: Plan) -> list[str]:
    return _listed("WARNINGS", told_warnings(plan.warnings, plan_rows(plan)))


def _pick_list(plan: Plan, room: Room) -> list[str]:
    groups: dict[tuple[str, ...], list[PlannedSheet]] = defaultdict(list)
    for sheet in plan.sheets:
        size = size_words(sheet.across_mm, sheet.around_mm, room.unit)
        kind = str(sheet.source.kind is SourceKind.OFFCUT)
        groups[kind, sheet.material, sheet.source.ref, size, sheet.lot or "", sheet.expiry or ""].append(sheet)
    texts = []
    for (_, material, ref, size, lot, expiry), sheets in sorted(groups.items(), key=lambda item: item[0]):
        kind = sheets[0].source.kind.value
        count = f"{len(sheets)} × " if kind == "sheet" else ""
        text = f"{count}{kind} {ref}: {material}, {size}"
        text += f", lot {lot}" if lot else ""
        text += f", use by {expiry}" if expiry else ""
        texts.append(f"{text}; for {_ids(sheet.id for sheet in sheets)}")
    kept = [rest for sheet in plan.sheets for rest in sheet.rests if rest.kept]
    back = (f"{rest.id}: {size_words(rest.rect.w, rest.rect.h, room.unit)}, credit {rest.credit:.2f}" for rest in kept)
    return _listed("TAKE FROM THE STORE", texts) + _listed("PUT BACK INTO THE STORE", back)


def _ids(ids: Iterable[str]) -> str:
    names = list(ids)
    shown = ", ".join(names[:12])
    return shown if len(names) <= 12 else f"{shown} and {len(names) - 12} more"


def _plates(plan: Plan, room: Room) -> list[str]:
    groups: dict[tuple[str, str, str, str], list[PlannedPlate]] = defaultdict(list)
    for sheet in plan.sheets:
        for plate in sheet.plates:
            size = size_words(plate.across_mm, plate.around_mm, room.unit)
            groups[sheet.material, plate.group, size, EDGE_WORDS[plate.lead]].append(plate)
    texts = []
    for (material, group, size, lead), plates in groups.items():
        pieces = sum(len(plate.pieces) for plate in plates)
        usual = f", {group}" if group else ""
        text = f"{len(plates)} × {material}{usual}, {size} on the drum, lead edge: {lead} of the sheet"
        texts.append(f"{text}, {counted(pieces, 'piece')}; {_ids(plate.id for plate in plates)}")
    totals = plan.totals
    title = f"PLATES: {totals.plates}, with {counted(totals.pieces, 'piece')}, {counted(totals.raw_cuts, 'raw cut')}"
    return _listed(title, texts) or [title]


def _split_sets(plan: Plan, room: Room, rows: Sequence[Row]) -> list[str]:
    """Return the jobs whose set pieces of one material lie on more than one plate."""
    texts = (
        f"job {one.job}, {one.material}: " + ", ".join(f"{count} on {plate}" for plate, count in one.plates.items())
        for one in split_sets(plan, room, rows)
    )
    return _listed("SETS SPLIT OVER PLATES (expose and process these plates alike)", texts)


def _yields(plan: Plan) -> list[str]:
    yields = plan.totals.yields
    return [
        "YIELD",
        f"  gross     {percent(yields.gross):>8}   piece area per area drawn",
        f"  image     {percent(yields.image):>8}   image area per area drawn",
        f"  credited  {percent(yields.credited):>8}   piece area per area drawn less rests kept",
    ]


def _areas(plan: Plan) -> list[str]:
    area = plan.totals.area
    parts = (
        ("image", area.image, "printed area, after shortening"),
        ("border", area.border, "floor round the images"),
        ("keep-out", area.keep_out, "under clamp, tape and trim"),
        ("unused", area.unused, "of plates, inside the keep-outs"),
        ("kept", area.kept, "rests that go back to the store"),
        ("scrap", area.scrap, "rests not kept"),
    )
    lines = ["WHERE THE AREA GOES"]
    for name, value, words in parts:
        lines.append(f"  {name:<9} {value:>10.4f} m2 {percent(value / area.drawn if area.drawn else 0.0):>8}   {words}")
    return [*lines, f"  {'drawn':<9} {area.drawn:>10.4f} m2"]


def _costs(plan: Plan) -> list[str]:
    totals, parts, currency = plan.totals, plan.totals.cost_parts, one_line(plan.currency)
    spent = parts.sheets + parts.plates + parts.process + parts.cuts
    lines = [f"WHERE THE MONEY GOES ({currency})"]
    for name, value, words in (
        ("sheets", parts.sheets, f"{counted(totals.sheets, 'sheet')} and offcuts drawn"),
        ("plates", parts.plates, f"{counted(totals.plates, 'plate')}: set-up, loading, handling"),
        ("process", parts.process, "by plate area"),
        ("cuts", parts.cuts, counted(totals.raw_cuts, "raw cut")),
    ):
        lines.append(f"  {name:<9} {value:>12.2f} {percent(value / spent if spent else 0.0):>8}   {words}")
    lines.append(f"  {'credit':<9} {-parts.credit + 0.0:>12.2f}            rests kept")
    lines.append(f"  {'cost':<9} {totals.cost:>12.2f}            {bound_words(plan)}")
    lines.append(f"  proven least cost {totals.bound:.2f}, gap {percent(totals.bound_gap)}")
    if totals.area.image > 0:
        lines.append(f"  {totals.cost / totals.area.image:.2f} {currency} per m2 of image")
    return lines


def _jobs(plan: Plan, shares: Sequence[JobShare]) -> list[str]:
    if not shares:
        return []
    currency = one_line(plan.currency)
    borne = sum(share.share for share in shares)
    text = f"{counted(len(shares), 'job')} bear {borne:.2f} {currency}; each one's share is in jobs.csv."
    priced = [share for share in shares if share.alone is not None]
    alone = sum(share.alone or 0.0 for share in priced)
    saving = money(alone - sum(share.share for share in priced))
    if priced and alone > 0:
        which = "Planned one by one they" if len(priced) == len(shares) else f"{len(priced)} of them planned one by one"
        text += f" {which} would cost {alone:.2f} {currency}: sharing plates and sheets saves {saving:.2f}"
        text += f" ({percent(saving / alone)})."
    return ["JOBS", *_wrapped(text, "  ", "  ")]
