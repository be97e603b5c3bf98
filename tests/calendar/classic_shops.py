"""Classical shop instances with published optimal makespans, in the words of `nest.calendar.shop`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.calendar.shop import Place, Shop, Work

if TYPE_CHECKING:
    from collections.abc import Sequence

Job = "Sequence[tuple[int, int]]"

FT06_OPTIMUM, FT10_OPTIMUM = 55, 930
"""Makespans: Fisher and Thompson, Probabilistic learning combinations of local job-shop scheduling rules, in Muth and
Thompson (eds.), Industrial Scheduling, Prentice-Hall 1963, pp. 225-251; ft10 was proven by Carlier and Pinson, An
algorithm for solving the job-shop problem, Management Science 35, 1989, doi 10.1287/mnsc.35.2.164."""

FT06 = (
    "2 1  0 3  1 6  3 7  5 3  4 6",
    "1 8  2 5  4 10  5 10  0 10  3 4",
    "2 5  3 4  5 8  0 9  1 1  4 7",
    "1 5  0 5  2 5  3 3  4 8  5 9",
    "2 9  1 3  4 5  5 4  0 3  3 1",
    "1 3  3 3  5 9  0 10  4 4  2 1",
)
FT10 = (
    "0 29  1 78  2 9  3 36  4 49  5 11  6 62  7 56  8 44  9 21",
    "0 43  2 90  4 75  9 11  3 69  1 28  6 46  5 46  7 72  8 30",
    "1 91  0 85  3 39  2 74  8 90  5 10  7 12  6 89  9 45  4 33",
    "1 81  2 95  0 71  4 99  6 9  8 52  7 85  3 98  9 22  5 43",
    "2 14  0 6  1 22  5 61  3 26  4 69  8 21  7 49  9 72  6 53",
    "2 84  1 2  5 52  3 95  8 48  9 72  0 47  6 65  4 6  7 25",
    "1 46  0 37  3 61  2 13  6 32  5 21  9 32  8 89  7 30  4 55",
    "2 31  0 86  1 46  5 74  4 32  6 88  8 19  9 48  7 36  3 79",
    "0 76  1 69  3 76  5 51  2 85  9 11  6 40  7 89  4 26  8 74",
    "1 85  0 13  2 61  6 7  8 64  9 76  5 47  3 52  4 90  7 45",
)
"""Machine and minutes of each step, a line a job (the data of the 1963 chapter, as kept in public benchmark sets)."""


def jobs_of(lines: Sequence[str]) -> list[list[tuple[int, int]]]:
    rows = [[int(word) for word in line.split()] for line in lines]
    return [list(zip(row[::2], row[1::2], strict=True)) for row in rows]


def job_shop(jobs: Sequence[Sequence[tuple[int, int]]]) -> Shop:
    """Return jobs of (machine, ticks) in order as a shop."""
    works: list[Work] = []
    machines = 1 + max(machine for job in jobs for machine, _ in job)
    for job in jobs:
        for n, (machine, ticks) in enumerate(job):
            after = (len(works) - 1,) if n else ()
            works.append(Work(place=machine, ticks=ticks, after=after, last=n == len(job) - 1))
    return Shop(works=tuple(works), places=tuple(Place(name=f"machine {n}") for n in range(machines)))
