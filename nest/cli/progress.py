"""Progress of a search as plain lines on standard error."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.cli.streams import tell

if TYPE_CHECKING:
    from nest.packing.control import News

WORTH_TELLING = 0.99
"""A line is printed when the cost has fallen to this share of the last one told."""


class Lines:
    """A listener that prints the first plan of each material and every clear improvement of it."""

    def __init__(self, currency: str) -> None:
        self._currency = currency
        self._told: dict[str, tuple[bool, float]] = {}

    def report(self, news: News) -> None:
        """Take news of a material's plan, in the room's currency."""
        complete, cost = self._told.get(news.problem, (False, float("inf")))
        if complete == news.complete and news.cost > cost * WORTH_TELLING:
            return
        self._told[news.problem] = (news.complete, news.cost)
        # while pieces are left over the bound is of a plan that places more, and says nothing of this one
        if news.complete and 0.0 < news.bound <= news.cost:
            gap = (news.cost - news.bound) / news.cost if news.cost > 0.0 else 0.0
            least = f", proven least {news.bound:.2f}, gap {gap:.1%}".replace("%", " %")
        else:
            least = "" if news.complete else ", some pieces not placed yet"
        tell(f"planning {news.problem}: {news.cost:.2f} {self._currency}{least} ({news.phase})")
