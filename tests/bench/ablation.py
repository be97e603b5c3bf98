"""The engine with one of its methods switched off, for as long as a block lasts.

Each switch sets constants of `nest.packing.search` that rule how work is shared out; a constant that is no longer there
is an error, so that no table ever shows a switch that switches nothing.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from nest.packing import search

if TYPE_CHECKING:
    from collections.abc import Iterator

SWITCHES: dict[str, dict[str, float]] = {
    "whole engine": {},
    # without columns there is nothing to dive into: this leaves the search alone
    "column generation off": {"FIRST_ROUNDS": 0, "LATER_ROUNDS": 0},
    # columns are still made and their prices still steer the search
    "dives off": {"DIVE_SHARE": 0.0},
    # the first plan, column generation and dives
    "search off": {"DIVE_SHARE": 1.0},
}
"""Name of each variant and the constants it sets."""


@contextmanager
def switched(variant: str) -> Iterator[None]:
    """Run a block with a variant of the engine.

    Raises
    ------
    LookupError
        If there is no such variant, or the engine no longer has a constant it sets.
    """
    changes = SWITCHES[variant]
    if missing := sorted(name for name in changes if not hasattr(search, name)):
        raise LookupError(f"{variant}: nest.packing.search has no {', '.join(missing)}; mend tests/bench/ablation.py")
    before = {name: getattr(search, name) for name in changes}
    try:
        for name, value in changes.items():
            setattr(search, name, value)
        yield
    finally:
        for name, value in before.items():
            setattr(search, name, value)
