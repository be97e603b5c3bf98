from __future__ import annotations

import pytest

from nest.errors import CheckFailed, Fault, InputError, Interrupted, NestError, OutputError, StockError


@pytest.mark.parametrize(
    ("error", "code"),
    [(NestError, 1), (CheckFailed, 1), (InputError, 2), (OutputError, 2), (StockError, 4), (Interrupted, 130)],
)
def test_every_error_has_the_exit_code_of_the_contract(error: type[NestError], code: int) -> None:
    assert issubclass(error, NestError)
    assert error.exit_code == code


def test_a_fault_reads_place_rule_value_remedy() -> None:
    fault = Fault(
        file="jobs.csv", line=7, where="copies", rule="a whole number from 1 to 10,000", got="1e9", remedy="correct it"
    )
    assert str(fault) == "jobs.csv:7: copies: a whole number from 1 to 10,000; got 1e9; correct it"


def test_a_fault_without_line_column_or_value_leaves_them_out() -> None:
    assert str(Fault(file="room.toml", rule="at least one material", remedy="add one")) == (
        "room.toml: at least one material; add one"
    )


def test_an_input_error_tells_every_fault_and_that_nothing_was_written() -> None:
    faults = tuple(Fault(file="jobs.csv", line=n, rule="a number", got="x", remedy="correct it") for n in (2, 3))
    error = InputError(faults)
    assert error.faults == faults
    assert str(error).splitlines() == [
        "jobs.csv:2: a number; got x; correct it",
        "jobs.csv:3: a number; got x; correct it",
        "2 faults, nothing written",
    ]
    assert str(InputError(faults[:1])).endswith("\n1 fault, nothing written")


def test_errors_are_also_what_python_calls_them() -> None:
    # so that library code that knows nothing of this project can catch them
    assert issubclass(InputError, ValueError)
    assert issubclass(OutputError, OSError)
