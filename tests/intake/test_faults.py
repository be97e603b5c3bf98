from __future__ import annotations

import pytest

from nest.errors import InputError
from nest.intake.faults import FaultList, nearest, offer, quoted


def test_faults_come_in_line_order_and_those_of_one_line_as_found() -> None:
    faults = FaultList("a.csv")
    faults.add(line=3, where="job", rule="r1", remedy="m")
    faults.add(line=2, where="job", rule="r2", remedy="m")
    faults.add(line=3, where="part", rule="r3", remedy="m")
    assert [fault.rule for fault in faults.in_order()] == ["r2", "r1", "r3"]


def test_a_fault_reads_place_rule_value_and_remedy() -> None:
    faults = FaultList("a.csv")
    faults.add(line=3, where="copies", rule="must be a count", got="'x'", remedy="write one")
    with pytest.raises(InputError) as caught:
        faults.stop_if_any()
    assert str(caught.value) == "a.csv:3: copies: must be a count; got 'x'; write one\n1 fault, nothing written"


def test_no_fault_stops_nothing() -> None:
    faults = FaultList("a.csv")
    assert not faults
    faults.stop_if_any()


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("x", "'x'"),
        ("a\nb\x07", r"'a\nb\x07'"),
        ("it's", '"it\'s"'),
        (True, "true"),
        (-0.5, "-0.5"),
        ([1], "a list"),
        ({"a": 1}, "a table"),
    ],
)
def test_a_value_is_shown_on_one_printable_line(value: object, text: str) -> None:
    assert quoted(value) == text


def test_a_long_value_is_cut_at_sixty_characters() -> None:
    assert quoted("x" * 60) == "'" + "x" * 60 + "'"
    assert quoted("x" * 61) == "'" + "x" * 59 + "…'"
    assert quoted(10**60) == "1" + "0" * 58 + "…"


@pytest.mark.parametrize(
    ("word", "found"),
    [("Image Across", "image_across"), ("image-arround", "image_around"), ("separaton", "separation"), ("qqq", None)],
)
def test_the_nearest_known_name_is_found_over_case_spaces_and_slips(word: str, found: str | None) -> None:
    assert nearest(word, ["image_across", "image_around", "separation"]) == found


def test_an_unknown_word_gets_the_nearest_or_the_whole_list() -> None:
    assert offer("yelow", ["yellow", "blue"]) == "did you mean 'yellow'?"
    assert offer("xyz", ["yellow", "blue"]) == "known here: blue, yellow"
    assert offer("xyz", []) == "nothing is known here"
