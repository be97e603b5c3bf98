from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from nest.domain.job import Need, Row
from nest.domain.plan import Unplaced
from nest.output.report.attention import attention, date_words, late_words
from tests.output import sample_plans as samples
from tests.output.report import made


def white(**more: object) -> Row:
    row = Row(job="2450", separation="White", material="HB170", image_across_mm=900.0, image_around_mm=900.0)
    return replace(row, **more)  # type: ignore[arg-type]


def test_rows_left_over_are_told_by_reason_with_their_due_dates() -> None:
    plan = samples.week()
    told = attention(plan, samples.room(), [*samples.rows_of(plan), white(due=datetime(2027, 3, 4, 9, 30))])
    assert [(one.reason, one.copies) for one in told.must] == [
        ("211.3 mm too wide for the imager", 1), ("needs 2 more sheets of HB170 900x1200", 2),
    ]  # fmt: skip
    assert told.must[0].rows == (("job 2450 White", 1, "2027-03-04 09:30"),)
    assert [one.copies for one in told.fill] == [3]
    assert len(told.warnings) == 1
    assert not told.nothing


def test_a_whole_plan_without_warnings_has_nothing_to_act_on() -> None:
    plan = samples.small()
    assert attention(plan, samples.room(), samples.rows_of(plan)).nothing


def test_a_row_approved_after_it_is_due_is_late_and_one_approved_in_time_is_not() -> None:
    plan = samples.small()
    rows = samples.rows_of(plan)
    due = datetime(2027, 3, 5)
    late = replace(rows[0], ready=datetime(2027, 3, 5, 0, 1), due=due)
    in_time = replace(rows[1], ready=due, due=due)
    assert late_words(plan, samples.room(), [late, in_time]) == [
        "job 2417 Cyan: artwork approved 2027-03-05 00:01, after its plates are due (2027-03-05)"
    ]


def test_stock_that_expires_before_a_row_left_over_is_due_is_named() -> None:
    left = Unplaced(job="2450", separation="White", part="", copies=1, need=Need.MUST, reason="too little stock")
    plan = replace(samples.small(), unplaced=(left,))
    room = made.room()
    (words,) = late_words(plan, room, [white(due=datetime(2027, 5, 5))])
    assert words == (
        "job 2450 White: not placed, and 2 stock lines of HB170 (F-0032, HB170 900x1200) will have expired when its "
        "plates are due (2027-05-05)"
    )
    # on the very day of its expiry a sheet still serves
    (words,) = late_words(plan, room, [white(due=datetime(2027, 5, 4))])
    assert "1 stock line of HB170 (F-0032)" in words
    assert late_words(plan, room, [white(due=datetime(2027, 1, 1))]) == []
    assert late_words(plan, room, [white()]) == []


def test_midnight_is_a_mere_date() -> None:
    assert date_words(datetime(2027, 3, 5)) == str(date(2027, 3, 5))
    assert date_words(None) == ""
