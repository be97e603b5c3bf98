from __future__ import annotations

from nest.output.notices import job_rows_words, told_warnings, warnings_by_job

ROWS = [("7", "Cyan", ""), ("7", "Black", "left"), ("7", "Red: warm", ""), ("8", "Cyan", "")]
LONG = "around 300.26 mm is 7.36 mm longer than its cylinder takes; borders of 1.3 mm at lead and tail would fit"


def test_rows_of_one_job_that_say_the_same_are_one_line() -> None:
    warnings = [f"job 7 Cyan: {LONG}", f"job 8 Cyan: {LONG}", f"job 7 Black left: {LONG}"]
    assert told_warnings(warnings, ROWS) == [f"job 7 Cyan, Black left: {LONG}", f"job 8 Cyan: {LONG}"]


def test_rows_that_say_something_else_keep_their_line() -> None:
    warnings = ["job 7 Cyan: too long", "job 7 Black left: image too long for this cylinder"]
    assert told_warnings(warnings, ROWS) == warnings


def test_a_colon_in_a_name_is_part_of_the_name() -> None:
    assert warnings_by_job(["job 7 Red: warm: too long"], ROWS) == [("7", [("7", "Red: warm", "")], "too long")]


def test_a_warning_that_names_no_row_stands_as_it_is() -> None:
    words = "gap 3 mm: thinner than 5 mm, a strip that cannot be held"
    assert warnings_by_job([words], ROWS) == [(None, [], words)]
    assert told_warnings([words], ROWS) == [words]


def test_names_are_told_on_one_line() -> None:
    assert job_rows_words("7", [("Cyan\n", ""), ("Black", "left")]) == "job 7 Cyan, Black left"
