"""Own random state for the compiled loops.

Method: xorshift64* (Vigna 2016, "An experimental exploration of Marsaglia's xorshift generators, scrambled",
ACM TOMS 42(4), doi 10.1145/2845077). One word of state in an array, so that a caller owns and passes it.
"""

from __future__ import annotations

import numpy as np

from nest.packing.kernels.compiling import compiled

A = np.uint64(12)
B = np.uint64(25)
C = np.uint64(27)
MULTIPLIER = np.uint64(2685821657736338717)
TOP = np.uint64(11)
SCALE = 1.0 / 9007199254740992.0


@compiled()
def uniform(state):  # type: ignore[no-untyped-def]
    """Return the next float in [0, 1) and step the state (uint64 array of one word, never zero)."""
    x = state[0]
    x ^= x >> A
    x ^= x << B
    x ^= x >> C
    state[0] = x
    return np.float64((x * MULTIPLIER) >> TOP) * SCALE


@compiled()
def below(state, n):  # type: ignore[no-untyped-def]
    """Return the next whole number in 0..n-1."""
    return int(uniform(state) * n)


def new_state(seed: int, stream: int) -> np.ndarray:
    """Return a generator state for one seed and stream; different pairs give unrelated sequences."""
    word = np.random.SeedSequence([seed & 0xFFFFFFFF, stream]).generate_state(1, np.uint64)
    word[0] |= np.uint64(1)
    return word
