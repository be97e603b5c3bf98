"""Whatever the two files hold, the answer is a week or a list of faults; never another error."""

from __future__ import annotations

import math
import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from nest.domain.job import Row
from nest.errors import Fault, InputError
from nest.intake import read_week
from nest.intake.columns import COLUMNS
from tests.intake.samples import HEADER, ROW, SMALL_ROOM, write
from tests.intake.test_room import FULL
from tests.intake.test_workbook import book

WORDS = st.sampled_from(
    ["", "1", "-1", "0", "1e308", "1e-308", "1e999", "nan", "inf", "3 1/16", "1/0", "1,5", "1.200", "yes", "no",
     "plate", "copies", "fill", "set", "HB170", "2027-03-05", "2027-03-05T10:00", "9999-12-31", "0001-01-01", "96",
     "10000", "²",     "\u202e", "\x00", "\x07", '"', "a\nb", ";", "\t", "=1+1", "9" * 70]
)
CELLS = st.one_of(WORDS, st.text(max_size=12), st.floats().map(str), st.integers().map(str))


def outcome_of(jobs: bytes, room: bytes, name: str = "jobs.csv") -> tuple[Row, ...] | InputError:
    """Return what reading the two files ends in; every other error goes through."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            rows, _ = read_week(write(Path(folder), name, jobs), write(Path(folder), "room.toml", room))
        except InputError as error:
            return error
        return rows


def is_sound(outcome: tuple[Row, ...] | InputError) -> bool:
    """Return whether an outcome is rows that can be planned, or at least one fault that says what to do."""
    if isinstance(outcome, InputError):
        return bool(outcome.faults) and all(
            fault.rule and fault.remedy and "\n" not in str(fault) for fault in outcome.faults
        )
    return bool(outcome) and all(is_plannable(row) for row in outcome)


def is_plannable(row: Row) -> bool:
    sizes = row.image_across_mm, row.image_around_mm
    named = row.job and row.separation and row.material
    return bool(named) and 1 <= row.copies <= 10_000 and all(math.isfinite(mm) and mm > 0 for mm in sizes)


def test_what_these_tests_call_sound_can_fail() -> None:
    fault = Fault(file="jobs.csv", rule="must be a number", remedy="write one")
    row = Row(job="1", separation="Cyan", material="HB170", image_across_mm=100.0, image_around_mm=200.0)
    assert is_sound((row,))
    assert is_sound(InputError((fault,)))
    assert not is_sound(())
    assert not is_sound(InputError(()))
    for wrong in (replace(fault, remedy=""), replace(fault, got="a\nb")):
        assert not is_sound(InputError((fault, wrong)))
    for change in ({"job": ""}, {"copies": 0}, {"image_around_mm": math.nan}, {"image_across_mm": 0.0}):
        assert not is_sound((row, replace(row, **change)))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=300), st.binary(max_size=300))
def test_random_bytes(jobs: bytes, room: bytes) -> None:
    assert is_sound(outcome_of(jobs, room))
    assert is_sound(outcome_of(jobs, SMALL_ROOM.encode()))
    assert is_sound(outcome_of(f"{HEADER}\n{ROW}\n".encode(), room))
    assert is_sound(outcome_of(f"{HEADER}\n".encode() + jobs, SMALL_ROOM.encode()))


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=200))
def test_random_bytes_called_a_workbook(jobs: bytes) -> None:
    assert is_sound(outcome_of(jobs, SMALL_ROOM.encode(), "jobs.xlsx"))
    assert is_sound(outcome_of(b"PK\x03\x04" + jobs, SMALL_ROOM.encode(), "jobs.xlsx"))


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.sampled_from(sorted(COLUMNS)), min_size=1, max_size=8, unique=True),
    st.lists(st.lists(CELLS, min_size=12, max_size=12), min_size=1, max_size=3),
    st.sampled_from(",;\t"),
    st.booleans(),
    st.sampled_from([SMALL_ROOM, FULL, "broken ="]),
)
def test_random_cells_under_known_headers(
    extra: list[str], records: list[list[str]], separator: str, quotes: bool, room: str
) -> None:
    start = ["job", "separation", "material", "image_across", "image_around"]
    names = start + [name for name in extra if name not in start]
    quote = '"' if quotes else ""
    lines = [separator.join(names)]
    for n, record in enumerate(records):
        cells = [str(n), "Cyan", "HB170", "100", "200", *record][: len(names)]
        if n == 2:
            cells = [*record, *record][: len(names)]
        lines.append(separator.join(f"{quote}{cell}{quote}" for cell in cells))
    assert is_sound(outcome_of("\n".join(lines).encode("utf-8", "surrogatepass"), room.encode()))


VALUES = st.sampled_from(
    ["1", "0", "-1", "nan", "inf", "1e308", "1e-308", '"x"', '""', "true", "[]", "{}", "[1, 2]", "2027-01-01",
     "10:00:00", '["*"]', "9" * 400, "{a = 1}", '"HB170"', '"mm"', '"in"']
)


HEADS = st.sampled_from(["", "[x]", "[[sheets]]", "#"])


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_the_full_room_with_values_and_lines_changed(data: st.DataObject) -> None:
    lines = FULL.strip().split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        key, equals, _ = lines[at].partition(" = ")
        lines[at] = f"{key} = {data.draw(VALUES)}" if equals else data.draw(HEADS)
    assert is_sound(outcome_of(f"{HEADER}\n{ROW}\n".encode(), "\n".join(lines).encode()))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(
            st.one_of(
                st.integers(-(10**15), 10**15),
                st.floats(allow_nan=False, allow_infinity=False),
                st.booleans(),
                st.dates(),
                st.datetimes(),
                st.times(),
                st.none(),
                st.text(st.characters(blacklist_categories=["C"]), max_size=6),
            ),
            min_size=1,
            max_size=7,
        ),
        max_size=3,
    )
)
def test_random_typed_cells_of_a_workbook(records: list[list[object]]) -> None:
    assert is_sound(outcome_of(book([*HEADER.split(","), "copies", "due"], *records), SMALL_ROOM.encode(), "jobs.xlsx"))
