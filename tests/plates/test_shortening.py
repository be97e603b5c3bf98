from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.plates.shortening import full_wrap_length, k_factor, repeat_of_teeth, shortening_factor


def test_no_polymer_above_the_film_means_no_shortening() -> None:
    assert k_factor(0.125, 0.125) == 0.0
    assert shortening_factor(0.0, 300.0) == 1.0


def test_no_repeat_means_no_shortening() -> None:
    assert shortening_factor(9.896, None) == 1.0


@pytest.mark.parametrize("repeat", [9.9, 9.0, 0.0])
def test_a_repeat_not_longer_than_k_is_refused(repeat: float) -> None:
    with pytest.raises(ValueError, match=f"repeat {repeat} mm must be longer than K = 9.9000 mm"):
        shortening_factor(9.9, repeat)


def test_a_repeat_just_longer_than_k_is_taken() -> None:
    assert 0 < shortening_factor(9.9, 9.9001) < 1e-4


@settings(deadline=None, derandomize=True)
@given(st.floats(0.5, 7.0), st.floats(0.0, 0.3), st.floats(100.0, 2000.0))
def test_the_stretch_undoes_the_shortening(thickness: float, base: float, repeat: float) -> None:
    # trade.md 1.4: seen from the flat side the stretch is K/(R-K); f * (1 + K/(R-K)) = 1 (derived)
    k = k_factor(thickness, base)
    f = shortening_factor(k, repeat)
    assert f * (1 + k / (repeat - k)) == pytest.approx(1.0, abs=1e-12)


def test_the_wrap_limit_of_a_shortened_full_image_leaves_exactly_the_seam() -> None:
    # an image as long as the repeat less the seam at the face: f*(R - seam) is longer than R - K - seam by K*seam/R
    k, repeat, seam = k_factor(1.70, 0.125), 500.0, 2.0
    longer = shortening_factor(k, repeat) * (repeat - seam) - full_wrap_length(repeat, k, seam)
    assert longer == pytest.approx(k * seam / repeat, abs=1e-9)


def test_teeth_times_pitch_is_the_repeat() -> None:
    assert repeat_of_teeth(96, 3.175) == pytest.approx(304.8, abs=1e-9)
    assert repeat_of_teeth(40, math.pi * 5) == pytest.approx(628.318531, abs=5e-7)
