from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nest.domain.room import Unit
from nest.output.lengths import Lengths, fraction_words


@given(inches=st.floats(0, 100), parts=st.sampled_from([8, 16, 32, 64]))
def test_a_fraction_is_the_nearest_mark_of_the_ruler(inches: float, parts: int) -> None:
    words = fraction_words(inches, parts)
    read = sum(Fraction(word) for word in words.split(" "))
    assert read.denominator <= parts
    assert abs(read - Fraction(inches)) <= Fraction(1, 2 * parts)


@pytest.mark.parametrize(
    ("mm", "parts", "told"),
    # 24 1/2 in = 622.3 mm exactly; 380 mm = 14.961 in, nearest 1/16 is 14 15/16 = 14.9375, nearest 1/64 is 14 61/64
    [(622.3, 16, "24 1/2 in"), (380.0, 16, "14 15/16 in (14.961)"), (380.0, 64, "14 61/64 in (14.961)"),
     (0.0, 8, "0 in")],
)  # fmt: skip
def test_a_fraction_that_is_not_exact_stands_beside_the_exact_figure(mm: float, parts: int, told: str) -> None:
    assert Lengths(unit=Unit.INCH, fractions=parts).told(mm) == told


def test_without_fractions_lengths_are_decimal() -> None:
    assert Lengths(unit=Unit.MM).told(304.9052) == "304.91 mm"
    assert Lengths(unit=Unit.INCH).told(304.8) == "12 in"
    assert Lengths(unit=Unit.INCH, fractions=16).size(381.0, 254.0) == "across 15 / around 10 in"
