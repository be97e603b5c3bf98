from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nest.packing.kernels.chance import below, new_state, uniform

MASK = (1 << 64) - 1


def xorshift64star(word: int) -> tuple[int, int]:
    """Return (next state, output) of the published generator: shifts 12, 25, 27, multiplier 2685821657736338717.

    Source: Vigna 2016, "An experimental exploration of Marsaglia's xorshift generators, scrambled", ACM TOMS 42(4),
    doi 10.1145/2845077, figure 2.
    """
    word ^= word >> 12
    word = (word ^ (word << 25)) & MASK
    word ^= word >> 27
    return word, word * 2685821657736338717 & MASK


@settings(deadline=None, derandomize=True)
@given(st.integers(1, MASK))
def test_the_generator_is_the_published_one(seed: int) -> None:
    state = np.array([seed], np.uint64)
    word = seed
    for _ in range(5):
        word, out = xorshift64star(word)
        assert float(uniform(state)) == (out >> 11) / 2**53
        assert int(state[0]) == word


def test_numbers_below_n_are_whole_and_all_of_them_come() -> None:
    state = new_state(0, 0)
    drawn = [int(below(state, 5)) for _ in range(500)]
    assert set(drawn) == {0, 1, 2, 3, 4}


def test_uniform_numbers_are_spread_evenly() -> None:
    state = new_state(1, 0)
    drawn = np.array([float(uniform(state)) for _ in range(4000)])
    assert drawn.min() >= 0.0
    assert drawn.max() < 1.0
    # mean 1/2 with a standard error of 1/sqrt(12*4000) = 0.0046: four of them
    assert drawn.mean() == pytest.approx(0.5, abs=0.0183)


def test_seed_and_stream_both_count_and_a_state_is_never_zero() -> None:
    words = {int(new_state(seed, stream)[0]) for seed in range(10) for stream in range(10)}
    assert len(words) == 100
    assert all(word & 1 for word in words)
    assert (new_state(3, 4) == new_state(3, 4)).all()


@pytest.mark.parametrize("seed", [-1, 2**40, 0])
def test_any_whole_number_is_a_seed(seed: int) -> None:
    assert int(new_state(seed, 0)[0]) > 0
