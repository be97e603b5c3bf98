"""How offcuts came back, on the terminal, beside the figures of the room file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nest.output.stock_text import money_words
from nest.output.text_columns import aligned_table
from nest.output.words import counted, decimal, length_words, percent
from nest.units import plain

if TYPE_CHECKING:
    from nest.domain.room import Costs, Unit
    from nest.domain.stock_reports import OffcutUse


def offcut_use_text(use: OffcutUse, unit: Unit, currency: str, costs: Costs | None, limit: int | None) -> str:
    """Return the report and the proposals; ``costs`` is the room's, None where no room file was given.

    ``limit`` is the rack limit set in the ledger.
    """
    share = f" ({percent(use.used / use.kept)})" if use.kept else ""
    days = (
        "" if use.days is None else f", {decimal(use.days, 1)} days after cutting (median), at most {use.longest_days}"
    )
    rack = money_words(round(use.rack_credit_cents))
    text = (
        f"OFFCUTS KEPT: {use.kept}\n"
        f"  used    {use.used}{share}{days}\n"
        f"  lost    {use.lost}   scrapped, past their use-by date, or missing at a stock-take\n"
        f"  on rack {use.rack}, credited {rack} {currency} when kept: out until they are used\n"
    )
    if use.worth_cents:
        gain, saved, credit, handling, worth = (
            money_words(round(cents))
            for cents in (use.gain_cents, use.saved_cents, use.credit_cents, use.handling_cents, use.worth_cents)
        )
        text += (
            f"GAIN: {gain} {currency} = {saved} saved by making pieces of offcuts instead of whole sheets, less "
            f"{credit} credited when they were kept, less handling {handling}\n"
            f"  at the raw price they were {worth}: {percent(use.saved_cents / use.worth_cents)} of that was saved\n"
        )
    proposal = use.proposal
    if proposal is None:
        return text + "PROPOSED: nothing yet, the fate of too few offcuts is known\n"
    if not proposal.keep:
        return text + "PROPOSED: offcuts_per_sheet = 0, at no size did offcuts save more than their handling\n"
    now = ("-", "-", "-") if costs is None else (
        plain(costs.offcut_value), length_words(costs.offcut_min_side_mm, unit), plain(costs.offcut_min_area_m2)
    )  # fmt: skip
    rows = [
        ("offcut_value", now[0], plain(proposal.offcut_value), "share of the raw price that was saved"),
        ("offcut_min_side", now[1], length_words(proposal.min_side_mm, unit), "savings sum to most"),
        ("offcut_min_area_m2", now[2], plain(proposal.min_area_m2), "the same by area"),
        ("rack_limit", "-" if limit is None else str(limit), str(proposal.rack_limit),
         "so many that were used later lay there at once"),
    ]  # fmt: skip
    text += "PROPOSED\n" + aligned_table(("figure", "now", "proposed", "why"), rows, (1, 2))
    return text + (
        f"lengths in {unit}; from {counted(use.used + use.lost, 'offcut')} used or lost. A least size that is "
        "proposed as it is may be too high already: smaller rests were never kept.\n"
    )
