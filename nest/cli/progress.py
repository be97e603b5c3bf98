"""Progress of a search as plain lines on standard error."""

from __future__ import annotations

from nest.cli.streams import tell

WORTH_TELLING = 0.99
"""A line is printed when the cost has fallen to this share of the last one told."""


class Lines:
    """A listener that prints the first plan of each material and every clear improvement of it."""

    def __init__(self, currency: str) -> None:
        self._currency = currency
        self._told = float("inf")

    def report(self, phase: str, cost: float, bound: float) -> None:
        """Take the phase in words, the best cost so far and the proven bound, in the room's currency."""
        # a cost above the last one is that of the next material
        if self._told * WORTH_TELLING < cost <= self._told:
            return
        self._told = cost
        tell(f"planning, {phase}: cost {cost:.2f} {self._currency}, proven least {bound:.2f}")
