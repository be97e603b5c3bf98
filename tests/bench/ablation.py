"""The engine with one of its methods left out, by the switches of its settings."""

from __future__ import annotations

from nest.packing.means import Methods

SWITCHES: dict[str, Methods] = {
    "whole engine": Methods(),
    # without columns there is nothing to dive into, and no prices steer the search
    "column generation off": Methods(columns=False),
    # columns are still made and their prices still steer the search
    "dives off": Methods(dives=False),
    # goals are set only where rests earn nothing
    "goals off": Methods(goals=False),
    # the first plan, column generation and dives
    "search off": Methods(neighbourhoods=False),
}
"""Name of each variant and the methods it has."""
