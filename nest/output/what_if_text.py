"""What-if answers as a table, and which one to choose and why."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from typing import TYPE_CHECKING

from nest.output.text_columns import aligned
from nest.output.words import counted, one_line, percent
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.calendar import Answer

HEAD = ("", "cost", "running", "lateness", "together", "late", "least", "yield", "sheets", "plates", "batches")
COLUMNS = ("case", "cost", "running", "lateness", "together", "late_pieces", "least_lateness", "unplaced",
           "gross_yield", "sheets", "plates", "batches", "chosen")  # fmt: skip


def rhythm_text(answers: Sequence[Answer], chosen: Answer, currency: str) -> str:
    """Return the rhythms of a week side by side, the one to choose and why."""
    lines = [f"RHYTHMS OF THE WEEK (money in {one_line(currency)})", *_table(answers), "", *_why(answers, chosen)]
    return "\n".join(lines) + "\n"


def slip_text(before: Answer, after: Answer, told: Sequence[str], currency: str) -> str:
    """Return what changes when rows are approved later; ``told`` are the rows that come late then."""
    more = money(after.whole - before.whole)
    lines = [f"IF IT SLIPS (money in {one_line(currency)})", *_table((before, after)), ""]
    if more > 0:
        parts = f"cost {money(after.cost - before.cost):+.2f}, lateness {money(after.lateness - before.lateness):+.2f}"
        lines.append(f"It costs {more:.2f} {one_line(currency)} more ({parts}).")
    else:
        lines.append("It costs nothing: the plan can be made anew around it.")
    lines += [f"  {one_line(words)}" for words in told]
    return "\n".join(lines) + "\n"


def _table(answers: Sequence[Answer]) -> list[str]:
    rows = [
        (
            one_line(one.name), f"{one.cost:.2f}", f"{one.opened:.2f}", f"{one.lateness:.2f}", f"{one.whole:.2f}",
            str(one.late_pieces),
            f"{one.least:.2f}", percent(one.gross), str(one.sheets), str(one.plates), str(one.batches),
        )
        for one in answers
    ]  # fmt: skip
    return [f"  {line}" for line in aligned([HEAD, *rows], right=set(range(1, len(HEAD))))]


def _why(answers: Sequence[Answer], chosen: Answer) -> list[str]:
    """Return the choice and what speaks for it against each other answer."""
    lines = [f"Choose {chosen.name}: {chosen.whole:.2f}, with running its batches and lateness."]
    for other in answers:
        if other is chosen:
            continue
        if other.unplaced > chosen.unplaced:
            lines.append(f"  Against {other.name}: it leaves {counted(other.unplaced, 'piece')} unmade.")
            continue
        parts = []
        differences = (
            (other.cost - chosen.cost, "material and work"),
            (other.opened - chosen.opened, "running batches"),
            (other.lateness - chosen.lateness, "lateness"),
        )
        for value, words in differences:
            if round(abs(value), 2) > 0:
                parts.append(f"{abs(value):.2f} {'less' if value > 0 else 'more'} for {words}")
        said = ", ".join(parts) if parts else "the same money"
        lines.append(f"  Against {other.name}: {said}{_fewer(other.batches - chosen.batches)}.")
    return lines


def _fewer(batches: int) -> str:
    if not batches:
        return ""
    count = "1 batch" if abs(batches) == 1 else f"{abs(batches)} batches"
    return f", {count} {'fewer' if batches > 0 else 'more'}"


def what_if_csv(answers: Sequence[Answer], chosen: Answer) -> str:
    """Return the answers as CSV, money in the room's currency."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in answers:
        writer.writerow((
            one_line(one.name), f"{one.cost:.2f}", f"{one.opened:.2f}", f"{one.lateness:.2f}",
            f"{one.whole:.2f}", one.late_pieces,
            f"{one.least:.2f}", one.unplaced, f"{one.gross:.4f}", one.sheets, one.plates, one.batches,
            "yes" if one is chosen else "no",
        ))  # fmt: skip
    return out.getvalue()


def what_if_json(answers: Sequence[Answer], chosen: Answer, currency: str) -> str:
    """Return the answers as one JSON document."""
    cases = [{**asdict(one), "together": money(one.whole), "chosen": one is chosen} for one in answers]
    return json.dumps({"format": "nest-what-if", "version": 1, "currency": currency, "cases": cases}, indent=1) + "\n"
