from __future__ import annotations

from datetime import date, time
from typing import TYPE_CHECKING

import pytest

from nest.domain.calendar import Calendar, DayChange, Shift
from tests.intake.samples import SMALL_ROOM, room_faults, room_of

if TYPE_CHECKING:
    from pathlib import Path

FULL = """
[calendar]
late_per_day = 40
per_batch = 25
[[calendar.shifts]]
name = "early"
days = ["Mon", "thursday"]
from = "06:00"
to = 14:00:00
plates = 8
[[calendar.shifts]]
name = "late"
from = "14:00"
to = "22:00"
minutes = 300
[[calendar.changes]]
day = 2027-04-05
closed = true
[[calendar.changes]]
day = 2027-04-06
shift = "late"
to = "20:00"
plates = 3
"""
ONE = '\n[calendar]\n[[calendar.shifts]]\nname = "early"\nfrom = "06:00"\nto = "14:00"\n'


def test_a_room_without_a_calendar_has_none(tmp_path: Path) -> None:
    assert room_of(tmp_path, SMALL_ROOM).calendar is None


def test_shifts_and_changes_are_read(tmp_path: Path) -> None:
    room = room_of(tmp_path, SMALL_ROOM.replace("[imager]", "[imager]\nrpm = 300\nbeams = 32") + FULL)
    assert room.calendar == Calendar(
        late_per_day=40.0,
        per_batch=25.0,
        shifts=(
            Shift(name="early", days=(0, 3), start=time(6), end=time(14), plates=8),
            Shift(name="late", days=(0, 1, 2, 3, 4), start=time(14), end=time(22), minutes=300.0),
        ),
        changes=(
            DayChange(day=date(2027, 4, 5), closed=True),
            DayChange(day=date(2027, 4, 6), shift="late", end=time(20), plates=3),
        ),
    )


def test_the_time_until_a_plate_is_ready_to_mount_is_the_materials(tmp_path: Path) -> None:
    assert room_of(tmp_path, SMALL_ROOM + "elapsed_hours = 1.5\n").elapsed_of("HB170") == 1.5
    assert room_of(tmp_path, SMALL_ROOM).elapsed_of("HB170") == 4.0


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("\n[calendar]\n", "room.toml:8: calendar: must name at least one batch; "
                           "add [[calendar.shifts]] with name, days, from, to"),
        (ONE + 'days = ["monday", "funday"]\n',
         "room.toml:13: calendar.shifts[1].days: must name days among mon, tue, wed, thu, fri, sat, sun; "
         "got 'funday'; known here: fri, mon, sat, sun, thu, tue, wed"),
        (ONE + 'days = ["mon", "Monday"]\n',
         "room.toml:13: calendar.shifts[1].days: must name each day once; got 'Monday'; remove one"),
        (ONE + "days = 3\n",
         "room.toml:13: calendar.shifts[1].days: must be a list of days; got 3; write it like [\"mon\", \"thu\"]"),
        (ONE.replace('"06:00"', '"6 am"'),
         "room.toml:11: calendar.shifts[1].from: must be a time of day; got '6 am'; write it like \"06:00\""),
        (ONE.replace('"06:00"', "6"),
         "room.toml:11: calendar.shifts[1].from: must be a time of day, the room's own; got 6; "
         "write it like \"06:00\""),
        (ONE.replace('from = "06:00"\n', ""),
         "room.toml:9: calendar.shifts[1]: the required key 'from' is missing; add it"),
        (ONE + ONE.partition("[calendar]\n")[2],
         "room.toml:14: calendar.shifts[2].name: each shift has a name of its own; got 'early'; "
         "give it another name"),
        (ONE + "plates = 0\n", "room.toml:13: calendar.shifts[1].plates: must be 1 or more; got 0; correct the figure"),
        (ONE + "plate = 2\n",
         "room.toml:13: calendar.shifts[1].plate: unknown key; got 'plate'; did you mean 'plates'?"),
        (ONE + "[[calendar.changes]]\nclosed = true\n",
         "room.toml:13: calendar.changes[1]: the required key 'day' is missing; add it, like day = 2027-04-05"),
        (ONE + "[[calendar.changes]]\nday = 2027-04-05\n",
         "room.toml:13: calendar.changes[1]: says nothing: a day is closed, or one of its shifts differs; "
         "write closed = true, or name the shift"),
        (ONE + '[[calendar.changes]]\nday = 2027-04-05\nshift = "early"\n',
         "room.toml:13: calendar.changes[1]: says nothing about the shift; write closed = true, or its own hours"),
        (ONE + '[[calendar.changes]]\nday = 2027-04-05\nshift = "erly"\nplates = 2\n',
         "room.toml:15: calendar.changes[1].shift: no such shift in the week; got 'erly'; did you mean 'early'?"),
        (ONE + '[[calendar.changes]]\nday = 2027-04-05\nshift = "erly"\nclosed = true\n',
         "room.toml:15: calendar.changes[1].shift: no such shift in the week; got 'erly'; did you mean 'early'?"),
        (ONE + "[[calendar.changes]]\nday = 2027-04-05\nclosed = true\nplates = 2\n",
         "room.toml:15: calendar.changes[1].closed: a closed day or shift has no hours and limits; got true; "
         "remove one"),
        (ONE + 2 * "[[calendar.changes]]\nday = 2027-04-05\nclosed = true\n",
         "room.toml:16: calendar.changes[2]: each shift of a day changes once; got 2027-04-05; join the entries"),
    ],
)  # fmt: skip
def test_a_faulty_calendar_is_one_clear_fault(tmp_path: Path, text: str, fault: str) -> None:
    assert room_faults(tmp_path, SMALL_ROOM + text) == [fault]


def test_minutes_of_a_shift_need_drum_speed_and_beams(tmp_path: Path) -> None:
    found = room_faults(tmp_path, SMALL_ROOM + ONE + "minutes = 300\n")
    assert found == [
        "room.toml:13: calendar.shifts[1].minutes: minutes of the imager need rpm and beams; got 300; "
        "give both in [imager], or limit the plates"
    ]  # fmt: skip
