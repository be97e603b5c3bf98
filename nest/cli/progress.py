"""Progress of a search as plain lines on standard error."""

from __future__ import annotations

from nest.cli.streams import tell

FIRST = "first plan"
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
        words = "first plan of a material" if phase == FIRST else "better plan"
        self._told = cost
        # while pieces are left over the bound is of a plan that places more, and says nothing of this one
        least = f", proven least {bound:.2f}" if bound <= cost else ""
        tell(f"planning, {words}: cost {cost:.2f} {self._currency}{least}")
