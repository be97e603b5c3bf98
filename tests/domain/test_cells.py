from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from nest.domain.cells import guarded, unguarded


@given(st.text())
@example("'")
@example("''=")
@example("'\t")
def test_every_text_comes_back_exactly(text: str) -> None:
    assert unguarded(guarded(text)) == text


@given(st.text())
def test_no_guarded_cell_begins_like_a_formula(text: str) -> None:
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))


@pytest.mark.parametrize("text", ["A6-118", "it's", "'quoted'", "2027-09-30", ""])
def test_plain_texts_are_left_as_they_are(text: str) -> None:
    assert guarded(text) == unguarded(text) == text
