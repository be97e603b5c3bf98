"""What rows ask for: every copy made once or accounted for, and the company its pieces keep."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from nest.check.facts import row_name
from nest.check.violation import Violation
from nest.domain.job import Need, Together

if TYPE_CHECKING:
    from collections.abc import Iterator

    from nest.check.facts import Facts, Located
    from nest.domain.job import RowKey


def copies(facts: Facts) -> Iterator[Violation]:
    """Check that every copy of a row is placed once, numbered within 1..copies, or listed as unplaced."""
    missing = unplaced_of(facts)
    for key, found in facts.by_row().items():
        ordered = facts.wanted[key].row.copies
        counts = Counter(one.piece.copy for one in found)
        for copy, count in sorted(counts.items()):
            if not 1 <= copy <= ordered:
                yield Violation(
                    place=row_name(key), rule="copy-number", text=f"copies 1 to {ordered} expected, got {copy}",
                )
            if count > 1:
                yield Violation(
                    place=row_name(key), rule="copy-twice", text=f"copy {copy} expected once, got {count} times",
                )
        due = facts.due(key)
        if len(found) + missing[key] != due:
            yield Violation(
                place=row_name(key), rule="copies",
                text=f"{due} copies placed or unplaced expected, got {len(found)} placed and "
                     f"{missing[key]} unplaced",
            )


def unplaced_of(facts: Facts) -> Counter[RowKey]:
    """Return how many copies of each row the plan lists as unplaced."""
    found: Counter[RowKey] = Counter()
    for one in facts.plan.unplaced:
        found[(one.job, one.separation, one.part)] += one.copies
    return found


def unplaced(facts: Facts) -> Iterator[Violation]:
    """Check that every row is listed as unplaced at most once, with a count, its need and a reason."""
    listed = Counter((one.job, one.separation, one.part) for one in facts.plan.unplaced)
    for key, count in sorted(listed.items()):
        if key not in facts.wanted:
            yield Violation(place=row_name(key), rule="unplaced", text="a row of the jobs expected in unplaced")
        if count > 1:
            yield Violation(
                place=row_name(key), rule="unplaced", text=f"one entry in unplaced expected, got {count}",
            )
    for one in facts.plan.unplaced:
        key = (one.job, one.separation, one.part)
        if one.copies < 1:
            yield Violation(
                place=row_name(key), rule="unplaced", text=f"at least 1 copy unplaced expected, got {one.copies}",
            )
        if not one.reason.strip():
            yield Violation(place=row_name(key), rule="unplaced-reason", text="a reason expected, got none")
        if key in facts.wanted and one.need is not facts.wanted[key].row.need:
            yield Violation(
                place=row_name(key), rule="unplaced-need",
                text=f"need {facts.wanted[key].row.need.value} expected, got {one.need.value}",
            )


def apart(facts: Facts) -> Iterator[Violation]:
    """Check that no plate holds two copies of a row whose copies must be apart."""
    for plate_id, found in facts.by_plate().items():
        counts = Counter(one.piece.row for one in found if one.wanted.row.apart)
        for key, count in sorted(counts.items()):
            if count > 1:
                yield Violation(
                    place=plate_id, rule="apart", text=f"one copy of {row_name(key)} expected, got {count}",
                )


def alone(facts: Facts) -> Iterator[Violation]:
    """Check that a plate with a piece that must be alone holds no other job's."""
    for plate_id, found in facts.by_plate().items():
        jobs = sorted({one.wanted.row.job for one in found})
        closed = sorted({one.wanted.row.job for one in found if one.wanted.row.alone})
        if closed and len(jobs) > 1:
            yield Violation(
                place=plate_id, rule="alone", text=f"only job {closed[0]} expected, got jobs {', '.join(jobs)}",
            )


def together(facts: Facts) -> Iterator[Violation]:
    """Check that rows held together by plate, and copies held together, are on one plate whole or not at all.

    Fill rows of such a job may be left over without the others, but not in part.
    """
    by_row = facts.by_row()
    jobs: dict[str, dict[Need, list[RowKey]]] = defaultdict(lambda: defaultdict(list))
    for key, wanted in facts.wanted.items():
        if wanted.row.together is Together.PLATE:
            jobs[wanted.row.job][wanted.row.need].append(key)
        if wanted.row.together is Together.COPIES:
            yield from _one_plate(row_name(key), "together-copies", by_row[key])
            yield from _whole(row_name(key), "together-copies", by_row[key], facts.due(key))
    for job, needs in sorted(jobs.items()):
        every = [one for keys in needs.values() for key in keys for one in by_row[key]]
        yield from _one_plate(f"job {job}", "together-plate", every)
        for keys in needs.values():
            found = [one for key in keys for one in by_row[key]]
            ordered = sum(facts.due(key) for key in keys)
            yield from _whole(f"job {job}", "together-plate", found, ordered)


def _one_plate(place: str, rule: str, found: list[Located]) -> Iterator[Violation]:
    plates = sorted({one.plate.id for one in found})
    if len(plates) > 1:
        yield Violation(place=place, rule=rule, text=f"one plate expected, got {', '.join(plates)}")


def _whole(place: str, rule: str, found: list[Located], ordered: int) -> Iterator[Violation]:
    if found and len(found) != ordered:
        yield Violation(place=place, rule=rule, text=f"all {ordered} pieces or none expected, got {len(found)}")
