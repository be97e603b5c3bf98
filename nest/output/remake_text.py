"""Pieces made again, by week, on the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.domain.stock import RemakeReason
from nest.output.stock_text import money_words
from nest.output.text_columns import aligned_table
from nest.output.words import percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nest.domain.stock_reports import RemakeWeek


def remakes_text(weeks: Sequence[RemakeWeek], currency: str) -> str:
    """Return a line a week: pieces released, made again, the rate; then pieces and money by reason."""
    if not weeks:
        return "no releases and no remakes yet\n"
    rows = []
    for one in weeks:
        year, week = one.week
        cells = [
            f"{year}-W{week:02d}",
            str(one.released),
            str(sum(one.remade.values())),
            "-" if one.rate is None else percent(one.rate),
            money_words(sum(one.cents.values())),
        ]
        for reason in RemakeReason:
            pieces = one.remade.get(reason, 0)
            cells.append(f"{pieces} / {money_words(one.cents.get(reason, 0))}" if pieces else "-")
        rows.append(cells)
    head = ("week", "released", "made again", "rate", "cost", *(reason.value for reason in RemakeReason))
    return aligned_table(head, rows, range(1, len(head))) + f"by reason: pieces / cost; money in {currency}\n"
