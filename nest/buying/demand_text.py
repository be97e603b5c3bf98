"""A simulated demand in words: sheets a week by size with their spread, yield, cost, what it stands on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from nest.output.text_columns import aligned_table
from nest.output.words import counted, percent

if TYPE_CHECKING:
    from nest.buying.demand import Demand

LOW, HIGH = 10, 90
"""Per cent of the paths below the two figures of a band."""


def demand_text(demand: Demand) -> str:
    """Return the text for the screen."""
    head = ("size", "a week", f"{LOW}-{HIGH} %", f"in {counted(demand.weeks, 'week')}", f"{LOW}-{HIGH} %")
    rows = [(size.label, *_figures(demand.sheets[:, :, n])) for n, size in enumerate(demand.sizes)]
    shown = "" if demand.paths == demand.wanted_paths else f" of {demand.wanted_paths} asked for"
    lines = [
        f"DEMAND: {counted(demand.weeks, 'week')} from {demand.first_week}, {counted(demand.paths, 'path')}{shown}\n",
        "".join(f"  {line}\n" for line in aligned_table(head, rows, {1, 2, 3, 4}).splitlines()),
        f"  {yield_words(demand)}\n",
        f"  plans cost {demand.cost.mean():.2f} {demand.currency} a week, {_band(demand.cost, 2)}\n",
        "\nSTANDS ON\n",
        *(f"  - {sentence}\n" for sentence in demand.basis),
    ]
    return "".join(lines)


def _figures(sheets: np.ndarray) -> tuple[str, str, str, str]:
    """Return mean and band of a size's sheets (paths, weeks), of one week and of all together."""
    whole = sheets.sum(axis=1)
    return f"{sheets.mean():.2f}", _band(sheets, 0), f"{whole.mean():.1f}", _band(whole, 0)


def _band(values: np.ndarray, places: int) -> str:
    # a figure that was met, not one between two: sheets are whole
    low, high = np.percentile(values, [LOW, HIGH], method="closest_observation")
    return f"{low:.{places}f} to {high:.{places}f}"


def yields(demand: Demand) -> tuple[float, float]:
    """Return gross and credited yield: area of the pieces over what was drawn, and over that less the rests kept."""
    drawn, kept, pieces = (float(one.sum()) for one in (demand.drawn_m2, demand.kept_m2, demand.pieces_m2))
    return (pieces / drawn if drawn else 0.0), (pieces / (drawn - kept) if drawn > kept else 0.0)


def yield_words(demand: Demand) -> str:
    """Return the yield in words."""
    gross, credited = yields(demand)
    return f"yield {percent(gross)} of what is drawn, {percent(credited)} without the rests kept"
