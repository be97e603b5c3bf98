"""Jobs as the report lists them: what each costs and where it lies; the page's elements are named by their order."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nest.output.report.attention import date_words
from nest.units import money

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.job import Row
    from nest.domain.plan import JobShare, Plan
    from nest.output.patterns import Pattern


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One job: ``key`` names it in the page, ``sheets`` are (name of the pattern in the page, sheet id) it lies on."""

    key: str
    job: str
    customer: str
    title: str
    due: str
    pieces: int
    left: int
    m2: float | None
    share: float | None
    alone: float | None
    sheets: tuple[tuple[str, str], ...]

    @property
    def saving(self) -> float | None:
        """What planning it with others saves, where known."""
        return None if self.alone is None or self.share is None else money(self.alone - self.share)


def jobs_of(
    plan: Plan, rows: Sequence[Row], shares: Sequence[JobShare], drawn: Sequence[Pattern]
) -> tuple[Job, ...]:
    """Return the jobs in order of their number, those placed and those left over."""
    by_job: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        by_job[row.job].append(row)
    where: dict[str, dict[str, tuple[str, str]]] = defaultdict(dict)
    count: dict[str, int] = defaultdict(int)
    for number, pattern in enumerate(drawn, 1):
        for plate in pattern.first.plates:
            for piece in plate.pieces:
                where[piece.job][f"sheet-{number}"] = (f"sheet-{number}", pattern.first.id)
                count[piece.job] += len(pattern.sheets)
    left: dict[str, int] = defaultdict(int)
    for one in plan.unplaced:
        left[one.job] += one.copies
    cost = {share.job: share for share in shares}
    names = sorted({*by_job, *where, *left}, key=_by_number)
    return tuple(
        _job(f"job-{n}", name, by_job[name], cost.get(name), tuple(where[name].values()), count[name], left[name])
        for n, name in enumerate(names, 1)
    )


def _by_number(name: str) -> tuple[bool, int, str]:
    plain = name.isascii() and name.isdigit() and len(name) <= 18
    return (not plain, int(name) if plain else 0, name)


def _job(
    key: str, name: str, rows: Sequence[Row], cost: JobShare | None, sheets: tuple[tuple[str, str], ...],
    pieces: int, left: int,
) -> Job:  # fmt: skip
    dues = [row.due for row in rows if row.due is not None]
    return Job(
        key=key, job=name,
        customer=next((row.customer for row in rows if row.customer), ""),
        title=next((row.title for row in rows if row.title), ""),
        due=date_words(min(dues)) if dues else "",
        pieces=pieces, left=left,
        m2=None if cost is None else cost.piece_m2,
        share=None if cost is None else cost.share,
        alone=None if cost is None else cost.alone,
        sheets=sheets,
    )  # fmt: skip
