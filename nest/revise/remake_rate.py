"""How many pieces had to be made again, why, and what that cost, by ISO week (ISO 8601) and reason."""

from __future__ import annotations

import csv
import io
import math
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.words import counted, one_line
from nest.revise.remake import Reason
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date

    from nest.revise.remakes_file import Entry

ALL = "all"
"""The line of all weeks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekRate:
    """One week: pieces made and made again, and by reason how many and what they cost.

    ``made`` counts pieces as first made, without those made again; None where no plan is known to be of that week.
    """

    week: str
    made: int | None
    again: int
    by_reason: Mapping[Reason, tuple[int, float, float]]

    @property
    def rate(self) -> float | None:
        """Pieces made again per piece made."""
        return self.again / self.made if self.made else None

    @property
    def cost(self) -> float:
        """By how much plans became dearer."""
        return money(math.fsum(cost for _, cost, _ in self.by_reason.values()))

    @property
    def lost(self) -> float:
        """What the damaged pieces had cost."""
        return money(math.fsum(lost for _, _, lost in self.by_reason.values()))


def week_of(day: date) -> str:
    """Return the ISO week of a day.

    Examples
    --------
    >>> from datetime import date
    >>> week_of(date(2027, 1, 1)), week_of(date(2027, 1, 4))
    ('2026-W53', '2027-W01')
    """
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def rates(entries: Sequence[Entry], made: Mapping[str, int], undated: int = 0) -> list[WeekRate]:
    """Return a line for each week with entries or pieces made, and last one for all of them.

    Parameters
    ----------
    made : mapping of week to int
        Pieces made in each ISO week.
    undated : int
        Pieces made of which the week is not known; they count in the last line only.
    """
    found: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        found[week_of(entry.date)].append(entry)
    lines = [_rate(week, found[week], made.get(week)) for week in sorted({*found, *made})]
    return [*lines, _rate(ALL, entries, sum(made.values()) + undated)]


def _rate(week: str, entries: Sequence[Entry], made: int | None) -> WeekRate:
    reasons = {
        reason: (
            sum(e.reason is reason for e in entries),
            money(math.fsum(e.cost for e in entries if e.reason is reason)),
            money(math.fsum(e.lost for e in entries if e.reason is reason)),
        )
        for reason in Reason
    }
    return WeekRate(
        week=week, made=made, again=len(entries), by_reason={r: told for r, told in reasons.items() if told[0]}
    )


def rates_text(lines: Iterable[WeekRate], currency: str) -> str:
    """Return the table for the terminal: a line a week, under it a line a reason."""
    rows = [("week", "made", "again", "rate", "cost", "lost")]
    for line in lines:
        rate = "-" if line.rate is None else f"{100 * line.rate:.1f} %"
        made = "-" if line.made is None else str(line.made)
        rows.append((line.week, made, str(line.again), rate, f"{line.cost + 0.0:.2f}", f"{line.lost + 0.0:.2f}"))
        for reason, (count, cost, lost) in line.by_reason.items():
            share = "-" if not line.made else f"{100 * count / line.made:.1f} %"
            rows.append((f"  {reason.value}", "", str(count), share, f"{cost + 0.0:.2f}", f"{lost + 0.0:.2f}"))
    widths = [max(len(row[n]) for row in rows) for n in range(6)]
    table = "\n".join(
        "  ".join([row[0].ljust(widths[0]), *(row[n].rjust(widths[n]) for n in range(1, 6))]).rstrip() for row in rows
    )
    return (
        f"{table}\ncost: by how much plans became dearer; lost: the damaged pieces' share of their sheets; "
        f"{one_line(currency)}\n"
    )


def rates_csv(lines: Iterable[WeekRate]) -> str:
    """Return a line for each week and reason, and one for each week as a whole with the reason left empty."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("week", "reason", "made", "made_again", "rate", "cost", "lost"))
    for line in lines:
        made = "" if line.made is None else line.made
        for reason, (count, cost, lost) in [
            *line.by_reason.items(), (None, (line.again, line.cost, line.lost)),
        ]:  # fmt: skip
            rate = f"{count / line.made:.4f}" if line.made else ""
            writer.writerow((
                line.week, reason.value if reason else "", made, count, rate, f"{cost + 0.0:.2f}", f"{lost + 0.0:.2f}",
            ))  # fmt: skip
    return out.getvalue()


def undated_words(pieces: int, plans: int) -> str:
    """Return that some plans have no remake and so no week."""
    return f"{counted(pieces, 'piece')} of {counted(plans, 'plan')} without remakes count in the last line only"


def weeks_made(entries: Sequence[Entry], current: Mapping[str, int]) -> tuple[Counter[str], int, int]:
    """Return the pieces made by week, the pieces of plans without a week, and how many such plans there are.

    A plan is of the week of its first remake: nothing else in its folder is dated by the calendar of the room.

    Parameters
    ----------
    entries : sequence of Entry
        All entries; each names its plan.
    current : mapping of plan to int
        Pieces first made of the plans that stand in the folders now; those of other plans are taken from the entries.
    """
    made: Counter[str] = Counter()
    first: dict[str, date] = {}
    pieces: dict[str, int] = {}
    for entry in entries:
        first[entry.plan] = min(entry.date, first.get(entry.plan, entry.date))
        pieces[entry.plan] = entry.made
    pieces |= current
    for plan, day in first.items():
        made[week_of(day)] += pieces[plan]
    undated = [count for plan, count in current.items() if plan not in first]
    return made, sum(undated), len(undated)
