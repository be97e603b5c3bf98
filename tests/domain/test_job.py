from __future__ import annotations

from nest.domain.job import Need, Turn
from tests.packing.shop import row


def test_a_row_is_known_by_job_separation_and_part() -> None:
    assert row("Cyan", 1, 1, part="P2").key == ("3101", "Cyan", "P2")


def test_a_row_as_short_as_can_be_must_be_made_once() -> None:
    one = row("Cyan", 1, 1)
    assert (one.copies, one.need, one.turn, one.together) == (1, Need.MUST, None, None)


def test_choices_are_the_words_of_the_files() -> None:
    assert [turn.value for turn in Turn] == ["set", "free", "fixed", "cross"]
